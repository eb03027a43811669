"""A sheet of any layout, read and compared with what the studio has; changes nothing."""

import hashlib
import json
from collections import Counter
from dataclasses import dataclass

from inventory.models import KnownSheet
from inventory.stock.imports.own.book import folded, rests_on
from inventory.stock.imports.own.planning import ASK, GOOD, SAME, WRONG, Plan, RowPlan, planned
from inventory.stock.imports.running import facts_of
from inventory.stock.sheets import Line, SheetReading, Told, heading_key, headings_of, read_sheet
from studio.models import Studio
from studio.tables import Limits, read_grid

OUTCOMES = (GOOD, SAME, ASK, WRONG)


@dataclass(frozen=True)
class SheetReady:
    """A sheet as it was understood, what would become of it, and a digest of what that rests on."""

    reading: SheetReading
    plan: Plan
    answers: dict[str, str]
    facts: str
    notices: tuple[str, ...]
    is_known: bool

    @property
    def counts(self) -> dict[str, int]:
        """Return how many rows there are of each outcome."""
        counts = Counter(row.outcome for row in self.plan.rows)
        return {outcome: counts[outcome] for outcome in OUTCOMES}

    @property
    def good(self) -> list[RowPlan]:
        return [row for row in self.plan.rows if row.outcome == GOOD]

    @property
    def others(self) -> list[RowPlan]:
        """The rows that come back to be mended."""
        return [row for row in self.plan.rows if row.outcome in (ASK, WRONG)]

    @property
    def is_open(self) -> bool:
        """Whether a question for the whole sheet waits for its answer."""
        return any(not question.answer for question in self.plan.questions)

    @property
    def digest(self) -> str:
        """Return what tells this from the same sheet understood, or met, in another way."""
        facts = [(one.row.number, one.outcome, one.brings, one.remarks) for one in self.plan.rows]
        return hashlib.sha256(repr(facts).encode()).hexdigest()


def look(
    *, studio: Studio, body: bytes, told: Told | None = None, limits: Limits | None = None
) -> SheetReady:
    """Return a file as it is understood, as `SheetReady`; changes nothing.

    ``told`` is what a person said of it; what was said of the last sheet with the same headings
    counts where it does not. Raises `TableError` for a file that is no table.
    """
    told = told or Told()
    grid = read_grid(body, limits)
    lines = [Line(number, cells) for number, cells in grid.lines]
    known = known_before(studio=studio, headings=headings_of(lines, told.heading_row))
    before = (
        Told()
        if known is None
        else Told({int(place): role for place, role in known.columns.items()}, None, known.answers)
    )
    facts = facts_of(studio, rests_on(studio))
    reading = read_sheet(
        lines,
        currency=studio.currency,
        measures=studio.measures,
        told=told,
        before=before,
        known_units={
            folded(name): unit for name, unit in studio.materials.values_list("name", "unit")
        },
    )
    # Whether the shelf has the same is another question each time.
    answers = {**before.answers, **reading.ways, **told.answers}
    plan = planned(studio, reading, told.answers)
    return SheetReady(reading, plan, answers, facts, grid.notices, known is not None)


def known_before(*, studio: Studio, headings: tuple[str, ...]) -> KnownSheet | None:
    """Return how the last sheet with these headings was matched, or None."""
    key = heading_key(headings)
    return studio.known_sheets.filter(digest=digest_of(key)).first() if key else None


def digest_of(key: tuple[str, ...]) -> str:
    """Return what headings are found by."""
    return hashlib.sha256(json.dumps(key).encode()).hexdigest()
