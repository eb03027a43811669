"""A whole sheet: its layout, what has to be asked of it, and every row as what it says."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from inventory.stock.sheets.amounts import Ways
from inventory.stock.sheets.columns import TO_MEND, WAS_ROW, folded_heading
from inventory.stock.sheets.days import orders_in
from inventory.stock.sheets.facts import Remark, SheetRow
from inventory.stock.sheets.layout import Layout, Line, laid_out
from inventory.stock.sheets.numbers import marks_in
from inventory.stock.sheets.rows import Sense, read_row

NUMBERS = ("pack", "on_hand", "price", "worth", "unit", "density")
DATES = ("received", "opened", "expires")
QUESTIONS = {
    "ounces": (
        "What are the plain ounces (oz) in this sheet?",
        (("volume", "Fluid ounces, a volume"), ("weight", "Ounces by weight")),
    ),
    "days": (
        "Which comes first in its dates, as in 3/4/2026?",
        (("day", "The day: 3 April"), ("month", "The month: March 4")),
    ),
    "decimals": (
        "What is 1,234 or 1.234 in it?",
        (
            ("point", "1,234 is over a thousand, 1.234 is a bit over one"),
            ("comma", "1.234 is over a thousand, 1,234 is a bit over one"),
        ),
    ),
    "priced": (
        "What is a price for, where no size of a pack is given?",
        (("all", "For all of it that is on hand"), ("one", "For one litre, kilogram or piece")),
    ),
    "unpriced": (
        "Some things on hand have no price. What is to become of them?",
        (
            ("nothing", "Bring them in as worth nothing"),
            ("mend", "Leave them out; I will add the prices"),
        ),
    ),
}


@dataclass(frozen=True)
class Told:
    """What a person said of a sheet, now or before: {place of a column: its role}, the row of its
    headings (0 for none), and {question: answer}, [-]."""

    columns: Mapping[int, str] | None = None
    heading_row: int | None = None
    answers: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Question:
    """One question for the whole sheet, its answers, and the one that was given, [-]."""

    key: str
    sentence: str
    options: tuple[tuple[str, str], ...]
    answer: str


@dataclass(frozen=True)
class SheetReading:
    """A sheet as it was understood, [-]."""

    layout: Layout
    rows: tuple[SheetRow, ...]
    questions: tuple[Question, ...]
    ways: Mapping[str, str]

    @property
    def heading_key(self) -> tuple[str, ...]:
        """What makes another sheet's headings the same as these."""
        return heading_key(self.layout.headings)


def heading_key(headings: Sequence[str]) -> tuple[str, ...]:
    """Return what makes two rows of headings the same, apart from what is added to mend by.

    Parameters
    ----------
    headings : sequence of str
        One text a column, [-]

    Returns
    -------
    key : tuple of str
        Empty where there are no headings, [-]

    Examples
    --------
    >>> heading_key(["Item", "", "Preis (€)", "To mend"])
    ('item', '', 'preis')
    """
    ours = {folded_heading(TO_MEND), folded_heading(WAS_ROW)}
    folded = [folded_heading(text) for text in headings]
    kept = [text for text in folded if text not in ours]
    while kept and not kept[-1]:
        kept.pop()
    return tuple(kept)


def headings_of(lines: Sequence[Line], heading_row: int | None = None) -> tuple[str, ...]:
    """Return the headings of a sheet, one a column.

    Parameters
    ----------
    lines : sequence of Line
        Its rows, blank ones too, with their numbers, [-]
    heading_row : int, optional
        The row they are in, as a person says; 0 for a sheet without, [-]

    Returns
    -------
    headings : tuple of str
        Empty for a sheet that has none, [-]
    """
    return laid_out(lines, {}, heading_row).headings


def read_sheet(
    lines: Sequence[Line],
    *,
    currency: str,
    measures: str,
    told: Told | None = None,
    before: Told | None = None,
    known_units: Mapping[str, str] | None = None,
) -> SheetReading:
    """Understand a sheet that somebody else laid out.

    Parameters
    ----------
    lines : sequence of Line
        Its rows, blank ones too, with their numbers, [-]
    currency : str
        ISO 4217 code of the studio's money, [-]
    measures : str
        Whose gallons and cups: ``"us"``, ``"metric"``, ``"au"`` or ``"imperial"``, [-]
    told : Told, optional
        What a person says of this sheet; it goes before all guesses, [-]
    before : Told, optional
        What was said of a sheet of the same headings; it goes after what this one shows itself,
        [-]
    known_units : mapping, optional
        {name in small letters: ``"ml"``, ``"g"`` or ``"each"``} of what the studio has, [-]

    Returns
    -------
    reading : SheetReading
        Every row that stands for a thing is good, in doubt or wrong, [-]

    Examples
    --------
    >>> lines = [Line(1, ("Item", "Size", "Qty", "Price")), Line(2, ("White", "500 ml", "2", "$4"))]
    >>> reading = read_sheet(lines, currency="USD", measures="us")
    >>> [(row.outcome, str(row.on_hand), row.kind) for row in reading.rows]
    [('good', '1000.0000', 'paint')]
    """
    told, before = told or Told(), before or Told()
    columns = before.columns if told.columns is None else told.columns
    layout = laid_out(lines, columns, told.heading_row)
    shown = _shown_ways(layout)
    answers = {**before.answers, **shown, **told.answers}
    ways = Ways(answers.get("decimals", ""), answers.get("ounces", ""), measures)
    sense = Sense(layout, ways, answers.get("days", ""), currency, answers, known_units or {})
    rows = [read_row(thing, sense) for thing in layout.things]
    rows = _with_units_of_others(rows, layout, sense)
    _compare(rows)
    asked = {remark.asks for row in rows for remark in row.remarks if remark.asks}
    # What was answered before is shown where it may matter, so that it can be answered anew.
    asked |= set(told.answers) | (set(before.answers) - set(shown))
    keys = [key for key in QUESTIONS if key in asked]
    questions = tuple(Question(key, *QUESTIONS[key], answers.get(key, "")) for key in keys)
    return SheetReading(layout, tuple(rows), questions, answers)


def _shown_ways(layout: Layout) -> dict[str, str]:
    """Return what the sheet's own cells leave no doubt about: its decimals and order of dates."""

    def cells(roles: Sequence[str]) -> list[str]:
        places = [layout.place(role) for role in roles]
        return [thing.line.cell(place) for thing in layout.things for place in places]

    found = {"decimals": marks_in(cells(NUMBERS)), "days": orders_in(cells(DATES))}
    return {key: marks.pop() for key, marks in found.items() if len(marks) == 1}


def _with_units_of_others(rows: list[SheetRow], layout: Layout, sense: Sense) -> list[SheetRow]:
    """Read again the rows whose unit another row about the same thing tells."""
    units = {**{_key(row): row.unit for row in rows if row.unit}, **sense.known_units}
    told = replace(sense, known_units=units)
    return [
        read_row(thing, told) if not row.unit and _key(row) in units else row
        for thing, row in zip(layout.things, rows, strict=True)
    ]


def _compare(rows: Sequence[SheetRow]) -> None:
    """Remark where two rows do not go together: two units of one thing, two prices of one pack."""
    units: dict[str, SheetRow] = {}
    prices: dict[object, SheetRow] = {}
    for row in rows:
        if row.outcome != "good":
            continue
        first = units.setdefault(_key(row), row)
        if row.unit and first.unit != row.unit:
            row.remarks.append(_other(first, "counts this in another unit. Which is right?"))
            continue
        if row.supplier and row.pack_size and row.price is not None:
            pack = (_key(row), " ".join(row.supplier.split()).casefold(), row.pack_size)
            first = prices.setdefault(pack, row)
            if first.price != row.price:
                row.remarks.append(
                    _other(first, "has another price for this pack. Which is right?")
                )


def _other(first: SheetRow, words: str) -> Remark:
    return Remark("", f"Row {first.number} {words}")


def _key(row: SheetRow) -> str:
    return " ".join(row.name.split()).casefold()
