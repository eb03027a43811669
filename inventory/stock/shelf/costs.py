"""What the stock that is left came in for."""

from collections import defaultdict
from collections.abc import Iterable
from decimal import Decimal

from inventory.models import Bottle, Movement
from inventory.stock.costing import share
from studio.money import ZERO

Kind = Movement.Kind
COMES_IN = (Kind.OPENING, Kind.RECEIPT, Kind.RECLAIM, Kind.MIX)


def cost_of(bottles: Iterable[Bottle]) -> dict[int, Decimal]:
    """Return what is left in bottles came in for, {key: value}, [currency]; one query.

    Bottles that were filled out of others, of which nothing came in, are left out.
    """
    left = {bottle.pk: bottle.remaining for bottle in bottles}
    totals: dict[int, tuple[Decimal, Decimal]] = defaultdict(lambda: (ZERO, ZERO))
    moves = Movement.objects.filter(
        bottle__in=left, kind__in=COMES_IN, quantity__gt=0, entry__reversed_by=None
    )
    for key, quantity, value in moves.values_list("bottle", "quantity", "value"):
        totals[key] = (totals[key][0] + quantity, totals[key][1] + value)
    return {key: share(value, left[key], whole) for key, (whole, value) in totals.items()}
