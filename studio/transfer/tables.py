"""The tables of an archive as rows of text, each with the line it stands on."""

import csv
import io
from collections.abc import Container, Iterator
from contextlib import contextmanager
from typing import NoReturn, Self, TextIO

from studio.text import shortened
from studio.transfer.files import Files
from studio.transfer.older import Cells
from studio.transfer.parts import TransferRefused

LONGEST_CELL = 1_000_000  # a quote's inputs are long [characters]
LONGEST_ROW = 2_000_000
csv.field_size_limit(LONGEST_CELL)


def refuse(file: str, line: int, column: str, sentence: str) -> NoReturn:
    """Raise `TransferRefused` with the place where something is wrong."""
    where = f"{file}, line {line}" + (f", {column}" if column else "")
    raise TransferRefused(f"{where}: {sentence} Nothing was brought in.")


def rows(files: Files, file: str, known: Container[str]) -> Iterator[tuple[int, Cells]]:
    """Yield (line, {column: text}) of a table; one that the archive lacks has no rows.

    Parameters
    ----------
    known : collection of str
        The columns that it may have.
    """
    if file not in files:
        return
    with files.opened(file) as raw, _in_words(file) as at:
        # Whoever saves a table anew may put a mark before it that says how it is encoded.
        text = io.TextIOWrapper(raw, "utf-8-sig", newline="")
        lines = _Lines(text, file)
        reader = csv.reader(lines, strict=True)
        headings = next(reader, [])
        strange = [name for name in headings if name not in known]
        if strange or len(set(headings)) < len(headings):
            column = shortened(strange[0], 60) if strange else "id"
            refuse(file, 1, column, "Such a column is not known, or stands twice.")
        at[0], lines.row_length = reader.line_num + 1, 0
        for texts in reader:
            if texts:  # a blank line says nothing
                if len(texts) != len(headings) or any("\0" in one for one in texts):
                    refuse(file, at[0], "", "This row is not whole.")
                yield at[0], dict(zip(headings, texts, strict=True))
            at[0], lines.row_length = reader.line_num + 1, 0


class _Lines:
    """The lines of a text; more than `LONGEST_ROW` without the end of a row is none."""

    def __init__(self, text: TextIO, file: str) -> None:
        self.text, self.file, self.row_length = text, file, 0

    def __iter__(self) -> Self:
        return self

    def __next__(self) -> str:
        line = self.text.readline(LONGEST_ROW + 1)
        self.row_length += len(line)
        if self.row_length > LONGEST_ROW:
            raise TransferRefused(f"A row of {self.file} is far too long. Nothing was brought in.")
        if not line:
            raise StopIteration
        return line


@contextmanager
def _in_words(file: str) -> Iterator[list[int]]:
    at = [1]
    try:
        yield at
    except csv.Error as error:
        raise TransferRefused(f"{file}, line {at[0]}: this cannot be read.") from error
    except UnicodeDecodeError as error:
        raise TransferRefused(f"{file} is not in UTF-8. Nothing was brought in.") from error
