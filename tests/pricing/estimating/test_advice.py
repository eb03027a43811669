"""Advice: the number computed, the limit it is held against, and whose limit it is."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pricing.estimating import advice
from pricing.estimating.advice import Advice, AdviceError

TILE_MM2 = 101.6**2 + 4 * 101.6 * 6.35  # 4 x 4 in, 1/4 in thick, face and sides
CANVAS_MM2 = 112 * 645.16  # 8 x 8 in, 1.5 in deep: 64 + 48 square inches


def test_film_is_volume_over_area():
    assert advice.film_mm(Decimal(120), Decimal(120_000)) == 1
    # The published rule of 25 square inches to the fluid ounce is 1.83 mm.
    assert advice.film_mm(29.5735295625 / 25, 645.16) == pytest.approx(1.8336, abs=1e-4)


# Published by paint makers: 1/16 in (1.5 mm) and more crazes with ordinary mediums, pouring mediums
# stay whole up to 1/8 in (3 mm).
@pytest.mark.parametrize(
    ("film", "medium", "severity"),
    [
        (1.4, "ordinary", "fine"),
        (1.5, "ordinary", "caution"),
        (1.6, "ordinary", "caution"),
        (1.6, "pouring", "fine"),
        (3.0, "pouring", "fine"),
        (3.1, "pouring", "caution"),
        (3.0, "anti-craze", "fine"),
        (3.1, "anti-craze", "caution"),
    ],
)
def test_crazing_follows_the_paint_makers_limits(film, medium, severity):
    judged = advice.crazing(film * 10, 10_000, medium=medium)

    assert judged.severity == severity
    assert judged.computed == pytest.approx(film)
    assert judged.limit == {"ordinary": 1.5, "pouring": 3.0, "anti-craze": 3.0}[medium]
    assert "without crazing" not in judged.sentence


def test_what_was_advised_is_worth_a_note_with_a_way_out_and_no_warning():
    judged = advice.crazing(18, 10_000, medium="ordinary", as_advised=True)

    assert (judged.severity, judged.is_warning, judged.is_note) == ("note", False, True)
    assert "from 1.5 mm" in judged.sentence and "as much pouring medium" in judged.sentence
    assert not advice.crazing(14, 10_000, medium="ordinary", as_advised=True).is_note
    assert judged.source == "paint makers' published guidance"


def test_sides_drain_and_the_face_keeps_the_rest():
    # 100 cm² of face and 50 cm² of sides: 30 mL would be 2 mm all over; the sides keep 0.775 mm,
    # 0.5 mL a square inch, and 30 - 3.875 mL are left on the face.
    film = advice.face_film_mm(30, 10_000, 5_000)

    assert film == pytest.approx(3 - 0.3875, abs=1e-4)
    assert advice.face_film_mm(30, 10_000) == 3
    assert advice.face_film_mm(9, 10_000, 5_000) == pytest.approx(0.6)  # none to drain


def test_what_must_run_off_leaves_the_limit():
    # 60 mL on 100 cm² are 6 mm, and 3 mm may stay.
    judged = advice.let_run_off(60, 10_000)
    assert "at least 50 %" in judged.sentence
    assert (judged.severity, judged.computed, judged.limit) == ("fine", 6, 3)
    assert "All of it may stay" in advice.let_run_off(29, 10_000).sentence
    # 68.2 mL on 100 cm² without a pouring medium: 1.5 mm may stay, 78 % would have to go.
    ordinary = advice.let_run_off(68.2, 10_000, medium="ordinary")
    assert ordinary.sentence.startswith("78 % of the paint would have to run off")
    assert "hardly any pour sheds that much. Mix in as much pouring medium" in ordinary.sentence
    assert "pouring medium" not in advice.let_run_off(61, 10_000).sentence
    sides = advice.let_run_off(60, 10_000, 5_000)
    left = 60 * (1 - float(sides.sentence.split()[3]) / 100)
    assert advice.face_film_mm(left, 10_000, 5_000) == pytest.approx(3, abs=0.05)


# Common practice, no source: a bloom on an 8 in canvas takes 2 cups in all, 4 to 5 tbsp of it
# colours; on a 4 in tile 1.5 tbsp of base under 0.5 to 1 tbsp of colours. Both hold together.
@pytest.mark.parametrize(("colours_tbsp", "base_tbsp"), [(4.5, 32 - 4.5), (0.5, 1.5), (1, 1.5)])
def test_blooms_of_common_practice_have_colour_enough(colours_tbsp, base_tbsp):
    assert not advice.thin_colours(colours_tbsp * 15, base_tbsp * 15).is_warning


def test_two_spoons_of_colour_on_two_cups_of_base_are_too_thin():
    judged = advice.thin_colours(30, 473)
    assert (judged.severity, judged.source) == ("caution", "common practice, no source")
    assert judged.computed == pytest.approx(0.0634, abs=1e-4)


def test_too_little_paint_leaves_the_sides_bare():
    # 0.5 mL a square inch over 112 square inches.
    judged = advice.short_of_sides(50, CANVAS_MM2)
    assert judged.limit == pytest.approx(56)
    assert judged.is_warning
    assert not advice.short_of_sides(57, CANVAS_MM2).is_warning


def test_a_tile_poured_by_common_practice_reaches_its_sides():
    # 1.5 tbsp of base and 0.5 tbsp of colours: common practice, no source.
    assert not advice.short_of_sides(2 * 15, TILE_MM2).is_warning


def test_silicone_is_named():
    judged = advice.silicone_under_topcoat(["Cell oil", "Black mix"])
    assert judged.sentence.startswith("Cell oil, Black mix contain silicone")
    assert (judged.computed, judged.limit) == (2, 0)
    assert not advice.silicone_under_topcoat([]).is_warning


@pytest.mark.parametrize(
    ("measured", "severity", "word"),
    [(3, "fine", "close"), (3.6, "fine", "close"), (2, "caution", "thin"), (4, "caution", "thick")],
)
def test_trace_is_held_against_its_target(measured, severity, word):
    judged = advice.off_trace(measured, 3)
    assert judged.severity == severity
    assert word in judged.sentence


def test_sizes_outside_what_was_measured_are_said():
    assert "smaller than any" in advice.outside_measured(40, 60, 250).sentence
    assert "larger than any" in advice.outside_measured(260, 60, 250).sentence
    assert not advice.outside_measured(60, 60, 250).is_warning


# Drying: published advice runs from 3 days to 4 weeks, thickness deciding. The rule: 3 days before
# moving, a week before resin on thin pours, 2 to 4 weeks on thick ones.
def test_days_to_dry_by_thickness():
    table = {
        stage: [advice.days_to_dry(film, stage) for film in (1.5, 3.0, 3.1)]
        for stage in ("move", "resin", "varnish", "cure")
    }
    assert table == {
        "move": [3, 3, 7],
        "resin": [7, 14, 28],
        "varnish": [14, 28, 28],
        "cure": [28, 28, 42],
    }


@given(st.floats(0, 20), st.floats(0, 20))
def test_thicker_never_dries_sooner(one, other):
    thin, thick = sorted((one, other))
    for stage in ("move", "resin", "varnish", "cure"):
        assert advice.days_to_dry(thin, stage) <= advice.days_to_dry(thick, stage)


@pytest.mark.parametrize(
    ("days", "severity"), [(2, "stop"), (3, "caution"), (13.9, "caution"), (14, "fine")]
)
def test_resin_on_a_two_millimetre_pour_waits_two_weeks(days, severity):
    judged = advice.early_topcoat(days, 2)
    assert (judged.severity, judged.limit) == (severity, 14)


# Epoxy makers' published guidance: 15 C or less fails; most ask for 21 to 29 C (70 to 85 F).
@pytest.mark.parametrize(
    ("room_c", "severity"),
    [
        (15, "stop"),
        (15.5, "caution"),
        (18, "caution"),
        (20.9, "caution"),
        (21, "fine"),
        (29, "fine"),
        (30, "caution"),
    ],
)
def test_resin_needs_a_warm_room(room_c, severity):
    assert advice.resin_temperature(room_c).severity == severity


# Epoxy makers' published guidance: 60 % or less; 70 to 80 % is bad; under 80 % is workable.
@pytest.mark.parametrize(
    ("humidity", "severity"), [(60, "fine"), (61, "caution"), (80, "caution"), (81, "stop")]
)
def test_resin_needs_dry_air(humidity, severity):
    assert advice.resin_humidity(humidity).severity == severity


def test_warnings_keep_what_needs_doing_the_gravest_first():
    findings = [
        advice.resin_humidity(50),
        advice.resin_humidity(70),
        advice.early_topcoat(1, 2),
        advice.crazing(50, 10_000),
    ]
    kept = advice.warnings(findings)
    assert [finding.code for finding in kept] == ["early-topcoat", "resin-humidity", "crazing"]


EVERY = [
    advice.crazing(50, 10_000),
    advice.thin_colours(1, 10),
    advice.off_trace(2, 3),
    advice.silicone_under_topcoat(["Oil"]),
    advice.short_of_sides(1, 10_000),
    advice.outside_measured(1, 2, 3),
    advice.early_topcoat(1, 1),
    advice.resin_temperature(10),
    advice.resin_humidity(90),
]


@pytest.mark.parametrize("finding", EVERY, ids=lambda finding: finding.code)
def test_every_advice_says_what_why_and_whose(finding: Advice):
    assert finding.sentence.endswith(".")
    assert finding.severity in ("caution", "stop")
    assert finding.limit is not None
    assert finding.unit
    assert finding.source


@pytest.mark.parametrize(
    "judge",
    [
        lambda: advice.crazing(-1, 10_000),
        lambda: advice.crazing(1, 0),
        lambda: advice.crazing(1, 1, -1),
        lambda: advice.let_run_off(0, 1),
        lambda: advice.thin_colours(1, 0),
        lambda: advice.off_trace(0, 3),
        lambda: advice.short_of_sides(float("nan"), 1),
        lambda: advice.outside_measured(float("inf"), 1, 2),
        lambda: advice.early_topcoat(-1, 2),
        lambda: advice.days_to_dry(1, "polish"),
        lambda: advice.resin_temperature(float("nan")),
        lambda: advice.resin_humidity(-1),
    ],
)
def test_nonsense_is_refused_in_words(judge):
    with pytest.raises(AdviceError, match=r"^[A-Z].*not .*\.$"):
        judge()
