"""Outlines beside shapely, curves beside their integrals, and every refusal a sentence."""

from math import cos, hypot, inf, nan, pi, sin, tan

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from shapely.geometry import Polygon

from pricing.estimating import surfaces
from pricing.estimating.surfaces.outlines import FLATNESS_MM

SENTENCE = r"^[A-Z“].*\.$"
dots = st.tuples(st.integers(0, 6), st.integers(0, 6))


@st.composite
def stars(draw):
    """Corners around a middle at rising angles: always simple, rarely convex."""
    count = draw(st.integers(3, 12))
    radii = draw(st.lists(st.floats(20, 300), min_size=count, max_size=count))
    turn = draw(st.floats(0, 6))
    angles = [turn + 2 * pi * k / count for k in range(count)]
    return [(r * cos(a), r * sin(a)) for r, a in zip(radii, angles, strict=True)]


@settings(deadline=None, max_examples=50)
@given(stars(), st.floats(-4000, 4000))
def test_area_and_perimeter_of_any_outline_equal_shapelys(corners, away):
    moved = [(x + away, y - away) for x, y in corners]
    shape = Polygon(moved)
    assume(shape.area > 1)

    drawn = surfaces.outline(moved)

    assert drawn.top_area_mm2 == pytest.approx(shape.area, rel=1e-9)
    assert drawn.perimeter_mm == pytest.approx(shape.length, rel=1e-12)


@settings(deadline=None, max_examples=200)
@given(st.lists(dots, min_size=3, max_size=7))
def test_an_outline_is_refused_exactly_where_shapely_finds_it_invalid(corners):
    shape = Polygon(corners)

    if shape.is_valid and shape.area > 0:
        assert surfaces.outline(corners).top_area_mm2 == pytest.approx(shape.area)
    else:
        with pytest.raises(surfaces.SurfaceError, match=SENTENCE):
            surfaces.outline(corners)


@settings(deadline=None, max_examples=50)
@given(st.lists(st.tuples(st.floats(0, 300), st.floats(0, 300)), min_size=4, max_size=9))
def test_the_bevel_of_a_convex_outline_is_exact_until_it_takes_an_edge(points):
    hull = Polygon(points).convex_hull
    assume(hull.area > 5000)
    corners = list(hull.exterior.coords)[:-1]
    inside = hull.buffer(-2, join_style="mitre", mitre_limit=1e6)
    assume(len(inside.exterior.coords) == len(corners) + 1)

    drawn = surfaces.outline(corners, inset_mm=2)

    assert drawn.flat_area_mm2 == pytest.approx(inside.area, rel=1e-6)


@pytest.mark.parametrize("mirrored", [False, True])
def test_the_bevel_of_an_l_shape_is_exact_around_its_inner_corner(mirrored):
    corners = [(0, 0), (200, 0), (200, 100), (100, 100), (100, 200), (0, 200)]
    if mirrored:
        corners.reverse()

    drawn = surfaces.outline(corners, inset_mm=10)

    # Two arms 80 wide: 180 × 80 and 80 × 100.
    assert drawn.flat_area_mm2 == pytest.approx(180 * 80 + 80 * 100, rel=1e-12)


@pytest.mark.parametrize("bevel", [50, 51, 80, 100, 500])
def test_a_bevel_of_half_the_width_or_more_leaves_no_flat_face(bevel):
    square = [(0, 0), (100, 0), (100, 100), (0, 100)]

    for draw in (
        lambda: surfaces.outline(square, inset_mm=bevel),
        lambda: surfaces.rectangle(100, 100, inset_mm=bevel),
        lambda: surfaces.circle(100, inset_mm=bevel),
        lambda: surfaces.oval(100, 100, inset_mm=bevel),
        lambda: surfaces.regular_polygon(100, 8, inset_mm=bevel),
        lambda: surfaces.ring(200, 100, inset_mm=bevel),
    ):
        with pytest.raises(surfaces.SurfaceError, match="less than half the width"):
            draw()


def cubic(t):
    """Speed along M 0 0 C 0 100 100 100 100 0."""
    return hypot(100 * 6 * t * (1 - t), 300 * (1 - 2 * t))


ARCS = "M 0 0 A 150 150 0 0 1 300 0 A 150 150 0 0 1 0 0 Z"
OVAL = "M 0 100 a 150 100 0 1 1 300 0 a 150 100 0 1 1 -300 0 z"
TURNED = "M 0 0 A 150 100 30 1 1 1e-9 0.001 Z"
# Half discs of 20 mm at both ends of a bar of 160 × 40.
BAR = "M 20 0 h 160 a 20 20 0 0 1 0 40 h -160 a 20 20 0 0 1 0 -40 z"


@pytest.mark.parametrize(
    ("path", "area", "perimeter"),
    [
        ("M 0 0 L 200 0 L 200 100 L 0 100 Z", 20000, 600),
        ("m 0,0 h 200 v 100 h -200 z", 20000, 600),
        ("M 0 0 H 200 V 100 H 0", 20000, 600),  # closed without being told
        (ARCS, pi * 150**2, 300 * pi),
        (OVAL, pi * 150 * 100, surfaces.oval(300, 200).perimeter_mm),
        (TURNED, pi * 150 * 100, surfaces.oval(300, 200).perimeter_mm),
        (BAR, 160 * 40 + pi * 20**2, 2 * 160 + 40 * pi),
        # Between a parabola 50 high and its chord of 100: two thirds of the box.
        ("M 0 0 Q 50 100 100 0 Z", 2 / 3 * 100 * 50, None),
        # ∫ y dx of the cubic: 100² × 3/5.
        ("M 0 0 C 0 100 100 100 100 0 Z", 6000, quad(cubic, 0, 1)[0] + 100),
    ],
)
def test_an_svg_path_is_right_within_the_stated_error(path, area, perimeter):
    drawn = surfaces.outline(path)

    assert abs(drawn.top_area_mm2 - area) < FLATNESS_MM * drawn.perimeter_mm + 1e-9 * area
    if perimeter:
        # Curves no tighter than 20 mm: short by less than 0.02 / 20 of themselves.
        assert -1e-3 * perimeter < drawn.perimeter_mm - perimeter < 1e-9 * perimeter


@pytest.mark.parametrize("radius", [5, 20, 100, 500, 2000])
def test_a_drawn_circle_nears_the_circle_as_stated(radius):
    drawn = surfaces.outline(
        f"M 0 0 a {radius} {radius} 0 0 1 {2 * radius} 0"
        f" a {radius} {radius} 0 0 1 {-2 * radius} 0 z"
    )
    circle = surfaces.circle(2 * radius)

    short = 1 - drawn.perimeter_mm / circle.perimeter_mm
    assert 0 < circle.top_area_mm2 - drawn.top_area_mm2 < FLATNESS_MM * circle.perimeter_mm
    assert 0 < short < 0.02 / radius


def test_points_as_text_or_as_numbers_give_the_same():
    corners = [(0, 0), (200, 0), (200, 100.5), (-10, 90)]
    text = "0,0 200,0; 200 , 100.5 -10,90"

    drawn = surfaces.outline(corners)
    assert surfaces.outline(text) == drawn
    for other in ([*corners, corners[0]], [corners[0], *corners], corners[::-1]):
        again = surfaces.outline(other)
        assert again.top_area_mm2 == pytest.approx(drawn.top_area_mm2, rel=1e-12)
        assert again.perimeter_mm == pytest.approx(drawn.perimeter_mm, rel=1e-12)


@pytest.mark.parametrize(
    ("drawing", "why"),
    [
        ("", "at least three"),
        ("0,0 100,0", "at least three"),
        ("0,0 100,0 0,0 0,0", "at least three|crosses itself"),
        ("M 0 0 L 100 0", "at least three"),
        ("0,0 100,100 100,0 0,100", "crosses itself"),
        ("M 0 0 L 100 100 L 100 0 L 0 100 Z", "crosses itself"),
        ("0,0 100,0 50,0 50,50", "crosses itself"),  # doubles back
        ("0,0 100,0 100,100 50,0", "crosses itself"),  # touches its first edge
        ("M 0 0 L 50 0 L 50 50 Z M 60 0 L 90 0 L 90 30 Z", "one closed line"),
        ("0,0 50,0 100,0", "no area|crosses itself"),
        ("a square", "An outline is points such as"),
        ("0,0 100,0 100", "An outline is points such as"),
        ("nan,0 100,0 100,100", "An outline is points such as"),
        ([(0, 0), (100, 0), (nan, 100)], "Points of an outline"),
        ([(0, 0), (100, 0), (inf, 100)], "Points of an outline"),
        ([(0, 0), (100, 0), (100, 1e6)], "Points of an outline"),
        ("M 0 0 L 1e400 0 L 100 100 Z", "Points of an outline"),
        ("M 0 0 C 1e308 1e308 -1e308 1e308 3 3 Z", "at most"),
        ([(0, 0), (100,), (100, 100)], "two numbers"),
        ([(0, 0), ("wide", 0), (100, 100)], "two numbers"),
        ([1, 2, 3], "two numbers"),
        (7, "two numbers"),
        ([(cos(k), sin(k)) for k in range(6000)], "at most"),
        ("0,0 " * 6000, "at most"),
        ("M 0 0 " + "C 0 9 9 9 9 0 " * 900, "at most"),
    ],
)
def test_what_is_no_outline_is_refused_in_words(drawing, why):
    with pytest.raises(surfaces.SurfaceError, match=why) as refusal:
        surfaces.outline(drawing)

    assert str(refusal.value)[0].isupper() or str(refusal.value)[0] == "“"
    assert str(refusal.value).endswith(".")


@settings(deadline=None, max_examples=150)
@given(st.text(alphabet="MLHVCSQTAZmlcqaz0123456789.,- e", max_size=40))
def test_whatever_is_typed_is_a_surface_or_a_sentence(text):
    try:
        drawn = surfaces.outline("M 0 0 " + text)
    except surfaces.SurfaceError as refusal:
        assert str(refusal).endswith(".")
    else:
        assert 0 < drawn.top_area_mm2 < inf


@pytest.mark.parametrize(
    ("painted", "length"),
    [
        ("all", 600),
        ("none", 0),
        ("top", 200),
        ("left", 100),
        ("top, left", 300),
        ("bottom,top,top", 400),
        (["right", "left"], 200),
        (0.25, 150),
        (1, 600),
    ],
)
def test_only_painted_sides_take_paint(painted, length):
    canvas = surfaces.rectangle(200, 100, 30, painted_sides=painted)

    assert canvas.side_area_mm2 == pytest.approx(length * 30)
    assert canvas.wetted_area_mm2 == pytest.approx(20000 + length * 30)
    assert canvas.perimeter_mm == 600


@pytest.mark.parametrize("painted", ["front", "", "top, front", -0.1, 1.1, nan, True, None, {}])
def test_sides_that_are_none_are_refused_in_words(painted):
    if painted != {}:
        with pytest.raises(surfaces.SurfaceError, match=SENTENCE):
            surfaces.rectangle(200, 100, 30, painted_sides=painted)
    with pytest.raises(surfaces.SurfaceError, match=SENTENCE):
        surfaces.circle(200, 30, painted_sides=painted)


@pytest.mark.parametrize("sides", [2, 61, 0, -6, 5.5, nan, inf, "six", None])
def test_a_regular_polygon_has_3_to_60_sides(sides):
    with pytest.raises(surfaces.SurfaceError, match="3 to 60 sides"):
        surfaces.regular_polygon(100, sides)


@pytest.mark.parametrize("depth", [-1, nan, inf, "deep"])
def test_a_depth_or_bevel_that_cannot_be_is_refused(depth):
    with pytest.raises(surfaces.SurfaceError, match="depth"):
        surfaces.circle(100, depth)
    with pytest.raises(surfaces.SurfaceError, match="bevel"):
        surfaces.circle(100, inset_mm=depth)


@pytest.mark.parametrize("hole", [100, 120])
def test_a_ring_is_wider_than_its_hole(hole):
    with pytest.raises(surfaces.SurfaceError, match="smaller than the ring"):
        surfaces.ring(100, hole)


LENGTHS = st.floats(5, 800)


@given(LENGTHS, LENGTHS, st.floats(0, 100), st.floats(1.0001, 3))
def test_every_dimension_adds_to_what_has_to_be_wetted(width, height, depth, more):
    for shape in (surfaces.rectangle, surfaces.oval):
        area = shape(width, height, depth).wetted_area_mm2
        assert shape(width * more, height, depth).wetted_area_mm2 > area
        assert shape(width, height * more, depth).wetted_area_mm2 > area
        assert shape(width, height, (depth + 1) * more).wetted_area_mm2 > area


@given(LENGTHS, st.integers(3, 60), st.floats(0.5, 4))
def test_shapes_scale_with_the_drawing(width, sides, more):
    for draw in (
        lambda size: surfaces.circle(size, size / 9),
        lambda size: surfaces.regular_polygon(size, sides, size / 9),
        lambda size: surfaces.ring(size, size / 3, size / 9),
        lambda size: surfaces.oval(size, size / 7, size / 9),
    ):
        small, large = draw(width), draw(width * more)
        assert large.wetted_area_mm2 == pytest.approx(more**2 * small.wetted_area_mm2)
        assert large.perimeter_mm == pytest.approx(more * small.perimeter_mm)
        assert large.radius_mm == pytest.approx(more * small.radius_mm)


def test_a_polygon_of_many_sides_nears_the_circle():
    sixty, circle = surfaces.regular_polygon(100, 60), surfaces.circle(100)

    assert sixty.top_area_mm2 / circle.top_area_mm2 == pytest.approx(60 * tan(pi / 60) / pi)
