"""Reading volumes, weights, lengths and counts: what is accepted, what is refused, and how."""

from decimal import Decimal

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from studio.units import (
    MEASURES,
    UnitsError,
    format_length,
    format_mass,
    format_volume,
    g_to_ml,
    ml_to_g,
    parse_amount,
    parse_count,
    parse_length,
    parse_mass,
    parse_size,
    parse_volume,
)

measure_sets = st.sampled_from(sorted(MEASURES))

# Letters, digits and marks that quantities are made of, so that fuzzing gets past the first one.
NEAR_QUANTITIES = st.text(
    alphabet="0123456789.,/ ½¾x×\"'-+eEmlgcptsbfzodinrua(*²٣５\n\t", max_size=24
)
ANY_TEXT = st.one_of(st.text(max_size=80), NEAR_QUANTITIES)


@pytest.mark.parametrize(
    ("text", "volume_ml"),
    [
        ("1 1/2 tbsp", "22.5"),
        ("1½ tbsp", "22.5"),
        ("1 ½ tbsp", "22.5"),
        ("1-1/2 tablespoons", "22.5"),
        ("¾ cup", "187.5"),
        ("3/4cup", "187.5"),
        (".5 cup", "125"),
        ("250ml", "250"),
        ("250 mL", "250"),
        ("250 ML", "250"),
        ("250 ml.", "250"),
        ("250", "250"),
        ("1,5 dl", "150"),
        ("1,250.5 ml", "1250.5"),
        ("1.250,5 ml", "1250.5"),
        ("0,125 l", "125"),
        ("2 litres", "2000"),
        ("2 cups 3 tbsp", "545"),
        ("2 cups, 3 tbsp", "545"),
        ("2 cups and 3 tbsp", "545"),
        ("2 cups + 3 tbsp", "545"),
        ("1 Australian tbsp", "20"),
        ("２５０ｍｌ", "250"),
        ("٣ tsp", "15"),
        ("5\u00a0ml", "5"),
    ],
)
def test_volume_is_read_as_a_maker_writes_it(text, volume_ml):
    assert parse_volume(text, "metric") == Decimal(volume_ml)


@pytest.mark.parametrize(
    ("text", "measures", "volume_ml"),
    [
        ("8 fl oz", "us", "236.5882365"),
        ("8 fl. oz.", "us", "236.5882365"),
        ("8 fluid ounces", "us", "236.5882365"),
        ("1 floz", "imperial", "28.4130625"),
        ("1 pint", "us", "473.176473"),
        ("1 pint", "imperial", "568.26125"),
        ("1 imperial pint", "us", "568.26125"),
        ("1 US pint", "imperial", "473.176473"),
        ("1 gal", "us", "3785.411784"),
        ("1 quart", "imperial", "1136.5225"),
        ("1 cup", "imperial", "284.130625"),
        ("1 tbsp", "au", "20"),
        ("1/3 cup", "us", "78.8627455"),
    ],
)
def test_volume_follows_the_measures_chosen(text, measures, volume_ml):
    assert parse_volume(text, measures) == Decimal(volume_ml)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "Nothing was given"),
        ("   ", "Nothing was given"),
        ("0", "between 0.001 mL and 1,000 L"),
        ("0 cups 0 tbsp", "between 0.001 mL and 1,000 L"),
        ("1001 l", "between 0.001 mL and 1,000 L"),
        ("-5 ml", "not a range or a negative number"),
        ("−5 ml", "not a range or a negative number"),
        ("5-10 tbsp", "not a range or a negative number"),
        ("nan", "“nan” has no number"),
        ("NaN ml", "“nan” has no number"),
        ("Infinity", "“infinity” has no number"),
        ("1e9", "without an exponent"),
        ("1E-9 ml", "without an exponent"),
        ("9**9**9", "needs its own unit"),
        ("2 ** 3 ml", "not a unit known here"),
        ("__import__('os')", "cannot be read"),
        ("5² ml", "character “²”"),
        ("5\u200bml", "character “?”"),
        ("1/0 cup", "fractions like 1/2"),
        ("11/2 cups", "fractions like 1/2"),
        ("1,250 ml", "could be 1250 or 1.250"),
        ("1.2.3 ml", "not a number"),
        ("8 oz", "write fl oz"),
        ("8 ounces", "write fl oz"),
        ("1 T", "write tsp or tbsp"),
        ("1 c", "write cup, cl or cm"),
        ("5 mil", "write mL, mm or thou"),
        ("450 g", "“g” is a weight"),
        ("10 cm", "“cm” is a length"),
        ("1 pinch", "not a unit known here"),
        ("2 us", "not a unit known here"),
        ("2 tbsp extra", "not a unit known here"),
        ("2 cups 3", "needs its own unit"),
        ("2 3 cups", "needs its own unit"),
        ("cups 2", "has no number before it"),
        ("1" * 61, "longer than 60 characters"),
        ("мл 5", "character “м”"),
    ],
)
def test_volume_refuses_in_one_sentence(text, says):
    with pytest.raises(UnitsError) as refusal:
        parse_volume(text, "us")

    sentence = str(refusal.value)
    assert says in sentence
    assert sentence.endswith(".")
    assert "\n" not in sentence


@pytest.mark.parametrize("value", [None, 5, Decimal(5), b"5 ml"])
def test_what_is_not_text_is_refused(value):
    with pytest.raises(UnitsError, match="Nothing was given"):
        parse_volume(value, "us")


@pytest.mark.parametrize("measures", ["", "UK", None, ["us"]])
def test_unknown_measures_are_refused(measures):
    with pytest.raises(UnitsError, match="us, metric, au, imperial"):
        parse_volume("5 ml", measures)


@pytest.mark.parametrize(
    ("text", "mass_g"),
    [
        ("450 g", "450"),
        ("450", "450"),
        ("1.25kg", "1250"),
        ("500 mg", "0.5"),
        ("1 lb 2 oz", "510.29141625"),
        ("4 oz", "113.398092500"),
        ("½ lb", "226.796185"),
    ],
)
def test_mass_is_read_as_a_maker_writes_it(text, mass_g):
    assert parse_mass(text) == Decimal(mass_g)


@pytest.mark.parametrize("text", ["8 fl oz", "1 cup", "0 g", "1001 kg", "5 each", "1 stone"])
def test_mass_refuses_what_is_no_weight(text):
    with pytest.raises(UnitsError, match=r"450 g"):
        parse_mass(text)


@pytest.mark.parametrize(
    ("text", "unit", "length_mm"),
    [
        ("38 mm", None, "38"),
        ("1½ in", None, "38.1"),
        ('1 1/2"', None, "38.1"),
        ("5' 6\"", None, "1676.4"),
        ("1 thou", None, "0.0254"),
        ("250 µm", None, "0.25"),
        ("10", "cm", "100"),
        ("10 mm", "cm", "10"),
    ],
)
def test_length_is_read_as_a_maker_writes_it(text, unit, length_mm):
    assert parse_length(text, unit) == Decimal(length_mm)


@pytest.mark.parametrize("text", ["10", "11 m", "0 mm", "5 ml", "-1 in"])
def test_length_refuses_what_is_no_length(text):
    with pytest.raises(UnitsError, match=r"38 mm"):
        parse_length(text)


def test_length_refuses_a_mil_because_it_means_three_things():
    with pytest.raises(UnitsError, match="write mL, mm or thou"):
        parse_length("5 mils")


@pytest.mark.parametrize(("text", "count"), [("12", 12), ("12 each", 12), ("2 dozen", 24)])
def test_count_is_read(text, count):
    assert parse_count(text) == count


@pytest.mark.parametrize("text", ["1.5", "0", "-3", "1000001", "3 ml", "½", "three"])
def test_count_refuses_what_is_no_whole_number(text):
    with pytest.raises(UnitsError, match="12"):
        parse_count(text)


def test_amount_is_read_in_the_unit_the_material_is_counted_in():
    assert parse_amount("2 cups", "ml", "metric") == 500
    assert parse_amount("40", "ml", "metric") == 40
    assert parse_amount("40", "g", "metric") == 40
    assert parse_amount("1 lb", "g", "metric") == Decimal("453.59237")
    assert parse_amount("12 each", "each", "metric") == 12


def test_amount_crosses_between_weight_and_volume_by_density():
    assert parse_amount("130 g", "ml", "us", density=Decimal("1.3")) == 100
    assert parse_amount("100 ml", "g", "us", density=Decimal("1.3")) == 130
    assert parse_amount("1 lb 2 oz", "ml", "us", density=Decimal(1)) == Decimal("510.29141625")


@pytest.mark.parametrize(
    ("text", "unit", "density", "says"),
    [
        ("130 g", "ml", None, "density is not known"),
        ("1 cup", "g", None, "density is not known"),
        ("4 oz", "ml", Decimal(1), "write fl oz"),
        ("130 g", "ml", Decimal(0), "between 0.1 and 25"),
        ("130 g", "ml", Decimal("nan"), "plain number"),
        ("5 g 5 ml", "ml", Decimal(1), "is a weight"),
        ("5 ml", "each", None, "is a volume"),
        ("5", "kg", None, "ml, g or each"),
        ("0 g", "ml", Decimal(1), "between 0.001 g"),
    ],
)
def test_amount_refuses_in_words(text, unit, density, says):
    with pytest.raises(UnitsError, match=says):
        parse_amount(text, unit, "us", density)


@given(st.decimals("0.001", "100000", places=3), st.decimals("0.1", "25", places=3))
def test_density_takes_a_volume_to_a_mass_and_back(volume_ml, density):
    assert abs(g_to_ml(ml_to_g(volume_ml, density), density) - volume_ml) < Decimal("1e-18")


@given(st.decimals("0.01", "100000", places=3), measure_sets, measure_sets)
def test_a_volume_is_the_same_in_every_set_of_measures(volume_ml, first, second):
    there = volume_ml / MEASURES[first].cup_ml
    back = there * MEASURES[first].cup_ml / MEASURES[second].tbsp_ml * MEASURES[second].tbsp_ml
    assert abs(back - volume_ml) < Decimal("1e-18")


@given(st.decimals("0.001", "1000", places=4), measure_sets)
def test_parsing_scales_with_the_number(count, measures):
    expected_ml = count * MEASURES[measures].tbsp_ml
    assert abs(parse_volume(f"{count:f} tbsp", measures) - expected_ml) < Decimal("1e-18")


@given(ANY_TEXT, measure_sets)
@example("1e999999999", "us")
@example("9" * 60, "us")
@example("½½½", "us")
def test_any_text_is_a_positive_amount_or_refused(text, measures):
    readers = [
        lambda: parse_volume(text, measures),
        lambda: parse_mass(text),
        lambda: parse_length(text),
        lambda: parse_length(text, "in"),
        lambda: parse_count(text),
        lambda: parse_amount(text, "ml", measures, Decimal("1.1")),
        lambda: parse_amount(text, "g", measures, Decimal("1.1")),
        lambda: parse_size(text).width_mm,
    ]
    for read in readers:
        try:
            value = read()
        except UnitsError as refusal:
            assert str(refusal).endswith(".")
        else:
            assert isinstance(value, Decimal)
            assert value.is_finite()
            assert value > 0


@pytest.mark.parametrize(
    ("volume_ml", "text"),
    [
        ("0.254", "0.25 mL"),
        ("5.55", "5.6 mL"),
        ("22.180147171875", "22 mL"),
        ("99.6", "100 mL"),
        ("236.588", "237 mL"),
        ("999.6", "1 L"),
        ("3785.411784", "3.79 L"),
        ("0", "0 mL"),
        ("-22", "−22 mL"),
    ],
)
def test_volume_is_written_with_the_digits_a_person_can_use(volume_ml, text):
    assert format_volume(Decimal(volume_ml)) == text


def test_estimates_in_floats_are_written_too():
    assert format_volume(22.18) == "22 mL"
    assert format_mass(22.18) == "22.2 g"


@pytest.mark.parametrize("value", [float("nan"), float("inf"), Decimal("nan"), "much"])
def test_what_is_no_number_is_not_written(value):
    for write in (format_volume, format_mass, format_length):
        with pytest.raises(UnitsError, match="plain number"):
            write(value)


@given(st.decimals("0.01", "1000000", places=3))
def test_written_volumes_and_masses_read_back_within_their_digits(amount):
    bound = Decimal("0.05") if amount < 100 else Decimal("0.005")
    assert abs(parse_volume(format_volume(amount), "us") - amount) <= bound * amount
    assert abs(parse_mass(format_mass(amount)) - amount) <= Decimal("0.005") * amount


@given(st.decimals("1", "5000", places=3), st.sampled_from([("in", "0.13"), ("cm", "0.05")]))
def test_written_lengths_read_back_within_their_bound(length_mm, system):
    unit, bound = system
    assert abs(parse_length(format_length(length_mm, unit)) - length_mm) <= Decimal(bound)
    assert abs(parse_length(format_length(length_mm)) - length_mm) <= Decimal("0.005")
