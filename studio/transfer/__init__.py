"""A whole studio as one archive of tables, and back into an empty studio.

Knows no model of the apps above: they say which rows belong, in which order, as `ArchivePart`.
"""

from studio.transfer.dictionary import HEADINGS, dictionary
from studio.transfer.filling import remove_studio, restoring, sweep
from studio.transfer.older import Older
from studio.transfer.parts import ArchivePart, TransferRefused
from studio.transfer.writing import archive_studio

__all__ = [
    "HEADINGS",
    "ArchivePart",
    "Older",
    "TransferRefused",
    "archive_studio",
    "dictionary",
    "remove_studio",
    "restoring",
    "sweep",
]
