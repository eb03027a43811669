"""A material's use and its reorder point in plain words, each number with where it comes from."""

from decimal import Decimal

from inventory.buying.demand import Level
from inventory.buying.reordering import OrderUpTo, order_up_to
from inventory.buying.reordering.histories import SHARE_OF_PACK
from inventory.buying.reordering.patterns import FEWEST_USES
from inventory.words import amount, average, listed
from studio.models import Studio
from studio.money import ZERO

KINDS = {
    "smooth": "Steady: used most days, in like amounts",
    "intermittent": "Now and then, in like amounts",
    "erratic": "Most days, in very different amounts",
    "lumpy": "Now and then, in very different amounts",
    "unknown": "Too few uses to tell",
}


def use_facts(level: Level, studio: Studio) -> list[tuple[str, str]]:
    """Return how a material is used, as pairs of a term and what is to be said of it."""
    pattern, material = level.demand.pattern, level.material
    if not pattern.uses:
        return []
    days = days_ahead(level, studio)
    mean, sd = (average(material, number) for number in level.outlook(days))
    in_days = _plural(pattern.uses, "day")
    kind = KINDS[pattern.kind]
    return [
        (
            "In a day",
            f"{average(material, pattern.mean_per_day)} on average, give or take "
            f"{average(material, pattern.sd_per_day)} (how much it varies)",
        ),
        ("In one go", f"{average(material, pattern.mean_use)} on average"),
        (
            "How often",
            f"on {in_days} of the last {level.demand.days}, so every "
            f"{_plural(round(pattern.days_between, 1), 'day')}",
        ),
        ("Kind of demand", kind),
        (
            "To be expected",
            f"{mean} in the {days:g} days until the review after the next delivery, give or take "
            f"{sd}: usual use, what is held, and open quotes by their chance",
        ),
    ]


def quoted_words(level: Level) -> str:
    """Return what open quotes may take, on average and with its spread, and the chance's source."""
    if not level.possible:
        return ""
    mean, sd = (average(level.material, number) for number in level.quoted)
    return (
        f"All or nothing of each: {mean} on average, give or take {sd}. "
        f"{level.possible[0].because} Nothing is held for a quote until it is accepted."
    )


def days_ahead(level: Level, studio: Studio) -> float:
    """Return the days until the review after the next delivery, [days]."""
    return level.point.lead_days + studio.review_days


def target(level: Level, review_days: int) -> OrderUpTo:
    """Return how much an order made today should bring, `OrderUpTo`, [the material's unit]."""
    return order_up_to(
        level.material.projected,
        level.reorder_at,
        level.point.mean_per_day,
        float(review_days),
        level.quoted_later,
    )


def reorder_reasons(level: Level, studio: Studio) -> list[str]:
    """Return how a reorder point came about, a sentence a step, ending with what an order fills."""
    steps = {"by_hand": _by_hand, "no_history": _no_history}.get(level.point.basis, _learned)
    return [*steps(level), _fills_up(level, studio)]


def _by_hand(level: Level) -> list[str]:
    by_hand = f"Set by hand at {amount(level.material, level.material.reorder_point or ZERO)}."
    if not level.demand.uses:
        return [by_hand]
    learned = level.point.lead_time_demand + level.point.safety_stock
    return [f"{by_hand} What is on record would make it {_about(level, learned)}."]


def _no_history(level: Level) -> list[str]:
    pack = level.pack
    rule = (
        f"a share of {SHARE_OF_PACK:.0%} of a usual pack, {_about(level, pack.size)}, is kept"
        if pack
        else "nothing is kept until a pack is on offer"
    )
    return [
        f"Fewer than {FEWEST_USES} days of use are on record, too few to learn from, so {rule}.",
        *_quoted(level),
    ]


def _learned(level: Level) -> list[str]:
    point = level.point
    steady = point.basis == "normal"
    first = (
        f"A delivery takes {point.lead_days:g} days. In that time "
        f"{_about(level, point.lead_time_demand)} is used on average."
    )
    for_what = (
        "the days when more is used or the delivery is late"
        if steady
        else "a pour or two more than usual, or a late delivery, counted use by use"
    )
    stock_clause = (
        f"{_about(level, point.safety_stock)} is kept on top for {for_what}, so that it lasts "
        f"{float(point.service_level or 0):.0%} of the time."
    )
    parts = [point.lead_time_demand, point.quoted, point.safety_stock]
    total = " + ".join(_about(level, part) for part in parts if part)
    return [
        first,
        *_quoted(level),
        stock_clause,
        f"Together {total} = {_about(level, point.quantity)}.",
    ]


def _quoted(level: Level) -> list[str]:
    if not level.point.quoted:
        return []
    amount = _about(level, level.point.quoted)
    return [f"Open quotes due by then are expected to take {amount}, each by its chance."]


def _fills_up(level: Level, studio: Studio) -> str:
    order = target(level, studio.review_days)
    usual = level.point.mean_per_day * studio.review_days
    parts = [
        f"the reorder point ({_about(level, level.point.quantity)})",
        f"the usual use of {studio.review_days} days ({_about(level, usual)})",
    ]
    if level.quoted_later:
        later = _about(level, level.quoted_later)
        parts.append(f"what open quotes are expected to take in that time ({later})")
    return f"An order fills the shelf up to {_about(level, order.target)}: {listed(parts)}."


def _about(level: Level, quantity: Decimal | float) -> str:
    return average(level.material, quantity)


def _plural(number: float, word: str) -> str:
    return f"{number:g} {word}{'' if number == 1 else 's'}"
