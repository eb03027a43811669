"""Units against published definitions, and against the readings that must not happen."""

from decimal import ROUND_HALF_UP, Decimal

import pytest

from studio.units import MEASURES, UnitsError, parse_length, parse_mass, parse_size, parse_volume

US = MEASURES["us"]
IMPERIAL = MEASURES["imperial"]

INCH_MM = Decimal("25.4")  # International Yard and Pound agreement 1959


def cubic_inches_ml(count):
    return count * INCH_MM**3 / 1000


# NIST Handbook 44, appendix C, sections 3 and 4; NIST Special Publication 811, appendix B.8.
@pytest.mark.parametrize(
    ("text", "volume_ml"),
    [
        ("1 gal", "3785.411784"),
        ("1 quart", "946.352946"),
        ("1 pint", "473.176473"),
        ("1 cup", "236.5882365"),
        ("1 fl oz", "29.5735295625"),
        ("1 tbsp", "14.78676478125"),
        ("1 tsp", "4.92892159375"),
    ],
)
def test_us_customary_volumes_are_the_nist_ones(text, volume_ml):
    assert parse_volume(text, "us") == Decimal(volume_ml)


def test_the_us_gallon_is_231_cubic_inches():
    """NIST Handbook 44, appendix C (1 in3 is 16.387064 mL: from memory, recomputed here)."""
    assert cubic_inches_ml(1) == Decimal("16.387064")
    assert parse_volume("1 gal", "us") == cubic_inches_ml(231)


def test_the_us_fluid_ounce_in_cubic_inches():
    """NIST Handbook 44, appendix C: 1.8046875 in3."""
    assert parse_volume("1 fl oz", "us") == cubic_inches_ml(Decimal("1.8046875"))


# NIST Handbook 44, appendix C, section 2.
@pytest.mark.parametrize(
    "text", ["4 qt", "8 pt", "16 cups", "128 fl oz", "256 tbsp", "768 tsp", "2 qt 4 pt"]
)
def test_one_us_gallon_holds_whole_numbers_of_the_rest(text):
    assert parse_volume(text, "us") == parse_volume("1 gal", "us")


def test_avoirdupois_weights():
    """International Yard and Pound agreement 1959; NIST Handbook 44, appendix C (from memory)."""
    assert parse_mass("1 lb") == Decimal("453.59237")
    assert parse_mass("1 oz") == Decimal("28.349523125")
    assert parse_mass("16 oz") == parse_mass("1 lb")


# UK Weights and Measures Act 1985, schedule 1, as enacted.
@pytest.mark.parametrize(
    ("text", "volume_ml"),
    [
        ("1 gal", "4546.09"),
        ("1 quart", "1136.5225"),
        ("1 pint", "568.26125"),
        ("1 fl oz", "28.4130625"),
        ("160 fl oz", "4546.09"),
    ],
)
def test_imperial_volumes_are_those_of_the_act(text, volume_ml):
    assert parse_volume(text, "imperial") == Decimal(volume_ml)


def test_imperial_and_us_measures_keep_their_ratio():
    """From the two definitions above."""
    assert IMPERIAL.fl_oz_ml / US.fl_oz_ml == pytest.approx(
        Decimal("0.960759940404"), rel=Decimal("1e-10")
    )
    assert IMPERIAL.gallon_ml / US.gallon_ml == pytest.approx(
        Decimal("1.200949925505"), rel=Decimal("1e-10")
    )


def test_imperial_spoons_follow_their_definition():
    """From memory, no source seen: 5/8 fluid ounce, a third of that, and half a pint."""
    assert IMPERIAL.tbsp_ml == IMPERIAL.fl_oz_ml * 5 / 8 == Decimal("17.7581640625")
    assert abs(IMPERIAL.tsp_ml * 3 - IMPERIAL.tbsp_ml) < Decimal("1e-15")
    assert IMPERIAL.cup_ml == IMPERIAL.pint_ml / 2 == Decimal("284.130625")


def test_pound_per_us_gallon():
    """NIST SP 811, appendix B.8 prints 119.8264 kg/m3 (from memory)."""
    density = parse_mass("1 lb") / parse_volume("1 gal", "us") * 1000
    assert density == pytest.approx(Decimal("119.826427317"), rel=Decimal("1e-9"))


def test_a_thou_and_a_square_foot():
    """NIST SP 811: 0.001 in is 25.4 micrometres and 1 ft2 is 0.09290304 m2 (from memory)."""
    assert parse_length("1 thou") == Decimal("0.0254")
    assert parse_length("1 ft") ** 2 == Decimal("92903.04")


def test_square_feet_per_us_gallon():
    """From the gallon and the foot: 0.0245423867471 m2/L."""
    m2_per_litre = parse_length("1 ft") ** 2 / 1_000_000 / (parse_volume("1 gal", "us") / 1000)
    assert m2_per_litre == pytest.approx(Decimal("0.0245423867471"), rel=Decimal("1e-9"))


def test_a_us_gallon_one_thou_thick_covers_1604_square_feet():
    """231 in3 / 0.001 in / 144 = 9625/6, the coatings handbooks' 1604 ft2."""
    area_ft2 = parse_volume("1 gal", "us") * 1000 / parse_length("1 thou")
    area_ft2 /= parse_length("1 ft") ** 2
    assert area_ft2 == pytest.approx(Decimal(9625) / 6, rel=Decimal("1e-12"))


def test_label_measures_are_not_the_customary_ones():
    """US 21 CFR 101.9(b)(5)(viii) rounds a label's fluid ounce to 30 mL and its ounce to 28 g."""
    assert Decimal(30) / US.fl_oz_ml == pytest.approx(
        Decimal("1.014420681055"), rel=Decimal("1e-9")
    )
    assert Decimal(28) / parse_mass("1 oz") == pytest.approx(
        Decimal("0.987670934588"), rel=Decimal("1e-9")
    )


def test_metric_spoons():
    """Common metric usage (New Zealand, Canada, the UK since metrication)."""
    metric = MEASURES["metric"]
    assert (metric.cup_ml, metric.tbsp_ml, metric.tsp_ml) == (250, 15, 5)


def test_australian_spoons():
    """NSW Health chart of the metric cup and spoon sets of the Standards Association."""
    australian = MEASURES["au"]
    assert (australian.cup_ml, australian.tbsp_ml, australian.tsp_ml) == (250, 20, 5)


# NIST SP 430 and NIST's "Metric Household" page, printed to the digits shown.
@pytest.mark.parametrize(
    ("text", "printed"),
    [
        ("1 tsp", "4.9"),
        ("1 tbsp", "15"),
        ("¼ cup", "59"),
        ("½ cup", "118"),
        ("1 cup", "237"),
        ("1 pint", "473"),
        ("1 quart", "946"),
        ("1 fl oz", "30"),
    ],
)
def test_us_measures_round_to_the_nist_kitchen_table(text, printed):
    step = Decimal(printed).as_tuple().exponent
    volume_ml = parse_volume(text, "us")
    assert volume_ml.quantize(Decimal(1).scaleb(step), ROUND_HALF_UP) == Decimal(printed)


@pytest.mark.parametrize(("unit", "printed"), [("tbsp", "67.6"), ("fl oz", "33.8"), ("qt", "1.06")])
def test_a_litre_in_us_measures_rounds_to_the_nist_kitchen_table(unit, printed):
    count = 1000 / parse_volume(f"1 {unit}", "us")
    assert count.quantize(Decimal(printed), ROUND_HALF_UP) == Decimal(printed)


# What pint 0.25 makes of each text, read from its own registry file and run: the first column is
# typed by a maker, and the last says why pint's reading would have been wrong.
@pytest.mark.parametrize(
    ("text", "measures", "volume_ml", "pint_reads"),
    [
        ("1 cup", "metric", "250", "a US cup in every country"),
        ("1 pint", "imperial", "568.26125", "a US pint in every country"),
        ("1 tbsp", "au", "20", "a US tablespoon in every country"),
        ("1 tsp", "metric", "5", "a US teaspoon in every country"),
        ("1 metric cup", "us", "250", "nothing: it has no metric cup"),
        ("1 imperial tbsp", "us", "17.7581640625", "nothing: it has no imperial tablespoon"),
        ("1 US cup", "imperial", "236.5882365", "nothing: US_cup is undefined"),
        ("8 fl oz", "us", "236.5882365", "femtolitres times ounces"),
        ("5 ML", "us", "5", "megalitres, a thousand million times as much"),
        ("1 Gal", "us", "3785.411784", "an acceleration"),
    ],
)
def test_volumes_that_pint_would_misread(text, measures, volume_ml, pint_reads):
    assert parse_volume(text, measures) == Decimal(volume_ml), pint_reads


@pytest.mark.parametrize(
    ("text", "pint_reads"),
    [
        ("8 oz", "a weight"),
        ("1 T", "a tesla"),
        ("1 t", "a tonne"),
        ("1 c", "the speed of light"),
        ("1 G", "a gauss"),
        ("1 M", "a molar concentration"),
        ("1 cP", "a centipoise, or a cup as cp"),
        ("1 cp", "a cup, or a centipoise as cP"),
        ("5 mil", "an angle"),
        ("5 mils", "an angle"),
        ("1 cu in", "centi-daltons times inches"),
        ("1 in3", "nothing"),
        ("1 cm3", "nothing"),
        ("1 dr", "a weight"),
        ("1 pinch", "a pico-inch"),
        ("9**9**9", "a sum that never ends"),
        ("2 mL * 3", "a product"),
        ("milliliter", "one millilitre"),
    ],
)
def test_volumes_that_pint_would_take_are_refused(text, pint_reads):
    with pytest.raises(UnitsError):
        parse_volume(text, "us")
        pytest.fail(f"read although pint reads {pint_reads}")


def test_an_ounce_is_a_weight_and_never_a_fluid_ounce():
    assert parse_mass("1 oz") == Decimal("28.349523125")
    with pytest.raises(UnitsError, match="write fl oz"):
        parse_volume("1 oz", "us")


def test_thicknesses_that_pint_would_misread():
    """pint takes a mil for an angle of pi/32000 rad; 25.4 micrometres is meant, or a mm."""
    with pytest.raises(UnitsError, match="thou"):
        parse_length("10 mil")
    assert parse_length("10 thou") == Decimal("0.254")


def test_sizes_are_inches_and_feet_of_the_1959_agreement():
    size = parse_size("1 ft x 8 in x 1½ in")
    assert (size.width_mm, size.height_mm, size.depth_mm) == (
        12 * INCH_MM,
        8 * INCH_MM,
        Decimal("1.5") * INCH_MM,
    )
