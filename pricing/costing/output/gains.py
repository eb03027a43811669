"""What a little more would add: one more bottle of something, or more time."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Generic

from pricing.costing.output.mix import MOST_NODES, Runs, best_mix
from pricing.costing.output.runs import Amounts, Run, Stuff, What
from studio.money import ZERO


@dataclass(frozen=True)
class Gain(Generic[Stuff]):
    """What so much more of a material would add to the best mix, [currency].

    ``amount`` is in the material's unit, or in [min] where ``material`` is None: more time.
    """

    material: Stuff | None
    amount: Decimal
    earned: Decimal


def gains(
    runs: Runs[What, Stuff],
    available: Amounts[Stuff],
    minutes: Decimal,
    extra: Amounts[Stuff],
    extra_minutes: Decimal = ZERO,
    most_nodes: int = MOST_NODES,
) -> tuple[Gain[Stuff], ...]:
    """Return what more of each material, and more time, would add; what adds nothing is left out.

    The mix is chosen anew for each, so the answer is exact. The dual price of a programme in
    fractions would not be: half a bottle never makes half a canvas.

    Parameters
    ----------
    runs : mapping of product to sequence of Run
        The runs each product could be made in, those included that need the extra, [-]
    available : mapping of material to Decimal
        What is there of each, [the material's unit]
    minutes : Decimal
        Hands-on minutes there are, [min]
    extra : mapping of material to Decimal
        How much more of each to look at, by itself, [the material's unit]
    extra_minutes : Decimal
        How many more minutes to look at, [min]
    most_nodes : int
        Nodes of branch and bound for each mix; a gain is left out where they prove nothing, [-]

    Returns
    -------
    gains : tuple of Gain
        The largest gain first, [currency]

    Raises
    ------
    OutputError
        If the minutes cannot be.

    Examples
    --------
    >>> from pricing.costing.output.runs import Run
    >>> coasters = [Run(n, {"box": Decimal(n)}, earned=Decimal(20 * n)) for n in (1, 2, 3)]
    >>> gains({"coasters": coasters}, {"box": Decimal(1)}, Decimal(0), {"box": Decimal(10)})
    (Gain(material='box', amount=Decimal('10'), earned=Decimal('40')),)
    """
    now = best_mix(runs, available, minutes, most_nodes)
    extras: list[tuple[Stuff | None, Decimal]] = [(None, extra_minutes), *extra.items()]
    additions = []
    for key, amount in extras:
        there = minutes if key is None else max(available.get(key, ZERO), ZERO)
        if not _could_bind(runs, key, there):
            continue
        more = available if key is None else {**available, key: there + amount}
        longer = minutes + amount if key is None else minutes
        best = best_mix(runs, more, longer, most_nodes)
        if best.proven and now.proven and best.earned > now.earned:
            additions.append(Gain(key, amount, best.earned - now.earned))
    return tuple(sorted(additions, key=lambda one: -one.earned))


def _could_bind(runs: Runs[What, Stuff], key: Stuff | None, limit: Decimal) -> bool:
    """Tell whether all products at their largest would take more than there is."""

    def takes(run: Run[Stuff]) -> Decimal:
        return run.minutes if key is None else run.needs.get(key, ZERO)

    most = (max((takes(run) for run in each), default=ZERO) for each in runs.values())
    return sum(most, ZERO) > limit
