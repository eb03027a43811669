"""The rows that could not come in, as a sheet to mend and bring in again."""

from collections.abc import Iterator

from inventory.stock.imports.own.looking import SheetReady
from inventory.stock.imports.own.planning import SHELF, SHELF_QUESTION, RowPlan
from inventory.stock.sheets import QUESTIONS, ROLES, TO_MEND, WAS_ROW, Remark
from studio.tables import xlsx_bytes

SENTENCES = {key: sentence for key, (sentence, _) in QUESTIONS.items()} | {SHELF: SHELF_QUESTION[0]}
TITLE = "To mend"


def sheet_to_mend(ready: SheetReady) -> bytes:
    """Return the rows in doubt and the wrong ones as an XLSX file.

    They stand as they were, under the same headings and groups, each with the question or reason
    and the row it had; the same columns are found in it, and what was answered is known.
    """
    headings = list(_headings(ready))
    return xlsx_bytes([*headings, TO_MEND, WAS_ROW], _rows(ready, len(headings)), TITLE)


def _headings(ready: SheetReady) -> Iterator[str]:
    layout = ready.reading.layout
    width = max(len(layout.headings), *(len(one.row.cells) for one in ready.others))
    for place in range(width):
        own = layout.headings[place] if place < len(layout.headings) else ""
        role = "" if layout.headings else ROLES.get(layout.columns.get(place, ""), "")
        yield " ".join((own or role).split())


def _rows(ready: SheetReady, width: int) -> Iterator[list[object]]:
    name, group = ready.reading.layout.place("name") or 0, ""
    for plan in ready.others:
        if plan.row.group != group:
            group = plan.row.group
            yield [group if place == name else "" for place in range(width)]
        cells = [*plan.row.cells, *[""] * (width - len(plan.row.cells))]
        yield [*cells, _to_mend(plan), plan.row.number]


def _to_mend(plan: RowPlan) -> str:
    return " ".join(map(_sentence, plan.remarks))


def _sentence(remark: Remark) -> str:
    said = SENTENCES.get(remark.asks, remark.sentence)
    return f"{remark.heading}: {said}" if remark.heading else said
