"""The purchase plan for 60 materials in 5 packs from 5 suppliers, beside a bare call of the solver.

The floor is `scipy.optimize.milp` on the same programme with the same time limit: it gives column
values, and none of the reasons, comparisons, integer costs or tie-breaks of a plan.
"""

import random
from decimal import Decimal
from time import perf_counter

import numpy as np
import pytest
from scipy.optimize import Bounds, LinearConstraint, milp

from inventory.reordering import Need, Offer, Supplier, Words, plan
from inventory.reordering.covering import sift
from inventory.reordering.programme import build

PACKS_ML = [60, 120, 250, 500, 1000]
TIME_LIMIT_S = 2.0
ROUNDS = 3


def market(seed, materials=60, suppliers=5):
    """Needs, offers and suppliers drawn at random; prices in cents, larger packs cheaper by mL."""
    draw = random.Random(seed)
    needs = [Need(f"m{m:02}", Decimal(draw.randrange(40, 1500))) for m in range(materials)]
    terms = [
        Supplier(
            f"s{s}",
            minimum_order=draw.choice([0, 1500, 2500]),
            shipping_fee=draw.randrange(400, 1200),
            free_over=draw.randrange(4000, 12000),
        )
        for s in range(suppliers)
    ]
    levels = [draw.uniform(0.9, 1.15) for _ in range(suppliers)]
    offers = []
    for need in needs:
        base = draw.uniform(4, 18)
        for supplier, level in zip(terms, levels, strict=True):
            for size in PACKS_ML:
                price = round(base * size**0.82 * level * draw.uniform(0.92, 1.08))
                offers.append(Offer(need.material, size, supplier.key, Decimal(size), price))
    return needs, offers, terms


def bare(needs, offers, terms):
    programme, _ = build(sift(needs, offers, terms, today=None, allow_late=False, words=Words()))
    return milp(
        programme.costs,
        integrality=np.ones(len(programme.costs)),
        bounds=Bounds(0, programme.highest),
        constraints=LinearConstraint(programme.matrix(), programme.least, programme.most),
        options={"time_limit": TIME_LIMIT_S, "mip_rel_gap": 0},
    )


def timed(call, *facts):
    start = perf_counter()
    answer = call(*facts)
    return perf_counter() - start, answer


@pytest.mark.benchmark
@pytest.mark.parametrize("seed", range(5))
def test_purchase_plan_beside_the_bare_solver(seed, capsys):
    facts = market(seed)
    runs = [(timed(plan, *facts), timed(bare, *facts)) for _ in range(ROUNDS)]
    plan_s, bare_s = (min(run[way][0] for run in runs) for way in (0, 1))
    bought, column_values = runs[0][0][1], runs[0][1][1]
    simple = bought.compared_with[0]

    with capsys.disabled():
        print(
            f"\n{len(facts[1])} offers: plan {plan_s:.2f} s, bare milp {bare_s:.2f} s, "
            f"ratio {plan_s / bare_s:.2f}; gap {bought.gap:.3%}; "
            f"{simple.saving / simple.total:.1%} below cheapest packs, "
            f"{bought.compared_with[1].saving / bought.compared_with[1].total:.1%} below the best "
            "single supplier"
        )
    assert len(facts[1]) == 60 * 5 * 5
    assert bought.total <= simple.total
    # Whatever was proved by either holds for the other.
    floor = column_values.mip_dual_bound
    assert bought.total >= floor - 1e-3
    assert bought.total * (1 - bought.gap) <= column_values.fun + 1e-3
