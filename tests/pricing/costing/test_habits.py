"""Success rates and minutes: the first guess, and what the studio's own record makes of it."""

from collections import Counter
from decimal import Decimal as D
from fractions import Fraction

import numpy as np
import pytest
from django.urls import reverse

from pricing.bench import pours
from pricing.costing.habits import habits_of
from pricing.costing.price import (
    PriceError,
    TimedSession,
    session_minutes,
    sessions,
    success_rate,
)
from pricing.estimating.estimates import estimate
from pricing.quoting import quotes as quoting
from tests.conftest import member
from tests.factories import going_on
from tests.factories.bench import working_studio
from tests.factories.judged import coat_judged
from tests.pricing.bench.test_pours import log
from tests.pricing.commissions.test_commissions import add_tiles, opened
from tests.pricing.quoting.test_quote_pages import text_of

# The arithmetic


def test_the_guess_counts_as_ten_pieces():
    assert success_rate(D("0.85"), 0, 0) == D("0.8500")
    assert success_rate(D("0.85"), 30, 40) == D("0.7700")  # (8.5 + 30) / (10 + 40)
    assert success_rate(D(1), 0, 100_000) == D("0.0001")  # never nothing


def test_a_session_of_no_pieces_tells_what_is_taken_once():
    # 20 is believed to within 0.5 × 20 and 40 was seen to within 0.25 × 40: halfway between them.
    assert session_minutes(D(20), D("0.5"), [TimedSession(0, 40.0)]) == (D(30), D("0.5"))


def test_minutes_are_the_line_of_least_squares_with_the_guess_as_a_row():
    """Bayesian linear regression is ordinary least squares with the prior as two rows more."""
    sessions = [TimedSession(4, 50.0), TimedSession(9, 70.0), TimedSession(1, 41.0)]
    guess = np.array([20.0, 5.0])
    rows, seen = [], []
    for pieces, minutes in [(one.pieces, one.minutes) for one in sessions]:
        row = np.array([1.0, pieces])
        sd = 0.25 * max(row @ guess, minutes)
        rows.append(row / sd)
        seen.append(minutes / sd)
    for place in (0, 1):
        rows.append(np.eye(2)[place] / (0.5 * guess[place]))
        seen.append(2.0)
    expected = np.linalg.lstsq(np.array(rows), np.array(seen), rcond=None)[0]

    found = session_minutes(D(20), D(5), sessions)

    assert [float(part) for part in found] == pytest.approx(list(expected), abs=0.005)


def test_with_many_sessions_the_record_decides():
    sessions = [
        TimedSession(pieces, 12.0 + 7 * pieces) for pieces in (1, 2, 4, 8, 12) for _ in range(99)
    ]

    once, each = session_minutes(D(30), D(2), sessions)

    assert (float(once), float(each)) == pytest.approx((12, 7), rel=0.05)


def test_a_session_of_no_minutes_counts_and_one_below_none_is_refused():
    none, some = (
        session_minutes(D(30), D(2), [TimedSession(4, minutes)]) for minutes in (0.0, 38.0)
    )

    assert none < some
    with pytest.raises(PriceError):
        session_minutes(D(30), D(2), [TimedSession(4, -1.0)])


def test_what_cannot_be_is_refused():
    with pytest.raises(PriceError):
        success_rate(D("0.9"), 5, 4)
    with pytest.raises(PriceError):
        session_minutes(D(-1), D(1), [])


# The record

pytestmark = pytest.mark.django_db

PER_ML = {
    "white": Fraction("0.02"),
    "blue": Fraction("0.04"),
    "gold": Fraction("0.05"),
    "water": Fraction(0),
    "resin": Fraction("0.06"),
}


@pytest.fixture
def bench():
    bench = working_studio()
    bench.studio.techniques.update(coat_success_rate=D("0.95"))  # as it comes with a new studio
    return bench


def habit(bench):
    return habits_of(bench.studio)[bench.bloom.pk]


def test_without_a_record_the_guess_stands(bench):
    found = habit(bench)

    assert not found.is_learned
    assert found.pour_success == bench.bloom.success_rate
    assert found.coat_success == D("0.95")
    assert found.success_rate(coated=True) == D("0.85") * D("0.95")
    assert found.steps["set_up"] == (D(25), D(0))


def test_pours_topcoats_and_packing_correct_it(bench):
    pour = log(bench, count=4, good_count=4, minutes=D(30))
    coat_judged(pour=pour, by=None, kit=bench.kit, mixed_ml=D(40), minutes=D(60))
    going_on.pack_set(
        studio=bench.studio, by=None, name="Four", pieces=pour.pieces.all(), minutes=D(20)
    )

    found = habit(bench)

    assert found.pour_success == D("0.8929")  # (8.5 + 4) / 14
    assert found.coat_success == D("0.9643")  # (9.5 + 4) / 14
    assert (found.pieces, found.good, found.coated, found.coated_well) == (4, 4, 4, 4)
    assert found.sessions == {"pour": 1, "topcoat": 1, "pack": 1}
    # 61 minutes were expected of the pour, 30 of the topcoat, 4 of packing.
    assert found.steps["pour"][1] < 6
    assert found.steps["topcoat"][1] > 5
    assert found.steps["pack"][1] > 4


def test_a_topcoat_that_fails_says_nothing_of_the_pour(bench):
    """Of five pieces one failed in the pour; of the four coated three were spoiled."""
    pour = log(bench, count=5, good_count=4)
    coat_judged(pour=pour, by=None, kit=bench.kit, mixed_ml=D(40), spoiled_count=3)
    log(bench, count=2, good_count=2)  # not coated

    found = habit(bench)

    assert found.pour_success == D("0.8529")  # (8.5 + 6) / 17
    assert found.coat_success == D("0.7500")  # (9.5 + 1) / 14
    assert (found.pieces, found.good, found.coated, found.coated_well) == (7, 6, 4, 1)


def test_what_came_with_the_program_is_a_guess_until_it_is_set_or_logged_ten_times(bench):
    guess = habit(bench).guess_in_words()
    uncoated = habit(bench).guess_in_words(coated=False)
    for _ in range(9):
        log(bench, count=1, good_count=1, minutes=D(20))
    nine = habit(bench).guess_in_words(coated=False)
    log(bench, count=1, good_count=1, minutes=D(20))
    ten = habit(bench).guess_in_words(coated=False)
    bench.bloom.steps.filter(step="pack").update(minutes_each=D(5))
    known = habit(bench).guess_in_words(coated=False)

    assert guess == (
        "How many pours come out well, how many topcoats come out well, the minutes of pouring, "
        "the minutes of topcoats and the minutes of packing are our guess, no source, until you "
        "set them or 10 times are logged."
    )
    assert "topcoats" not in uncoated and "pouring" in uncoated
    assert nine == uncoated
    assert ten.startswith("The minutes of packing are our guess, no source")
    assert known == ""


def test_no_resin_is_charged_for_pieces_that_were_never_coated(bench):
    """At 60 % of pours and 95 % of topcoats: what failed is poured again, and the good ones coated.

    Each session is mixed for and set up for by itself.
    """
    bench.studio.techniques.update(success_rate=D("0.6"), learns=False)
    commission = opened(bench)
    add_tiles(bench, commission, topcoat=bench.kit)

    quote = quoting.draft_quote(commission=commission, by=None)

    [line] = quote.frozen["lines"]
    costs = Counter()
    for one in line["cost_lines"]:
        kind = "resin" if one["kind"] == "material" and one["label"] == "Topcoat" else one["kind"]
        costs[kind] += Fraction(one["amount"])
    found = sessions(8, D("0.6"), D("0.95"))
    paint = {
        count: sum(
            Fraction(need.used) * PER_ML[material.name]
            for material, need in estimate(
                bench.studio, bench.tile_size, "bloom", count, palette=bench.palette
            ).materials.items()
        )
        for count in range(1, 9)
    }
    steps = {step.step: step for step in bench.bloom.steps.all()}
    each = steps["pour"].minutes_each + steps["clean"].minutes_each
    expected = minutes = Fraction(0)
    for count, times in found.pours_again.items():
        expected += Fraction(times) * (paint[count] + count * Fraction("0.5"))
        minutes += Fraction(times) * Fraction(steps["set_up"].fixed_minutes + count * each)
    for count, times in found.coats_again.items():
        coated = estimate(bench.studio, bench.tile_size, "bloom", count, topcoat=bench.kit)
        expected += Fraction(times) * Fraction(coated.layer("topcoat").to_mix_ml) * PER_ML["resin"]
        coat = steps["topcoat"]
        minutes += Fraction(times) * Fraction(coat.fixed_minutes + count * coat.minutes_each)
    expected += minutes * Fraction(bench.studio.labour_rate) / 60
    assert costs["resin"] > 0
    assert abs(costs["failures"] - expected) < Fraction(1, 10**4)
    assert "guess" in line["guess"]


def test_a_pour_set_aside_or_undone_teaches_nothing(bench):
    aside, undone = log(bench), log(bench)
    pours.set_pour_aside(pour=aside, why="spilled a cup")
    pours.undo_pour(pour=undone, by=None, why="typed twice")

    assert not habit(bench).is_learned


def test_a_technique_that_does_not_learn_keeps_its_figures(bench):
    log(bench, good_count=0)
    bench.bloom.learns = False
    bench.bloom.save()

    assert habit(bench).pour_success == bench.bloom.success_rate


def test_another_studios_pours_teach_nothing(bench):
    log(working_studio())

    assert not habit(bench).is_learned


def test_a_price_is_made_with_what_was_learned(bench):
    commission = opened(bench)
    add_tiles(bench, commission)
    before = quoting.draft_quote(commission=commission, by=None)
    for _ in range(2):
        log(bench, good_count=0, minutes=D(200))

    after = quoting.draft_quote(commission=commission, by=None)

    rates = [D(one.frozen["lines"][0]["success_rate"]) for one in (before, after)]
    assert rates == [D("0.85"), D("0.4722")]  # 8.5 of 18
    assert after.net > before.net


@pytest.mark.parametrize("more", (1, 3))
def test_it_asks_as_often_for_one_pour_as_for_three(bench, more, django_assert_num_queries):
    for _ in range(more):
        log(bench)

    with django_assert_num_queries(6):
        habits_of(bench.studio)


def test_the_page_and_the_api_tell_it(bench):
    log(bench, count=4, good_count=4)
    owner = member(bench.studio, "owner")

    shown = text_of(owner.client.get(reverse("techniques")))
    form = text_of(owner.client.get(reverse("technique-edit", args=[bench.bloom.pk])))
    told = owner.api.get("/api/v1/habits/").data["results"]

    assert "Learned from 4 pieces of yours, 4 of them good." in shown
    assert "4 of 4 pieces came out well" in form
    bloom = next(one for one in told if one["technique"] == "bloom")
    assert (bloom["pour_success"], bloom["pieces"]) == ("0.8929", 4)
