"""What one act really took: a pour, a topcoat over it, the packing of a set.

An act costs what its entry took from the shelf (less what it brought back) and the work in it; one
that was undone costs nothing.
"""

from collections.abc import Iterable
from decimal import ROUND_HALF_UP, Decimal

from inventory.models import Entry
from pricing.models import PieceSet, Pour, Topcoating
from pricing.models.cost import ActualCost
from studio.amounts import Total
from studio.money import VALUE_PLACES, ZERO

# By the entry of an act: the value it took from the shelf, [currency], and whether it was undone.
EntryUses = dict[int | None, tuple[Decimal, bool]]
# As many as are asked for at once.
MOST = 500

Act = Pour | Topcoating | PieceSet


def cost_of_pour(pour: Pour) -> ActualCost:
    """Return what one pour and the topcoats over it took, all pieces together, in two queries."""
    acts: list[Act] = [pour, *pour.topcoatings.all()]
    return sum_of(acts, entry_uses(acts))


def sum_of(acts: Iterable[Act], uses: EntryUses) -> ActualCost:
    """Return what some acts took together; ``uses`` are the `entry_uses` of at least these."""
    return sum((_cost_of(act, uses) for act in acts), ActualCost())


def entry_uses(acts: Iterable[Act]) -> EntryUses:
    """Return {entry: (value it took from the shelf, whether it was undone)}; one query of a few."""
    keys = [act.entry_id for act in acts if act.entry_id]
    uses: EntryUses = {}
    for start in range(0, len(keys), MOST):
        rows = Entry.objects.filter(pk__in=keys[start : start + MOST]).order_by()
        sums = rows.values_list("pk", "reversed_by").annotate(Total("movements__value"))
        for key, undone_by, value in sums:
            uses[key] = (ZERO, True) if undone_by else (-value, False)
    return uses


def _cost_of(act: Act, uses: EntryUses) -> ActualCost:
    materials, undone = uses.get(act.entry_id, (ZERO, False))
    minutes = ZERO if undone else act.minutes
    return ActualCost(
        materials=materials,
        labour=_for_minutes(minutes, act.labour_rate),
        overhead=_for_minutes(minutes, act.overhead_rate),
        minutes=minutes,
    )


def _for_minutes(minutes: Decimal, rate: Decimal) -> Decimal:
    return (minutes * rate / 60).quantize(VALUE_PLACES, ROUND_HALF_UP)
