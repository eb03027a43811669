"""The files inside an archive: which there are, and their bytes, within bounds.

Whoever packed them, and whatever happened to them on the way, ends in a sentence.
"""

import io
import re
import stat
import zipfile
from collections.abc import Collection, Iterable, Iterator
from contextlib import contextmanager
from typing import IO, TYPE_CHECKING, Any

from studio.transfer.parts import TransferRefused

if TYPE_CHECKING:
    from _typeshed import WriteableBuffer

# What an archive may be at most: packed, unpacked, and each of its files unpacked, [B].
LARGEST_PACKED = 500_000_000
LARGEST_UNPACKED = 1_000_000_000
LARGEST_TABLE = 200_000_000
LARGEST_FILE = 20_000_000  # beside a table
MOST_FILES = 20_000
# Read at once; so a list of files in it that is longer, and would fill the memory, never is. [B]
LARGEST_READ = 4_000_000
ENCRYPTED = 0x1
HIDDEN = re.compile(r"__|\.[^.]")  # what programs put beside the files of a folder
# The rest of a zip file's methods is slow to unpack or unpacks without bound.
METHODS = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)
NOT_WHOLE = "This is not a whole archive of a studio. Choose the .zip file as it was downloaded."


class Files:
    """The files of an archive by their names, without the folder that they may all lie in.

    Parameters
    ----------
    stream : binary file
    root : str
        The name of a file that must be there; the others are named from where it lies.

    Raises
    ------
    TransferRefused
        If it is no such archive, or has more in it than the bounds above.
    """

    def __init__(self, stream: IO[bytes], root: str) -> None:
        size = stream.seek(0, 2)
        if size > LARGEST_PACKED:
            raise TransferRefused(
                f"The file is larger than {_megabytes(LARGEST_PACKED)}, more than is read at once."
            )
        with _in_words():
            self.archive = zipfile.ZipFile(_Sparing(stream))
            members = self.archive.infolist()
        if (
            len(members) > MOST_FILES
            or sum(member.file_size for member in members) > LARGEST_UNPACKED
        ):
            raise TransferRefused(
                f"The archive unpacks to more than {_megabytes(LARGEST_UNPACKED)}, or has more "
                f"than {MOST_FILES:,} files in it."
            )
        self.members = _named([member for member in members if _counts(member)], root)

    def __contains__(self, name: str) -> bool:
        return name in self.members

    @property
    def names(self) -> Collection[str]:
        return self.members.keys()

    def opened(self, name: str) -> io.BufferedReader:
        """Return a file of the archive to read from; raises `KeyError` where it is not there.

        What is wrong with it may only come to light while it is read.
        """
        member = self.members[name]
        largest = LARGEST_TABLE if name.endswith(".csv") else LARGEST_FILE
        if member.file_size > largest:
            raise TransferRefused(
                f"{name} in the archive is too large: more than {_megabytes(largest)}."
            )
        with _in_words():
            return io.BufferedReader(_Member(self.archive.open(member)))

    def read(self, name: str) -> bytes:
        """Return the bytes of a file; raises `KeyError` where it is not there."""
        with self.opened(name) as file:
            return file.read()


class _Sparing:
    """A stream of which nobody reads more than `LARGEST_READ` at once."""

    def __init__(self, stream: IO[bytes]) -> None:
        self.stream = stream

    def __getattr__(self, name: str) -> Any:
        return getattr(self.stream, name)

    def seek(self, offset: int, whence: int = 0) -> int:
        return self.stream.seek(offset, whence)

    def read(self, size: int = -1) -> bytes:
        if size < 0:
            position = self.stream.tell()
            size = self.stream.seek(0, 2) - position
            self.stream.seek(position)
        if size > LARGEST_READ:
            raise zipfile.BadZipFile
        return self.stream.read(size)


class _Member(io.RawIOBase):
    """A file of an archive, refused in words where it is damaged."""

    def __init__(self, file: IO[bytes]) -> None:
        self.file = file

    def readable(self) -> bool:
        return True

    def readinto(self, buffer: "WriteableBuffer") -> int:
        with _in_words():
            body = self.file.read(memoryview(buffer).nbytes)
        memoryview(buffer)[: len(body)] = body
        return len(body)

    def close(self) -> None:
        self.file.close()
        super().close()


@contextmanager
def _in_words() -> Iterator[None]:
    """Refuse what cannot be unpacked: a damaged zip fails in as many ways as it has bytes."""
    try:
        yield
    except Exception as error:
        raise TransferRefused(NOT_WHOLE) from error


def _named(members: Iterable[zipfile.ZipInfo], root: str) -> dict[str, zipfile.ZipInfo]:
    """Return {name: member}; some programs pack the folder, and not what is in it."""
    roots = [member.filename for member in members if f"/{member.filename}".endswith(f"/{root}")]
    if not roots:
        raise TransferRefused(f"There is no {root} in the archive. {NOT_WHOLE}")
    folder = min(roots, key=len).removesuffix(root)
    named: dict[str, zipfile.ZipInfo] = {}
    for one in members:
        name = one.filename.removeprefix(folder)
        kind = stat.S_IFMT(one.external_attr >> 16)
        safe_name = name[:60].encode("ascii", "backslashreplace").decode()
        if not one.filename.startswith(folder) or (kind and kind != stat.S_IFREG):
            raise TransferRefused(f"“{safe_name}” in the archive is no part of a studio.")
        if name in named:
            raise TransferRefused(f"“{safe_name}” stands twice in the archive.")
        if one.flag_bits & ENCRYPTED:
            raise TransferRefused(
                f"“{safe_name}” in the archive asks for a password. Pack it without."
            )
        if one.compress_type not in METHODS:
            raise TransferRefused(
                f"“{safe_name}” in the archive is packed in a way that is not read here. "
                "Pack it anew as a plain .zip."
            )
        named[name] = one
    return named


def _counts(member: zipfile.ZipInfo) -> bool:
    """Tell whether a member is a file, and not one that a program hides beside the others."""
    parts = member.filename.split("/")
    return bool(parts[-1]) and not any(map(HIDDEN.match, parts))


def _megabytes(count: int) -> str:
    return f"{count // 1_000_000:,} MB"
