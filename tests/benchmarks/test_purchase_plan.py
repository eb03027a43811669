"""The purchase plan for 60 materials in 5 packs from 5 suppliers, beside a bare call of the solver.

The floor is `scipy.optimize.milp` on the same programme with the same time limit: it gives column
values, and none of the reasons, comparisons, integer costs or tie-breaks of a plan.
"""

import random
from dataclasses import replace
from decimal import Decimal
from time import perf_counter

import numpy as np
import pytest
from scipy.optimize import Bounds, LinearConstraint, milp

from inventory.reordering import Need, Offer, PriceBreak, ShippingTier, Supplier, Words, plan
from inventory.reordering.covering import sift
from inventory.reordering.programme import build

PACKS_ML = [60, 120, 250, 500, 1000]
TIME_LIMIT_S = 2.0
ROUNDS = 3


def market(seed, materials=60, suppliers=5, *, in_steps=False):
    """Needs, offers and suppliers drawn at random; prices in cents, larger packs cheaper by mL.

    ``in_steps`` gives every pack two price breaks and every supplier two tiers of shipping.
    """
    draw = random.Random(seed)
    needs = [Need(f"m{m:02}", Decimal(draw.randrange(40, 1500)), rank=m) for m in range(materials)]
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
    if in_steps:
        offers = [
            replace(
                offer,
                price_breaks=(
                    PriceBreak(draw.choice([2, 3]), round(offer.price * draw.uniform(0.9, 0.97))),
                    PriceBreak(draw.choice([5, 6]), round(offer.price * draw.uniform(0.8, 0.89))),
                ),
            )
            for offer in offers
        ]
        terms = [
            replace(
                each,
                shipping_tiers=(
                    ShippingTier(each.free_over // 3, each.shipping_fee * 3 // 4),
                    ShippingTier(each.free_over * 2 // 3, each.shipping_fee // 2),
                ),
            )
            for each in terms
        ]
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


def bare_gap(answer):
    return max(0, 1 - answer.mip_dual_bound / answer.fun)


def timed(call, *facts):
    start = perf_counter()
    answer = call(*facts)
    return perf_counter() - start, answer


@pytest.mark.benchmark
@pytest.mark.parametrize("in_steps", (False, True), ids=("plain", "breaks and tiers"))
@pytest.mark.parametrize("seed", range(5))
def test_purchase_plan_beside_the_bare_solver(seed, in_steps, capsys):
    facts = market(seed, in_steps=in_steps)
    runs = [(timed(plan, *facts), timed(bare, *facts)) for _ in range(ROUNDS)]
    plan_s, bare_s = (min(run[way][0] for run in runs) for way in (0, 1))
    bought, column_values = runs[0][0][1], runs[0][1][1]
    simple = bought.compared_with[0]

    with capsys.disabled():
        print(
            f"\n{len(facts[1])} offers: plan {plan_s:.2f} s, bare milp {bare_s:.2f} s, "
            f"ratio {plan_s / bare_s:.2f}; gap {bought.gap:.3%}, "
            f"bare {bare_gap(column_values):.3%}; "
            f"{simple.saving / simple.total:.1%} below cheapest packs, "
            f"{bought.compared_with[1].saving / bought.compared_with[1].total:.1%} below the best "
            "single supplier"
        )
    assert len(facts[1]) == 60 * 5 * 5
    assert bought.total <= simple.total
    assert bought.gap < 0.001
    # Whatever was proved by either holds for the other.
    floor = column_values.mip_dual_bound
    assert bought.total >= floor - 1e-3
    assert bought.total * (1 - bought.gap) <= column_values.fun + 1e-3


@pytest.mark.benchmark
@pytest.mark.parametrize("share", (0.5, 0.9))
def test_purchase_plan_within_a_budget_beside_one_without(share, capsys):
    facts = market(1, in_steps=True)
    whole_s, whole = timed(plan, *facts)
    budget = int(whole.total * share)
    part_s, part = timed(plan, *facts, budget)

    with capsys.disabled():
        print(
            f"\nbudget {share:.0%}: {len(part.left_out.needs)} of 60 left out, {part_s:.2f} s, "
            f"ratio {part_s / whole_s:.2f} to no budget; spends {part.total / budget:.1%}; "
            f"proven: cost {part.proven}, coverage {part.left_out.proven}"
        )
    assert part.total <= budget
