"""How much is looked at before a search ends: counted, so that every machine ends it alike."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

# For one purchase; most need a few.
MOST_NODES = 1_000
# What a solve takes before it branches is worth so many nodes.
ROOT = 10


@dataclass
class Effort:
    """The nodes of branch and bound that may still be looked at, [-]."""

    nodes: int = MOST_NODES

    @property
    def is_spent(self) -> bool:
        """Whether no further solve may begin."""
        return self.nodes <= 0

    def spend(self, nodes: int) -> None:
        """Count a solve that looked at so many nodes."""
        self.nodes -= ROOT + nodes

    @contextmanager
    def lent(self, share: float) -> Iterator["Effort"]:
        """Lend a share of what is left, some at least, and take back what was not spent."""
        lent = max(0, min(self.nodes, max(ROOT, int(share * self.nodes))))
        self.nodes -= lent
        part = Effort(lent)
        yield part
        self.nodes += part.nodes
