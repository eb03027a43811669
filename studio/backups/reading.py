"""A backup opened: what it says of itself, and its rows table by table."""

import json
import tempfile
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import Any

from studio.backups import secrecy
from studio.backups.errors import BackupRefused
from studio.backups.writing import FORMAT, MANIFEST

DAMAGED = "{name} is not a whole backup of Pourwright. Take another; nothing was changed."


@dataclass(frozen=True)
class Opened:
    """An open backup: when it was made, its migrations by app, and how many rows each table has."""

    archive: zipfile.ZipFile
    made_at: str
    migrations: dict[str, list[str]]
    counts: dict[str, int]

    def table(self, label: str, at_once: int) -> Iterator[tuple[list[str], list[list[Any]]]]:
        """Yield the names of a table's columns with some rows at a time."""
        with self.archive.open(f"{label}.jsonl") as member:
            heading = json.loads(next(member))
            while some := [json.loads(line) for line in islice(member, at_once)]:
                yield heading, some


@contextmanager
def opened(path: Path, key: str = "") -> Iterator[Opened]:
    """Open a backup, decrypted with the secret key where it is encrypted.

    Raises `BackupRefused` for a file that is none, is damaged or cannot be decrypted.
    """
    if not path.is_file():
        raise BackupRefused(f"There is no file {path}.")
    with tempfile.TemporaryDirectory() as folder:
        if path.suffix == secrecy.SUFFIX:
            plain = Path(folder, "plain")
            secrecy.unlock(path, plain, key)
            path = plain
        try:
            archive = zipfile.ZipFile(path)
            if archive.testzip() is not None:
                raise BackupRefused(DAMAGED.format(name=path.name))
            told = json.loads(archive.read(MANIFEST))
            found = Opened(archive, told["made_at"], told["migrations"], told["rows"])
        except (
            zipfile.BadZipFile,
            zlib.error,
            RuntimeError,
            KeyError,
            ValueError,
            EOFError,
            OSError,
        ):
            raise BackupRefused(DAMAGED.format(name=path.name)) from None
        if told["format"] > FORMAT:
            raise BackupRefused(NEWER)
        with archive:
            yield found


NEWER = (
    "This backup was made by a newer Pourwright than this one. Install that version, or a later "
    "one, and restore it there; nothing was changed."
)
