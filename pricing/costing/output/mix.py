"""The mix of products that earns most from what is there: an integer programme, solved by HiGHS."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Generic, Protocol

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, milp

from pricing.costing.output.errors import OutputError
from pricing.costing.output.runs import Amounts, Run, Stuff, What, missing
from studio.money import ZERO

Runs = Mapping[What, Sequence[Run[Stuff]]]

# Counted, so that every machine ends the search alike.
MOST_NODES = 2_000
# What HiGHS may be off in what it takes for the most; relative, as amounts are of any currency.
SLACK = 1e-6


@dataclass(frozen=True)
class ProductMix(Generic[What, Stuff]):
    """A run of each product that is made, and what they come to together.

    ``earned`` is in [currency], ``minutes`` and ``minutes_left`` in [min], ``left`` what stays on
    the shelf of each material that was named, [the material's unit]. ``proven`` tells whether no
    other mix earns more.
    """

    runs: Mapping[What, Run[Stuff]]
    earned: Decimal
    minutes: Decimal
    minutes_left: Decimal
    left: Amounts[Stuff]
    proven: bool


class Answer(Protocol):
    """What is read of the solver's answer."""

    x: NDArray[np.float64] | None
    mip_dual_bound: float | None


def best_mix(
    runs: Runs[What, Stuff],
    available: Amounts[Stuff],
    minutes: Decimal,
    most_nodes: int = MOST_NODES,
) -> ProductMix[What, Stuff]:
    """Return the mix that earns most within the materials there are and the minutes there are.

    Each run is one yes or no, at most one of each product, since two runs of a product are never
    quite one larger run: so set-up minutes and cup losses are counted as they are, not averaged.
    HiGHS branches and bounds until no other mix can earn more; what it answers is added up again in
    decimals before it is believed.

    Parameters
    ----------
    runs : mapping of product to sequence of Run
        The runs each product can be made in, [-]
    available : mapping of material to Decimal
        What is there of each, nothing where it is not named, [the material's unit]
    minutes : Decimal
        Hands-on minutes there are, [min]
    most_nodes : int
        Nodes of branch and bound after which the best mix found so far is returned, [-]

    Returns
    -------
    mix : ProductMix
        The runs to make, [-]; empty where nothing that fits earns anything

    Raises
    ------
    OutputError
        If the minutes cannot be.

    Examples
    --------
    A lamp tile takes 3 of one glaze and earns 5, a plain one takes 2 and earns 3; there are 8.

    >>> def run(count, glaze, earned):
    ...     return Run(count, {"glaze": Decimal(glaze * count)}, earned=Decimal(earned * count))
    >>> lamps, plain = [run(n, 3, 5) for n in (1, 2)], [run(n, 2, 3) for n in (1, 2, 3)]
    >>> best = best_mix({"lamp": lamps, "plain": plain}, {"glaze": Decimal(8)}, Decimal(0))
    >>> {name: one.count for name, one in best.runs.items()}, best.earned, best.left
    ({'lamp': 2, 'plain': 1}, Decimal('13'), {'glaze': Decimal('0')})

    References
    ----------
    H. Kellerer, U. Pferschy and D. Pisinger, "Knapsack Problems" (2004), ch. 11 (the
    multiple-choice knapsack), here with a row for each material.
    Q. Huangfu and J. A. J. Hall, "Parallelizing the dual revised simplex method", Math. Prog. Comp.
    10 (2018) 119-142 (HiGHS).
    """
    if not minutes.is_finite() or minutes < 0:
        raise OutputError("Give the minutes there are, none or more.")
    # Losing runs are never made, and runs that do not fit alone fit in no mix.
    choices = [
        (product, run)
        for product, several in runs.items()
        for run in several
        if run.earned > 0 and run.minutes <= minutes and not missing(run.needs, available)
    ]
    if not choices:
        return _totals({}, available, minutes, proven=True)
    answer = _solution(choices, available, minutes, most_nodes)
    selection = {} if answer.x is None else _selection(choices, answer.x)
    mix = _totals(selection, available, minutes, proven=False)
    mix = replace(mix, proven=_none_earns_more(mix, answer))
    if min([mix.minutes_left, *mix.left.values()]) < 0:
        raise OutputError("The mix could not be worked out to the last digit. Change the hours.")
    return mix


def _solution(
    choices: Sequence[tuple[What, Run[Stuff]]],
    available: Amounts[Stuff],
    minutes: Decimal,
    most_nodes: int,
) -> Answer:
    """Let HiGHS choose among runs that fit by themselves."""
    materials = dict.fromkeys(key for _, run in choices for key, need in run.needs.items() if need)
    rows = [([run.needs.get(key, ZERO) for _, run in choices], available[key]) for key in materials]
    rows.append(([run.minutes for _, run in choices], minutes))
    rows += [
        ([Decimal(choice == product) for choice, _ in choices], Decimal(1))
        for product in dict.fromkeys(product for product, _ in choices)
    ]
    answer: Answer = milp(
        -np.array([float(run.earned) for _, run in choices]),
        integrality=np.ones(len(choices)),
        bounds=Bounds(0, 1),
        constraints=LinearConstraint(
            np.array([[float(amount) for amount in row] for row, _ in rows]),
            ub=np.array([float(limit) for _, limit in rows]),
        ),
        options={"node_limit": most_nodes, "mip_rel_gap": 0},
    )
    return answer


def _none_earns_more(mix: ProductMix[What, Stuff], answer: Answer) -> bool:
    """Tell whether the solver's bound leaves no room above the mix, as it is added up exactly."""
    if answer.mip_dual_bound is None:
        return False
    earned = float(mix.earned)
    return -answer.mip_dual_bound <= earned + SLACK * max(1, abs(earned))


def _selection(
    choices: Sequence[tuple[What, Run[Stuff]]], values: NDArray[np.float64]
) -> dict[What, Run[Stuff]]:
    return {product: run for (product, run), yes in zip(choices, values, strict=True) if yes > 0.5}


def _totals(
    selection: dict[What, Run[Stuff]], available: Amounts[Stuff], minutes: Decimal, *, proven: bool
) -> ProductMix[What, Stuff]:
    chosen = list(selection.values())
    spent_minutes = sum((run.minutes for run in chosen), ZERO)
    left = {key: max(amount, ZERO) for key, amount in available.items()}
    for run in chosen:
        for key, need in run.needs.items():
            left[key] = left.get(key, ZERO) - need
    return ProductMix(
        runs=selection,
        earned=sum((run.earned for run in chosen), ZERO),
        minutes=spent_minutes,
        minutes_left=minutes - spent_minutes,
        left=left,
        proven=proven,
    )
