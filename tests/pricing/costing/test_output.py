"""What can be made: counted alone, and the best mix against every mix there is."""

from decimal import Decimal as D
from itertools import product as every
from random import Random

import pytest

from pricing.costing.output import OutputError, Run, best_mix, gains, how_many, missing


def runs(most, earned, minutes=0, **needs):
    """Return the runs of 1 to ``most`` of a product whose needs are in proportion."""
    return [
        Run(
            n,
            {material: D(need) * n for material, need in needs.items()},
            D(minutes) * n,
            D(earned) * n,
        )
        for n in range(1, most + 1)
    ]


def by_trying_every_mix(products, available, minutes):
    """Return the most that any mix of runs earns."""
    best = D(0)
    for picked in every(*[[None, *several] for several in products.values()]):
        made = [run for run in picked if run]
        needs = {}
        for run in made:
            for key, need in run.needs.items():
                needs[key] = needs.get(key, D(0)) + need
        if sum(run.minutes for run in made) <= minutes and not missing(needs, available):
            best = max(best, sum((run.earned for run in made), D(0)))
    return best


# Counted alone


def test_the_count_is_the_largest_that_fits_however_crooked_the_need():
    # A spoon of 15 mL is the least that is measured, and 7 mL stay in the cup, however many.
    def need(count):
        return {"white": D(-(-(11 * count + 7) // 15) * 15)}

    for there in range(0, 400, 7):
        by_counting = max(n for n in range(50) if n == 0 or need(n)["white"] <= there)
        assert how_many(need, {"white": D(there)}, most=49).count == by_counting


def test_what_limits_is_what_one_more_lacks_and_then_the_next():
    def need(sets):
        return {"tile": D(4 * sets), "white": D(50 * sets), "box": D(sets)}

    found = how_many(need, {"tile": D(30), "white": D(120), "box": D(5)}, most=100)

    assert (found.count, found.limits) == (2, {"white": D(30)})
    assert (found.further, found.to_buy) == (3, {"white": D(130)})  # five sets take 250 mL
    assert found.then == ("box",)


def test_two_that_limit_alike_are_both_named():
    found = how_many(lambda n: {"a": D(n), "b": D(n)}, {"a": D(3), "b": D(3)}, most=9)

    assert (found.count, found.limits, found.further) == (3, {"a": D(1), "b": D(1)}, 6)
    assert found.then == ()  # nothing else limits


def test_nothing_limits_what_is_asked_for_and_no_more():
    found = how_many(lambda n: {"a": D(n)}, {"a": D(9)}, most=4)

    assert (found.count, found.limits, found.further) == (4, {}, 0)


def test_what_is_promised_beyond_the_shelf_counts_as_nothing_there():
    assert missing({"a": D(2)}, {"a": D(-5)}) == {"a": D(2)}


# The best mix


def test_the_textbook_mix_of_doors_and_windows():
    """Doors and windows from three plants: 3x + 5y with x <= 4, 2y <= 12, 3x + 2y <= 18.

    Hillier and Lieberman, "Introduction to Operations Research", the Wyndor Glass example, from
    memory: x = 2, y = 6, z = 36 (thousand a week).
    """
    doors, windows = runs(9, 3, first=1, third=3), runs(9, 5, second=2, third=2)
    plants = {"first": D(4), "second": D(12), "third": D(18)}

    best = best_mix({"doors": doors, "windows": windows}, plants, D(0))

    assert {name: run.count for name, run in best.runs.items()} == {"doors": 2, "windows": 6}
    assert (best.earned, best.proven) == (D(36), True)
    assert best.left == {"first": D(2), "second": D(0), "third": D(0)}


def test_an_hour_more_is_worth_what_the_textbook_says():
    """Its shadow prices, from memory: 0 for an hour of the first plant, 1 for one of the third.

    Doors come whole and take three hours of the third plant, so three are worth three.
    """
    doors, windows = runs(9, 3, first=1, third=3), runs(9, 5, second=2, third=2)
    plants = {"first": D(4), "second": D(12), "third": D(18)}
    products = {"doors": doors, "windows": windows}

    more = gains(products, {**plants, "third": D(24)}, D(0), {"first": D(1), "third": D(3)})
    longer = gains(products, plants, D(0), {"first": D(1), "third": D(3)})

    assert [(one.material, one.earned) for one in longer] == [("third", D(3))]
    assert more == ()  # at 24 hours four doors and six windows fill every plant


@pytest.mark.parametrize("seed", range(12))
def test_no_mix_earns_more_than_the_best(seed):
    dice = Random(seed)
    shelf = {key: D(dice.randint(0, 60)) for key in "abc"}
    minutes = D(dice.randint(0, 200))
    products = {
        name: [
            Run(
                n,
                {
                    key: D(dice.randint(0, 9)) + D(each) * n / 3
                    for key, each in zip("abc", row, strict=True)
                },
                D(25 + 7 * n),
                D(dice.randint(-200, 900)) / 100 * n,
            )
            for n in range(1, 6)
        ]
        for name in "pqr"
        if (row := [dice.randint(0, 12) for _ in "abc"])
    }

    best = best_mix(products, shelf, minutes)

    assert (best.earned, best.proven) == (by_trying_every_mix(products, shelf, minutes), True)
    assert min(best.left.values()) >= 0 and best.minutes_left >= 0


def test_setting_up_is_paid_once_a_product():
    # Two of one in one session fit in the hour; one of each, with two set-ups, do not.
    several = [Run(1, {}, D(40), D(10)), Run(2, {}, D(50), D(20))]

    best = best_mix({"coasters": several, "canvas": several}, {}, D(60))

    assert (list(best.runs.values()), best.minutes_left) == ([several[1]], D(10))


def test_what_loses_money_is_not_made():
    best = best_mix({"canvas": runs(3, -2)}, {}, D(100))

    assert (best.runs, best.earned, best.proven) == ({}, D(0), True)


def test_what_is_taken_to_the_last_digit_still_fits():
    third = D("33.3333")
    best = best_mix({"a": [Run(1, {"x": third}, earned=D(1))]}, {"x": third}, D(0))
    short = best_mix({"a": [Run(1, {"x": third + D("0.0001")}, earned=D(1))]}, {"x": third}, D(0))

    assert (best.earned, best.left["x"], short.earned) == (D(1), D(0), D(0))


def test_a_gain_is_what_the_best_mix_with_more_earns_beyond_the_best_without():
    products = {"coasters": runs(6, 20, minutes=30, tile=4), "canvas": runs(6, 50, 90, canvas=1)}
    shelf = {"tile": D(9), "canvas": D(1)}

    found = gains(products, shelf, D(180), {"tile": D(25), "canvas": D(5)}, D(60))

    def worth(shelf, minutes):
        return by_trying_every_mix(products, shelf, minutes) - D(90)

    assert by_trying_every_mix(products, shelf, D(180)) == D(90)
    assert {one.material: one.earned for one in found} == {
        key: gain
        for key, gain in {
            "tile": worth({"tile": D(34), "canvas": D(1)}, D(180)),
            "canvas": worth({"tile": D(9), "canvas": D(6)}, D(180)),
            None: worth(shelf, D(240)),
        }.items()
        if gain > 0
    }
    assert [one.earned for one in found] == sorted((one.earned for one in found), reverse=True)


@pytest.mark.parametrize(
    "attempt",
    [
        lambda: Run(0),
        lambda: Run(1, {"a": D(-1)}),
        lambda: Run(1, minutes=D("NaN")),
        lambda: how_many(lambda n: {}, {}, most=-1),
        lambda: best_mix({}, {}, D(-1)),
        lambda: best_mix({}, {}, D("Infinity")),
    ],
)
def test_what_cannot_be_is_refused(attempt):
    with pytest.raises(OutputError):
        attempt()
