"""On which day each material runs out, as its promises, orders and usual use have it."""

from collections import defaultdict
from collections.abc import Iterable
from datetime import date

from inventory.buying.demand import Level
from inventory.buying.reordering import Event, runs_out_on
from inventory.models import Hold
from inventory.stock.promised import stock_on_order
from studio.models import Studio


def run_out_days(
    studio: Studio, levels: Iterable[Level], holds: Iterable[Hold] | None = None
) -> dict[int, date | None]:
    """Return {material key: the day it runs out, or None}, in two queries.

    ``levels`` are of `buying.demand`; ``holds`` are the studio's open holds, where they are at
    hand, which saves a query. Orders without a day are not counted on.
    """
    promised: defaultdict[int, list[Event]] = defaultdict(list)
    undated: defaultdict[int, float] = defaultdict(float)
    for hold in studio.holds.open() if holds is None else holds:
        if hold.needed_by:
            event = Event(hold.needed_by, float(hold.outstanding))
            promised[hold.material_id].append(event)
        else:
            undated[hold.material_id] += float(hold.outstanding)
    coming = {
        key: [Event(row.expected_on, float(row.quantity)) for row in rows if row.expected_on]
        for key, rows in stock_on_order(studio).items()
    }
    today = studio.today()
    return {
        level.material.pk: runs_out_on(
            today=today,
            on_hand=float(level.material.on_hand),
            use_per_day=max(level.point.mean_per_day, 0.0),
            promised=promised[level.material.pk],
            promised_undated=undated[level.material.pk],
            coming=coming.get(level.material.pk, ()),
        )
        for level in levels
    }
