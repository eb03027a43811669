"""Volumes in spoons and cups: the words, the rounding, and never too little to mix."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from studio.units import (
    MEASURES,
    UnitsError,
    both,
    kitchen_measure,
    parse_volume,
    round_up_to_measure,
)

measure_sets = st.sampled_from(sorted(MEASURES))
volumes = st.decimals("0.001", "20000", places=3)


def half_step_ml(volume_ml, measures):
    """Return the stated bound on rounding where 2 % is less, [mL]."""
    chosen = MEASURES[measures]
    if volume_ml < chosen.tbsp_ml:
        return chosen.tsp_ml / 8
    if volume_ml < 4 * chosen.tbsp_ml:
        return chosen.tbsp_ml / 4
    if volume_ml < 4 * chosen.cup_ml:
        return chosen.tbsp_ml * Decimal("0.6")
    return chosen.cup_ml / 8


@pytest.mark.parametrize(
    ("volume_ml", "measures", "text"),
    [
        ("22.180147171875", "us", "1½ tbsp"),
        ("177.441177375", "us", "¾ cup"),
        ("473.176473", "us", "2 cups"),
        ("1.2322303984375", "us", "¼ tsp"),
        ("266.1617660625", "us", "1 cup 2 tbsp"),
        ("22.18", "us", "1½ tbsp"),
        ("14.787", "us", "1 tbsp"),
        ("74", "us", "5 tbsp"),
        ("59.147", "us", "¼ cup"),
        ("5", "metric", "1 tsp"),
        ("15", "metric", "1 tbsp"),
        ("15", "au", "3 tsp"),
        ("20", "au", "1 tbsp"),
        ("290", "metric", "1 cup 3 tbsp"),
        ("312.5", "metric", "1¼ cups"),
        ("284.131", "imperial", "1 cup"),
        ("20000", "metric", "80 cups"),
        ("0.3", "us", "a few drops"),
        ("0", "us", "nothing"),
        ("-22", "us", "−1½ tbsp"),
    ],
)
def test_kitchen_measure_is_what_a_person_would_reach_for(volume_ml, measures, text):
    assert kitchen_measure(Decimal(volume_ml), measures) == text


def test_both_says_millilitres_and_spoons():
    assert both(Decimal("22.18"), "us") == "22 mL (1½ tbsp)"
    assert both(473.2, "us") == "473 mL (2 cups)"
    assert both(Decimal("-22"), "us") == "−22 mL (1½ tbsp)"
    assert both(Decimal(0), "us") == "0 mL"


@given(volumes, measure_sets)
def test_kitchen_measure_is_within_its_stated_bound(volume_ml, measures):
    text = kitchen_measure(volume_ml, measures)

    if text == "a few drops":
        assert volume_ml < MEASURES[measures].tsp_ml / 8
        return
    off_ml = abs(parse_volume(text, measures) - volume_ml)
    bound_ml = max(Decimal("0.02") * volume_ml, half_step_ml(volume_ml, measures))
    assert off_ml <= bound_ml + Decimal("0.001")


@given(volumes, measure_sets)
def test_saying_a_measure_again_moves_it_by_two_percent_at_most(volume_ml, measures):
    text = kitchen_measure(volume_ml, measures)
    if text != "a few drops":
        first_ml = parse_volume(text, measures)
        again_ml = parse_volume(kitchen_measure(first_ml, measures), measures)
        assert abs(again_ml - first_ml) <= Decimal("0.02") * first_ml


@given(st.integers(1, 7), measure_sets)
def test_whole_spoons_keep_their_volume(spoons, measures):
    volume_ml = parse_volume(f"{spoons} tbsp", measures)
    off_ml = abs(parse_volume(kitchen_measure(volume_ml, measures), measures) - volume_ml)
    assert off_ml <= Decimal("0.02") * volume_ml


@given(volumes, measure_sets)
def test_rounding_up_is_never_below_and_the_words_agree(volume_ml, measures):
    measured_ml, text = round_up_to_measure(volume_ml, measures)

    assert measured_ml >= volume_ml
    assert abs(parse_volume(text, measures) - measured_ml) <= Decimal("0.0005")
    step_ml = max(2 * half_step_ml(volume_ml, measures), Decimal("0.02") * volume_ml)
    assert measured_ml - volume_ml <= step_ml + Decimal("0.001")


@pytest.mark.parametrize(
    ("volume_ml", "least_ml", "measures", "text"),
    [
        # A US tablespoon is 14.787 mL, 1.4 % short of 15 mL; 1½ are half as much again.
        ("15", "14.7", "us", "1 tbsp"),
        ("15", "14.8", "us", "1½ tbsp"),
        ("15", None, "us", "1½ tbsp"),
        ("15", "14.7", "metric", "1 tbsp"),  # all of it
        ("15.3", "15.0", "metric", "1 tbsp"),
        # Of two cups the next step up is less than a tenth, so it is taken.
        ("475", "466", "us", "2 cups 1 tbsp"),
    ],
)
def test_a_measure_just_below_is_taken_where_it_will_do_and_the_next_is_much_more(
    volume_ml, least_ml, measures, text
):
    least_ml = least_ml and Decimal(least_ml)
    assert round_up_to_measure(Decimal(volume_ml), measures, least_ml)[1] == text


@given(volumes, measure_sets, st.decimals("0.95", "1", places=3))
def test_what_is_measured_is_never_below_what_will_do(volume_ml, measures, share):
    least_ml = volume_ml * share
    measured_ml, text = round_up_to_measure(volume_ml, measures, least_ml)
    up_ml, _ = round_up_to_measure(volume_ml, measures)

    assert measured_ml >= least_ml
    assert abs(parse_volume(text, measures) - measured_ml) <= Decimal("0.0005")
    if measured_ml < volume_ml:
        assert up_ml > Decimal("1.1") * volume_ml
    else:
        assert measured_ml == up_ml


@given(volumes, measure_sets)
def test_rounding_up_a_measure_leaves_it_alone(volume_ml, measures):
    measured_ml, _ = round_up_to_measure(volume_ml, measures)
    again_ml, _ = round_up_to_measure(measured_ml.quantize(Decimal("0.001")), measures)
    assert abs(again_ml - measured_ml) <= Decimal("0.02") * measured_ml


def test_rounding_up_a_stored_tablespoon_gives_a_tablespoon():
    assert round_up_to_measure(Decimal("14.787"), "us") == (Decimal("14.787"), "1 tbsp")
    assert round_up_to_measure(Decimal("946.353"), "us")[1] == "4 cups"


@pytest.mark.parametrize("value", [0, -1, Decimal("nan"), float("inf")])
def test_rounding_up_needs_a_positive_number(value):
    with pytest.raises(UnitsError):
        round_up_to_measure(value, "us")


def test_unknown_measures_are_refused():
    with pytest.raises(UnitsError, match="us, metric, au, imperial"):
        kitchen_measure(5, "roman")
