"""The purchase plan for 60 materials in 5 packs from 5 suppliers, beside a bare call of the solver.

The floor is `scipy.optimize.milp` on the same programme ended after 50 nodes: it gives column
values, and none of the reasons, comparisons, integer costs or tie-breaks of a plan.
"""

from statistics import median
from time import perf_counter

import pytest

from inventory.buying.reordering import plan
from tests.inventory.buying.markets import priced_market, whole_programme

# After so many a bare solve ends, whatever the machine; a plan needs a handful.
MOST_NODES = 50
ROUNDS = 3


def bare(needs, offers, terms):
    return whole_programme(needs, offers, terms, nodes=MOST_NODES)


def bare_gap(answer):
    return max(0, 1 - answer.mip_dual_bound / answer.fun)


def timed(call, *facts):
    start = perf_counter()
    answer = call(*facts)
    return perf_counter() - start, answer


@pytest.mark.benchmark
@pytest.mark.parametrize("in_steps", (False, True), ids=("plain", "breaks and tiers"))
@pytest.mark.parametrize("seed", range(5), ids="market{}".format)
def test_purchase_plan_beside_the_bare_solver(seed, in_steps, capsys):
    facts = priced_market(seed, in_steps=in_steps)
    runs = [timed(plan, *facts) for _ in range(ROUNDS)]
    plan_s, bought = median(took for took, _ in runs), runs[0][1]
    bare_s, column_values = timed(bare, *facts)  # seconds, and no ratio of it is asserted
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
    assert bought.proven
    # Whatever was proved by either holds for the other.
    floor = column_values.mip_dual_bound
    assert bought.total >= floor - 1e-3
    assert bought.total * (1 - bought.gap) <= column_values.fun + 1e-3


@pytest.mark.benchmark
@pytest.mark.parametrize("share", (0.5, 0.9))
def test_purchase_plan_within_a_budget_beside_one_without(share, capsys):
    facts = priced_market(1, in_steps=True)
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
    assert part.proven and part.left_out.proven
