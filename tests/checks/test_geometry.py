"""Areas, perimeters and films of shapes, worked by hand or found a second way.

The shapes are elementary geometry; the ellipse stands against integration of its arc and against
S. Ramanujan, "Modular equations and approximations to pi", Quart. J. Math. 45 (1914), 350-372.
"""

from math import cos, hypot, inf, nan, pi, sin, sqrt, tan

import pytest
from scipy.integrate import quad

from pricing.estimating import surfaces
from studio.units import parse_size


def film_ml(area_mm2, thickness_mm):
    return area_mm2 * thickness_mm / 1000


def test_a_rectangle_400_by_300_with_a_band_20_deep():
    tray = surfaces.rectangle(400, 300, 20)

    assert film_ml(tray.top_area_mm2, 1) == 120.0
    assert film_ml(tray.side_area_mm2, 1) == 28.0  # 2 (400 + 300) × 20
    assert film_ml(tray.wetted_area_mm2, 1) == 148.0


def test_a_circle_100_across():
    coaster = surfaces.circle(100, 5)

    assert film_ml(coaster.top_area_mm2, 2) == pytest.approx(15.7079633, rel=1e-8)
    assert film_ml(coaster.top_area_mm2, 3) == pytest.approx(23.5619449, rel=1e-8)
    assert film_ml(coaster.side_area_mm2, 1) == pytest.approx(1.5707963, rel=1e-7)
    assert coaster.perimeter_mm == pytest.approx(100 * pi, rel=1e-15)


def test_a_hexagon_of_side_50():
    hexagon = surfaces.regular_polygon(50 * sqrt(3), 6)

    assert hexagon.top_area_mm2 == pytest.approx(6495.190528, rel=1e-9)
    assert hexagon.perimeter_mm == pytest.approx(300, rel=1e-12)
    assert film_ml(hexagon.top_area_mm2, 2) == pytest.approx(12.990381, rel=1e-7)


@pytest.mark.parametrize("sides", range(3, 13))
def test_a_regular_polygon_measures_what_a_ruler_would(sides):
    # Corners on a circle of 80 mm, one of them on top, and a ruler laid from the bottom side up.
    corners = [(80 * sin(2 * pi * k / sides), 80 * cos(2 * pi * k / sides)) for k in range(sides)]
    # From a side up to the corner opposite, or to the side opposite.
    across = 80 * cos(pi / sides) + 80 * (1 if sides % 2 else cos(pi / sides))
    drawn = surfaces.outline(corners)

    made = surfaces.regular_polygon(across, sides)

    assert made.top_area_mm2 == pytest.approx(drawn.top_area_mm2, rel=1e-12)
    assert made.perimeter_mm == pytest.approx(drawn.perimeter_mm, rel=1e-12)


@pytest.mark.parametrize(("name", "sides"), [("triangle", 3), ("pentagon", 5), ("octagon", 8)])
def test_sizes_and_surfaces_mean_the_same_by_across_flats(name, sides):
    size = parse_size(f"100 mm {name}")
    drawn = surfaces.regular_polygon(float(size.width_mm), size.sides)

    # The apothem is the area over half the perimeter; the corner of an odd one lies opposite.
    apothem = 2 * drawn.top_area_mm2 / drawn.perimeter_mm
    assert size.sides == sides
    if sides % 2:
        assert apothem + apothem / cos(pi / sides) == pytest.approx(100, rel=1e-12)
    else:
        assert 2 * apothem == pytest.approx(100, rel=1e-12)


def test_an_oval_150_by_100():
    tray = surfaces.oval(150, 100)

    assert tray.top_area_mm2 == pytest.approx(11780.972451, rel=1e-10)
    assert film_ml(tray.top_area_mm2, 1) == pytest.approx(11.780972, rel=1e-7)


@pytest.mark.parametrize(
    ("half_axes", "perimeter"), [((3, 2), 15.865439589), ((10, 1), 40.639741801)]
)
def test_the_perimeter_of_an_oval(half_axes, perimeter):
    width, height = (2 * axis for axis in half_axes)

    assert surfaces.oval(width, height).perimeter_mm == pytest.approx(perimeter, rel=1e-10)
    assert surfaces.oval(height, width).perimeter_mm == pytest.approx(perimeter, rel=1e-10)


def ramanujan(a, b):
    h = ((a - b) / (a + b)) ** 2
    return pi * (a + b) * (1 + 3 * h / (10 + sqrt(4 - 3 * h)))


@pytest.mark.parametrize("ratio", [1.0, 1.01, 1.5, 2, 5, 10, 100])
def test_the_perimeter_of_an_oval_is_its_arc_integrated(ratio):
    a, b = 100.0, 100.0 / ratio
    quarter, _ = quad(lambda t: hypot(a * sin(t), b * cos(t)), 0, pi / 2, epsabs=0, epsrel=1e-12)

    perimeter = surfaces.oval(2 * a, 2 * b).perimeter_mm

    assert perimeter == pytest.approx(4 * quarter, rel=1e-11)
    # Ramanujan's second approximation is never too long, and short by 0.041 % at most.
    assert 0 <= 1 - ramanujan(a, b) / perimeter + 1e-14 < 4.1e-4


def test_ramanujan_is_out_by_twelve_in_a_million_for_an_oval_of_ten_to_one():
    assert ramanujan(10, 1) == pytest.approx(40.639272100, rel=1e-10)
    assert surfaces.oval(20, 2).perimeter_mm / ramanujan(10, 1) - 1 == pytest.approx(
        1.16e-5, rel=0.01
    )


def test_a_ring_is_a_circle_less_a_circle_and_has_two_edges():
    ring = surfaces.ring(300, 200, 10)
    outer, hole = surfaces.circle(300, 10), surfaces.circle(200, 10)

    assert ring.top_area_mm2 == pytest.approx(outer.top_area_mm2 - hole.top_area_mm2, rel=1e-14)
    assert ring.side_area_mm2 == pytest.approx(outer.side_area_mm2 + hole.side_area_mm2, rel=1e-14)


def test_an_8_by_8_in_canvas_has_three_quarters_of_its_face_in_its_sides():
    canvas = surfaces.rectangle(8 * 25.4, 8 * 25.4, 1.5 * 25.4)

    assert canvas.top_area_mm2 / 25.4**2 == pytest.approx(64, rel=1e-14)
    assert canvas.side_area_mm2 / 25.4**2 == pytest.approx(48, rel=1e-14)


def test_a_bevel_takes_its_width_from_every_edge():
    # Rectangle: both sides twice; circle: the radius; hexagon: the apothem; ring: both edges.
    assert surfaces.rectangle(100, 80, inset_mm=5).flat_area_mm2 == 90 * 70
    assert surfaces.circle(100, inset_mm=5).flat_area_mm2 == pytest.approx(pi * 45**2)
    hexagon = surfaces.regular_polygon(100, 6, inset_mm=5)
    assert hexagon.flat_area_mm2 == pytest.approx(6 * 45**2 * tan(pi / 6))
    ring = surfaces.ring(300, 200, inset_mm=5)
    assert ring.flat_area_mm2 == pytest.approx(pi * (145**2 - 105**2))
    assert surfaces.oval(150, 100, inset_mm=5).flat_area_mm2 == pytest.approx(pi * 70 * 45)
    assert surfaces.rectangle(100, 80).flat_area_mm2 == 8000


@pytest.mark.parametrize("wrong", [0, -1, nan, inf, -inf, 1e9, "wide", None, 10**400])
def test_a_length_that_cannot_be_is_refused_in_words(wrong):
    for draw in (
        lambda: surfaces.rectangle(wrong, 100),
        lambda: surfaces.rectangle(100, wrong),
        lambda: surfaces.circle(wrong),
        lambda: surfaces.oval(100, wrong),
        lambda: surfaces.regular_polygon(wrong, 6),
        lambda: surfaces.ring(wrong, 50),
        lambda: surfaces.ring(100, wrong),
    ):
        with pytest.raises(surfaces.SurfaceError, match=r"^The .* in millimetres\.$"):
            draw()
