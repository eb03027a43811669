"""Backups made, proved to come back, and thinned out: each night, or when asked for."""

import re
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from django.conf import settings
from django.db import connection
from django.utils import timezone
from django_tasks import task

from studio import jobs
from studio.backups import restoring, secrecy, writing
from studio.backups.keeping import kept
from studio.models import Backup

NAME = "pourwright-%Y-%m-%d-%H%M%S.backup"
OURS = re.compile(r"pourwright-\d{4}-\d{2}-\d{2}-\d{6}\.backup(?:\.age)?")
HOUR = 3  # o'clock UTC, from which on there should be one of the day
TRY_AGAIN = timedelta(hours=1)
# From then on the owners are told that something keeps them from being made.
OLD = timedelta(days=2)


@dataclass(frozen=True)
class Written:
    """A backup that lies in a folder, with what was found wrong with it, and its size, [kB]."""

    made_at: datetime
    name: str
    size_kb: int
    problem: str


def make_backup(folder: Path, *, check: bool = True) -> Backup:
    """Write a backup into a folder, prove that it comes back whole, and thin out the older ones.

    Encrypted where `settings.BACKUP_KEY` is set, after it was proved. Returns the `Backup`, which
    names what was found wrong with it.

    Raises `BackupRefused` for a key that is none, and `OSError` where the folder cannot be written;
    then nothing is left of it.
    """
    written = write_into(folder, restoring.check if check else _unproved)
    return note(written, checked=check)


def _unproved(file: Path, beside: Path) -> str:
    return ""


def write_into(folder: Path, prove: Callable[[Path, Path], str]) -> Written:
    """Write a backup into a folder, where ``prove`` looks for what is wrong with it.

    It is given the file and a folder to try in. Nothing is noted in the database, which may be
    older than this program.
    """
    folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    made_at = _free_moment(folder)
    name = made_at.strftime(NAME)
    with tempfile.TemporaryDirectory(dir=folder) as beside:
        file = Path(beside, name)
        writing.write(file)
        problem = prove(file, Path(beside))
        if settings.BACKUP_KEY:
            name += secrecy.SUFFIX
            secrecy.lock(file, Path(beside, name), settings.BACKUP_KEY)
        Path(beside, name).replace(folder / name)
    target = folder / name
    target.chmod(0o600)
    if not problem:
        thin_out(folder)
    return Written(made_at, name, -(-target.stat().st_size // 1000), problem)


def note(written: Written, *, checked: bool) -> Backup:
    """Note a backup that was made, for whoever asks when the last good one was."""
    checked_at = timezone.now() if checked and not written.problem else None
    return Backup.objects.create(
        made_at=written.made_at,
        name=written.name,
        size_kb=written.size_kb,
        checked_at=checked_at,
        problem=written.problem,
    )


def thin_out(folder: Path) -> None:
    """Delete the backups in a folder that the rule does not keep, and no other file."""
    made = {
        datetime.strptime(path.name.removesuffix(secrecy.SUFFIX), NAME): path
        for path in folder.iterdir()
        if OURS.fullmatch(path.name)
    }
    for moment in made.keys() - kept(made):
        made[moment].unlink()


def put_in_line_if_due() -> None:
    """Have the backup of the day made if it is time and somewhere to put it is known."""
    if _is_due():
        jobs.enqueue(back_up)


@task()
def back_up() -> None:
    """Make the backup of the day, unless another worker just did."""
    if not _is_due():
        return
    try:
        make_backup(Path(settings.BACKUP_DIR))
    except Exception as error:
        # Told to the owner, and tried again later; the log has the rest.
        now = _free_moment(Path(settings.BACKUP_DIR))
        Backup.objects.create(made_at=now, name=now.strftime(NAME), problem=str(error))
        raise


def _free_moment(folder: Path) -> datetime:
    """Return now, or the next second after which no backup is named yet."""
    moment = datetime.now(UTC)
    # A database that waits to be brought up to today may not know of backups yet.
    is_known = Backup._meta.db_table in connection.introspection.table_names()
    noted = Backup.objects.all() if is_known else Backup.objects.none()
    while (
        noted.filter(name__startswith=(name := moment.strftime(NAME))).exists()
        or (folder / name).exists()
        or (folder / f"{name}{secrecy.SUFFIX}").exists()
    ):
        moment += timedelta(seconds=1)
    return moment


@dataclass(frozen=True)
class Standing:
    """How backups stand: the newest that was proved to come back, and what is wrong, if it is."""

    proved: Backup | None
    is_old: bool
    problem: str


def standing() -> Standing | None:
    """Return how the nightly backups stand, or None where none are to be made."""
    if not settings.BACKUP_DIR:
        return None
    proved = Backup.objects.exclude(checked_at=None).first()
    newest = Backup.objects.first()
    is_old = proved is None or proved.made_at < timezone.now() - OLD
    return Standing(proved, is_old, newest.problem if newest else "")


def _is_due() -> bool:
    if not settings.BACKUP_DIR:
        return False
    now = timezone.now()
    night = now.replace(hour=HOUR, minute=0, second=0, microsecond=0)
    since = night if now >= night else night - timedelta(days=1)
    tried = Backup.objects.filter(made_at__gte=since)
    return (
        not tried.filter(problem="").exists()
        and not tried.filter(made_at__gt=now - TRY_AGAIN).exists()
    )
