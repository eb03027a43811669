"""Archives of older versions: what became of their tables."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field

# A row of a table as its cells, {column: text}.
Cells = dict[str, str]


@dataclass(frozen=True)
class Older:
    """How the tables of an older archive are read as those of today.

    Parameters
    ----------
    added : mapping of str to iterable of dict
        The rows of tables that it lacks, by the name of their file.
    gone : mapping of str to set of str
        Columns that it may have and that are known no more.
    changed : mapping of str to callable
        Takes the cells of a row of a table and returns them as they are today.
    """

    added: Mapping[str, Iterable[Cells]] = field(default_factory=dict)
    gone: Mapping[str, set[str]] = field(default_factory=dict)
    changed: Mapping[str, Callable[[Cells], Cells]] = field(default_factory=dict)

    def rows(
        self,
        file: str,
        known: set[str],
        read: Callable[[str, set[str]], Iterable[tuple[int, Cells]]],
    ) -> Iterator[tuple[int, Cells]]:
        """Yield (line, cells) of a table of today; ``read`` takes what is there of the old one."""
        if file in self.added:
            yield from enumerate(self.added[file], 2)
            return
        change = self.changed.get(file, dict)
        for line, cells in read(file, known | self.gone.get(file, set())):
            yield line, change(cells)


TODAY = Older()
