"""What is on hand at the end of each month, proved against the ledger."""

from collections.abc import Iterator
from itertools import groupby
from operator import itemgetter
from typing import Any

from django.db.models import IntegerField, QuerySet, Value

from inventory.models import Material, MonthEnd
from inventory.stock.books import Finding
from inventory.stock.shelf import month_ends
from inventory.stock.shelf.month_ends import NOTHING, Balance, added
from studio.amounts import Total
from studio.models import Studio
from studio.units.numerals import trimmed


def month_ends_agree(studio: Studio | None) -> Iterator[Finding]:
    """Each month end is what moved up to it, and each month in which something moved has one."""
    sums = {"quantities": Total("quantity"), "worth": Total("value")}
    moved = _mine(month_ends.moved(), studio).annotate(**sums, side=_side(0))
    kept = MonthEnd.objects.order_by().values_list("material", "month")
    rows = moved.union(_mine(kept, studio).annotate(**sums, side=_side(1)), all=True)
    # By material, month and side: what moved comes before what is kept of it.
    for material, its in groupby(sorted(rows), key=itemgetter(0)):
        left = NOTHING
        for month, both in groupby(its, key=itemgetter(1)):
            found = {side: Balance(*amounts) for _, _, *amounts, side in both}
            left = added(left, *found.get(0, NOTHING))
            if found.get(1) != left:
                yield _finding(material, month, found.get(1), left)
                break


def _finding(material: int, month: Any, kept: Balance | None, left: Balance) -> Finding:
    row = Material.objects.select_related("studio").get(pk=material)
    said = f"{trimmed(kept.quantity)}, worth {trimmed(kept.value)}" if kept else "nothing"
    return Finding(
        "months",
        row.studio.name,
        f"Material {row.name}",
        f"what was on hand at the end of {month:%B %Y} is kept as {said}, and its movements add up "
        f"to {trimmed(left.quantity)}, worth {trimmed(left.value)}.",
    )


def _side(number: int) -> Value:
    return Value(number, output_field=IntegerField())


def _mine(rows: QuerySet[Any, Any], studio: Studio | None) -> QuerySet[Any, Any]:
    return rows.filter(studio__restoring=None) if studio is None else rows.filter(studio=studio)
