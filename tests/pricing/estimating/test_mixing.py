"""Palettes, sheets and reclaimed paint: sums worked by hand, and laws that hold for any input."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.mixing.proportions import MixingError, RecipeError, density, proportions
from pricing.estimating.mixing import MixRequest, mixing_sheet, scale, shares, split
from tests.inventory.mixing.mixes import (
    MEDIUM,
    STOCK,
    UNWEIGHED,
    WATER,
    WHITE,
    WHITE_MIX,
    amounts,
    mix,
    nested,
)

D = Decimal

parts = st.lists(st.decimals(D("0.001"), D("999"), places=3), min_size=1, max_size=9)

# Shares


def test_shares_of_parts_percentages_and_equal():
    assert shares([2, 1, 1]) == (Fraction(1, 2), Fraction(1, 4), Fraction(1, 4))
    assert shares(["60%", "40 %"]) == (Fraction(3, 5), Fraction(2, 5))
    assert shares("equal", 3) == (Fraction(1, 3),) * 3


def test_rounded_percentages_are_taken_as_the_proportions_they_mean():
    assert shares(["33%", "33%", "33%"]) == (Fraction(1, 3),) * 3


@given(parts)
def test_shares_always_add_up_to_one(given_parts):
    assert sum(shares(given_parts)) == 1


@pytest.mark.parametrize(
    ("given_parts", "count", "says"),
    [
        ([], None, "at least one colour"),
        ([1, 0], None, "above zero, not 0"),
        ([1, -2], None, "above zero, not -2"),
        ([1, D("NaN")], None, "above zero, not NaN"),
        ([float("inf")], None, "above zero, not inf"),
        (["1", "lots"], None, "not “lots”"),
        (["50%", "1"], None, "not some of each"),
        (["50%", "25%", "20%"], None, "add up to 100, not 95"),
        ("equal", None, "how many colours"),
        ("half", 2, "not “half”"),
        ([1, 1], 3, "3 colours and 2 shares"),
    ],
)
def test_shares_refuse_nonsense_in_words(given_parts, count, says):
    with pytest.raises(MixingError, match=says):
        shares(given_parts, count)


# Splitting


def test_split_into_thirds_loses_nothing():
    volumes = split(D(100), shares("equal", 3)).volumes_ml
    assert volumes == (D("33.3"), D("33.4"), D("33.3"))


def test_split_raises_a_small_colour_and_says_so():
    # 40 mL as 6:3:1 is 24, 12 and 4. The last gets 5; the other 35 mL are shared 2 to 1.
    worked = split(D(40), shares([6, 3, 1]))

    assert worked.volumes_ml == (D("23.3"), D("11.7"), D("5.0"))
    assert worked.raised == (False, False, True)
    assert worked.note.startswith("1 colour was raised to 5 mL")


def test_split_raises_a_colour_that_giving_way_made_too_small():
    # 20 mL as 60:27:13 is 12, 5.4 and 2.6. Raising the last to 5 leaves 15 mL, of which the second
    # would get 4.66: it is raised as well.
    worked = split(D(20), shares([60, 27, 13]))
    assert worked.volumes_ml == (D(10), D(5), D(5))
    assert worked.raised == (False, True, True)


def test_split_grows_the_total_when_every_colour_is_at_the_minimum():
    worked = split(D(8), shares("equal", 3))

    assert worked.volumes_ml == (D(5), D(5), D(5))
    assert worked.total_ml == 15
    assert worked.note == (
        "3 colours of at least 5 mL take 15 mL, more than the 8 mL the piece needs."
    )


def test_split_at_exactly_the_minimum_of_all_does_not_grow():
    worked = split(D(10), shares([9, 1]))
    assert (worked.volumes_ml, worked.total_ml) == ((D(5), D(5)), D(10))


@given(amounts, parts, st.decimals(D("0"), D("20"), places=2))
def test_split_adds_up_and_keeps_the_minimum(total, given_parts, minimum):
    worked = split(total, shares(given_parts), minimum)

    assert sum(worked.volumes_ml) == worked.total_ml
    assert worked.total_ml == max(total, minimum * len(given_parts))
    assert min(worked.volumes_ml) >= minimum
    assert bool(worked.note) == any(worked.raised)


@given(amounts, parts)
def test_split_without_a_minimum_is_plain_shares(total, given_parts):
    portions = shares(given_parts)
    for volume, share in zip(split(total, portions, D(0)).volumes_ml, portions, strict=True):
        assert abs(Fraction(volume) - share * Fraction(total)) < Fraction(1, 10)


@pytest.mark.parametrize("total", [D(0), D(-1), D("NaN"), D("Infinity")])
def test_split_refuses_no_volume(total):
    with pytest.raises(MixingError, match="A volume must be a number above zero"):
        split(total, shares([1, 1]))


def test_split_refuses_shares_that_are_not_the_whole():
    with pytest.raises(MixingError, match="add up to one"):
        split(D(50), [Fraction(1, 2), Fraction(1, 3)])


# Sheets


def test_scale_keeps_the_order_and_runs_the_total_on_the_scale():
    batch = scale(mix("cup", (MEDIUM, "2"), (WHITE, "1"), (WATER, "0.5")), D(70))

    assert [
        (step.name, step.ml, step.g, step.running_ml, step.running_g) for step in batch.steps
    ] == [
        ("Pouring medium", D(40), D(42), D(40), D(42)),
        ("White (PW6)", D(20), D(28), D(60), D(70)),
        ("Water", D(10), D(10), D(70), D(80)),
    ]
    assert batch.mass_g == 80


@given(nested, amounts)
def test_running_totals_are_true_and_add_up(recipe, volume):
    batch = scale(recipe, volume)
    exact = Fraction(0)
    for step, part, share in zip(batch.steps, recipe.parts, proportions(recipe), strict=True):
        exact += share * Fraction(volume) * density(part.of)
        assert abs(Fraction(step.running_g) - exact) <= Fraction("0.05")
    assert sum(step.ml for step in batch.steps) == batch.steps[-1].running_ml == volume
    assert sum(step.g for step in batch.steps) == batch.steps[-1].running_g == batch.mass_g


def test_grams_stop_at_a_part_that_cannot_be_weighed():
    batch = scale(mix("cup", (MEDIUM, "1"), (UNWEIGHED, "1"), (WATER, "1")), D(30))
    assert [step.running_g for step in batch.steps] == [D("10.5"), None, None]
    assert batch.mass_g is None
    assert batch.note.startswith("No grams from “Blue (PB29)” on.")


def test_mixing_sheet_groups_a_day_and_mixes_the_stock_first():
    base = mix("base", (STOCK, "1"), (WHITE, "1"))
    sheet = mixing_sheet(
        [
            MixRequest(WHITE_MIX, D(30), "Tile 1"),
            MixRequest(base, D(40), "Canvas"),
            MixRequest(WHITE_MIX, D(30), "Tile 2"),
        ]
    )

    # 2/3 of 60 mL and 1/2 of 40 mL: 60 mL of stock.
    assert [(batch.key, batch.volume_ml, batch.labels) for batch in sheet] == [
        ("stock", D(60), ("White Mix", "Base")),
        ("white mix", D(60), ("Tile 1", "Tile 2")),
        ("base", D(40), ("Canvas",)),
    ]
    assert [step.is_mix for step in sheet[1].steps] == [True, False]


@given(st.lists(st.tuples(st.sampled_from([STOCK, WHITE_MIX]), amounts), min_size=1, max_size=6))
def test_a_sheet_mixes_exactly_what_its_cups_take(rows):
    sheet = {batch.key: batch for batch in mixing_sheet(MixRequest(*row) for row in rows)}
    asked = sum((volume for recipe, volume in rows if recipe is STOCK), D(0))
    taken = sum((step.ml for batch in sheet.values() for step in batch.steps if step.is_mix), D(0))
    assert sheet["stock"].volume_ml == asked + taken


def test_a_trace_of_a_mix_that_shows_as_nothing_is_still_mixed():
    tinted = mix("tinted", (STOCK, "1"), (WATER, "9999"))
    stock, cup = mixing_sheet([MixRequest(tinted, D(50))])
    assert cup.steps[0].ml == 0
    assert (stock.key, stock.volume_ml) == ("stock", D("0.1"))


def test_what_is_mixed_already_is_used_and_only_the_rest_is_mixed():
    """60 mL of white mix, 15.05 there: 45 to mix, of which 2/3 is stock; 10 of that are there."""
    stock, white = mixing_sheet(
        [MixRequest(WHITE_MIX, D(60))], ready={"white mix": D("15.05"), "stock": D(10)}
    )

    assert (white.ready_ml, white.volume_ml) == (D(15), D(45))
    assert (stock.ready_ml, stock.volume_ml) == (D(10), D(20))


@pytest.mark.parametrize(
    ("there", "ready", "to_mix"),
    [("59.9", "59.9", "0"), ("58.9", "58.9", "1.1"), ("99", "60", "0")],
)
def test_where_the_least_is_there_nothing_is_mixed(there, ready, to_mix):
    job = MixRequest(STOCK, D(60), least_ml=D(59))

    (cup,) = mixing_sheet([job], ready={"stock": D(there)})

    assert (cup.ready_ml, cup.volume_ml) == (D(ready), D(to_mix))
    assert bool(cup.steps) is (cup.volume_ml > 0)


def test_two_recipes_with_one_key_are_refused():
    other = mix("stock", (MEDIUM, "1"))
    with pytest.raises(RecipeError, match="two recipes with one key"):
        mixing_sheet([MixRequest(STOCK, D(10)), MixRequest(other, D(10))])
