"""Reading and writing the size of a piece."""

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from studio.units import ParsedSize, UnitsError, format_size, parse_size


def rectangle(width, height, depth=0):
    return ParsedSize("rectangle", Decimal(width), Decimal(height), Decimal(depth))


def circle(width, depth=0):
    return ParsedSize("circle", Decimal(width), Decimal(width), Decimal(depth))


def oval(width, height, depth=0):
    return ParsedSize("oval", Decimal(width), Decimal(height), Decimal(depth))


def polygon(width, sides, depth=0):
    return ParsedSize("polygon", Decimal(width), Decimal(width), Decimal(depth), sides=sides)


def ring(width, inner, depth=0):
    return ParsedSize(
        "ring", Decimal(width), Decimal(width), Decimal(depth), inner_mm=Decimal(inner)
    )


@pytest.mark.parametrize(
    ("text", "size"),
    [
        ("8x8x1.5in", rectangle("203.2", "203.2", "38.1")),
        ("8 x 8 x 1½ in", rectangle("203.2", "203.2", "38.1")),
        ("8 X 8 X 1 1/2 IN", rectangle("203.2", "203.2", "38.1")),
        ("8×8 in", rectangle("203.2", "203.2")),
        ("8*8 in", rectangle("203.2", "203.2")),
        ("8 by 10 inches", rectangle("203.2", "254")),
        ("10 × 10 cm", rectangle("100", "100")),
        ("10,5 x 10,5 cm", rectangle("105", "105")),
        ("20x20x1.5 cm", rectangle("200", "200", "15")),
        ("8in x 10in x 38mm", rectangle("203.2", "254", "38")),
        ("8inx10inx38mm", rectangle("203.2", "254", "38")),
        ("8 x 10 in x 38 mm", rectangle("203.2", "254", "38")),
        ("8in x 10", rectangle("203.2", "254")),
        ('8" x 10"', rectangle("203.2", "254")),
        ("8” × 10”", rectangle("203.2", "254")),
        ("8'' x 10''", rectangle("203.2", "254")),
        ("1' 6\" x 2'", rectangle("457.2", "609.6")),
        ("1 ft 6 in x 2 ft", rectangle("457.2", "609.6")),
        ("8 x 8 in, 1.5 in deep", rectangle("203.2", "203.2", "38.1")),
        ("8 x 8 in canvas", rectangle("203.2", "203.2")),
        ("4 in square", rectangle("101.6", "101.6")),
        ("4 in square tile", rectangle("101.6", "101.6")),
        ("1 x 1 m", rectangle("1000", "1000")),
        ("4 in round", circle("101.6")),
        ("100mm circle", circle("100")),
        ("round 4 in", circle("101.6")),
        ("ø 10 cm", circle("100")),
        ("4 in round, 1/4 in deep", circle("101.6", "6.35")),
        ("4 in round 6 mm thick", circle("101.6", "6")),
        ("150 x 100 mm oval", oval("150", "100")),
        ("150 x 100 x 20 mm oval", oval("150", "100", "20")),
        ("4in hexagon", polygon("101.6", 6)),
        ("4 in across flats hexagon", polygon("101.6", 6)),
        ("4 in 6-sided polygon", polygon("101.6", 6)),
        ("8-sided 20 cm, 2 cm deep", polygon("200", 8, "20")),
        ("30/20 cm ring", ring("300", "200")),
        ("30 cm ring 20 cm hole", ring("300", "200")),
        ("ring 30 / 20 cm, 2 cm deep", ring("300", "200", "20")),
        ("1/2 in ring, 1/4 in hole", ring("12.7", "6.35")),
        ("１０×１０ｃｍ", rectangle("100", "100")),
    ],
)
def test_size_is_read_as_a_maker_writes_it(text, size):
    assert parse_size(text) == size


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "Nothing was given"),
        ("8x8", "Say which unit"),
        ("8 8 in", "Put × between"),
        ("8 x 8 in 1.5 in", "Put × between"),
        ("8in x 10 x 38mm", "every number its unit"),
        ("4 in", "a width and a height, or a shape"),
        ("4 in wide", "a width and a height, or a shape"),
        ("in", "no number before it"),
        ("round", "no number in it"),
        ("8 x", "missing beside the ×"),
        ("x 8 in", "missing beside the ×"),
        ("8 x x 8 in", "missing beside the ×"),
        ("8 x 8 x 8 x 8 in", "more numbers"),
        ("0 x 8 in", "5 mm to 5 m"),
        ("8 x 8 x 0 in", "0.5 mm to 300 mm"),
        ("8 x 8 x 13 in", "0.5 mm to 300 mm"),
        ("4 x 4 mm", "5 mm to 5 m"),
        ("5.1 x 1 m", "5 mm to 5 m"),
        ("-8 x 8 in", "negative number"),
        ("8 x -8 in", "negative number"),
        ("1e9 x 8 in", "without an exponent"),
        ("nan x nan in", "not a unit or shape"),
        ("inf x inf in", "not a unit or shape"),
        ("8 x 8 ml", "“ml” is a volume"),
        ("8 x 8 mil", "write mL, mm or thou"),
        ("100 x 20 mm round", "one width"),
        ("4 in round hexagon", "one shape only"),
        ("5-sided 4 in hexagon", "one shape only"),
        ("4 in polygon", "how many sides"),
        ("2-sided 4 in", "3 to 24 sides"),
        ("20 x 10 cm square", "sides are equal"),
        ("20/30 cm ring", "width and its hole"),
        ("20 cm ring 30 cm hole", "smaller than the ring"),
        ("30 cm ring", "width and its hole"),
        ("8 x 8 in 20 mm hole", "more numbers"),
        ("8 x 8 in deep", "width and a height"),
        ("big", "not a unit or shape"),
        ("8;8 in", "cannot be read"),
        ("8" * 70, "longer than 60"),
        ("1,200 x 800 mm", "could be 1200 or 1.200"),
    ],
)
def test_size_refuses_in_one_sentence(text, says):
    with pytest.raises(UnitsError, match=says) as refusal:
        parse_size(text)

    assert str(refusal.value).endswith(".")


@pytest.mark.parametrize(
    ("text", "inches", "centimetres"),
    [
        ("8x8x1.5in", "8 × 8 × 1½ in", "20.32 × 20.32 × 3.81 cm"),
        ("10 x 10 cm", "3 15/16 × 3 15/16 in", "10 × 10 cm"),
        ("8in x 10in x 38mm", "8 × 10 × 1½ in", "20.32 × 25.4 × 3.8 cm"),
        ("4 in round, ¼ in deep", "4 in round, ¼ in deep", "10.16 cm round, 0.635 cm deep"),
        ("150 x 100 mm oval", "5.91 × 3 15/16 in oval", "15 × 10 cm oval"),
        ("4 in hexagon", "4 in hexagon", "10.16 cm hexagon"),
        ("4 in 11-sided polygon", "4 in 11-sided polygon", "10.16 cm 11-sided polygon"),
        ("30/20 cm ring", "11 13/16 in ring, 7⅞ in hole", "30 cm ring, 20 cm hole"),
    ],
)
def test_size_is_written_in_the_studios_units(text, inches, centimetres):
    assert format_size(parse_size(text), "in") == inches
    assert format_size(parse_size(text), "cm") == centimetres


def test_plain_dimensions_are_written_as_a_rectangle():
    assert format_size((100, 150), "cm") == "10 × 15 cm"
    assert format_size((Decimal("203.2"), Decimal("203.2"), Decimal("38.1")), "in") == (
        "8 × 8 × 1½ in"
    )


def test_an_unknown_system_is_refused():
    with pytest.raises(UnitsError, match="in, cm, mm"):
        format_size((100, 100), "miles")


@st.composite
def sizes(draw, step):
    """Sizes whose dimensions are multiples of a step in mm."""

    def dimension(low, high):
        return draw(st.integers(int(low / step) + 1, int(high / step))) * step

    depth = draw(st.sampled_from([Decimal(0), dimension(Decimal("0.5"), Decimal(300))]))
    shape = draw(st.sampled_from(["rectangle", "circle", "oval", "polygon", "ring"]))
    width = dimension(Decimal(10), Decimal(5000))
    if shape in ("rectangle", "oval"):
        return ParsedSize(shape, width, dimension(Decimal(5), Decimal(5000)), depth)
    if shape == "polygon":
        return ParsedSize(shape, width, width, depth, sides=draw(st.integers(3, 24)))
    if shape == "ring":
        # A rim thinner than the rounding of both diameters would vanish.
        return ring(width, dimension(Decimal(5), width - max(step, Decimal("0.3"))), depth)
    return circle(width, depth)


def differences(first, second):
    """How far apart two sizes are in each dimension, [mm]; they must agree in the rest."""
    names = ["width_mm", "height_mm", "depth_mm", "inner_mm"]
    assert replace(first, **{name: getattr(second, name) for name in names}) == second
    return [abs((getattr(first, name) or 0) - (getattr(second, name) or 0)) for name in names]


@given(sizes(Decimal("0.1")))
def test_tenths_of_a_millimetre_read_back_exactly(size):
    assert parse_size(format_size(size, "cm")) == size
    assert parse_size(format_size(size, "mm")) == size


@given(sizes(Decimal("25.4") / 8))
def test_eighths_of_an_inch_read_back_exactly(size):
    assert max(differences(parse_size(format_size(size, "in")), size)) <= Decimal("0.0005")


@given(sizes(Decimal("0.1")))
def test_any_size_in_inches_reads_back_within_its_bound(size):
    assert max(differences(parse_size(format_size(size, "in")), size)) <= Decimal("0.13")


@pytest.mark.parametrize(
    ("text", "unit", "same"),
    [
        ("8x8", "in", "8 × 8 in"),
        ("8 x 8 x 1½", "in", "8 × 8 × 1½ in"),
        ("10 x 10", "cm", "10 × 10 cm"),
        ("20 round", "cm", "20 cm round"),
        ("6 hexagon", "in", "6 in hexagon"),
        ("30/20 ring", "cm", "30/20 cm ring"),
        ("8in x 8", "cm", "8 × 8 in"),  # a unit that is named counts for all
        ("8x8 cm", "in", "8 × 8 cm"),
        ("4 inch tile", "cm", "4 × 4 in"),
        ("4 tile", "in", "4 × 4 in"),
        ("100 mm coaster", "in", "100 × 100 mm"),
        ("8 x 10 canvas", "in", "8 × 10 in"),
        ("4 in round tile", "in", "4 in round"),
    ],
)
def test_a_size_without_a_unit_is_in_the_studios_own(text, unit, same):
    assert parse_size(text, unit) == parse_size(same)


@pytest.mark.parametrize("text", ["8x8", "4 tile", "20 round"])
def test_without_a_studio_a_unit_is_asked_for(text):
    with pytest.raises(UnitsError, match="Say which unit"):
        parse_size(text)


def test_one_number_alone_is_no_size():
    with pytest.raises(UnitsError, match="Give a width and a height"):
        parse_size("8", "in")
