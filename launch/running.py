"""The one that runs on some data: a second one shows the page of the first instead."""

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

LOCK, ADDRESS = "running.lock", "running"


class RunsAlready(Exception):
    """Pourwright runs on these data; its text is the address, empty while it is starting."""


@contextmanager
def only_one(folder: Path) -> Iterator[None]:
    """Hold the data in a folder; the system lets go of them however the program ends.

    Raises `RunsAlready` where another holds them.
    """
    with (folder / LOCK).open("a+b") as file:
        try:
            _hold(file)
        except OSError:
            raise RunsAlready(noted_address(folder)) from None
        (folder / ADDRESS).unlink(missing_ok=True)
        try:
            yield
        finally:
            (folder / ADDRESS).unlink(missing_ok=True)


def noted_address(folder: Path) -> str:
    """Return where the one that runs is reached, or '' where none is known to."""
    file = folder / ADDRESS
    return file.read_text(encoding="utf-8") if file.exists() else ""


def note_address(folder: Path, url: str) -> None:
    """Note where the one that runs is reached, for a second that is started."""
    (folder / ADDRESS).write_text(url, encoding="utf-8")


def _hold(file: IO[bytes]) -> None:
    if sys.platform == "win32":
        import msvcrt

        file.seek(0)
        msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
    else:
        import fcntl

        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
