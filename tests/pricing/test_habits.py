"""Success rates and minutes: the first guess, and what the studio's own record makes of it."""

from decimal import Decimal as D

import numpy as np
import pytest
from django.urls import reverse

from pricing.bench import pours, topcoats
from pricing.costing.habits import habits_of
from pricing.costing.price import PriceError, Session, session_minutes, success_rate
from pricing.quoting import quotes as quoting
from pricing.selling import sales
from tests.conftest import member
from tests.factories.bench import working_studio
from tests.pricing.test_commissions import add_tiles, opened
from tests.pricing.test_pours import log
from tests.pricing.test_quote_pages import text_of

# The arithmetic


def test_the_guess_counts_as_ten_pieces():
    assert success_rate(D("0.85"), 0, 0) == D("0.8500")
    assert success_rate(D("0.85"), 30, 40) == D("0.7700")  # (8.5 + 30) / (10 + 40)
    assert success_rate(D(1), 0, 100_000) == D("0.0001")  # never nothing


def test_a_session_of_no_pieces_tells_what_is_taken_once():
    # 20 is believed to within 0.5 × 20 and 40 was seen to within 0.25 × 40: halfway between them.
    assert session_minutes(D(20), D("0.5"), [Session(0, 40.0)]) == (D(30), D("0.5"))


def test_minutes_are_the_line_of_least_squares_with_the_guess_as_a_row():
    """Bayesian linear regression is ordinary least squares with the prior as two rows more."""
    sessions = [Session(4, 50.0), Session(9, 70.0), Session(1, 41.0)]
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
        Session(pieces, 12.0 + 7 * pieces) for pieces in (1, 2, 4, 8, 12) for _ in range(99)
    ]

    once, each = session_minutes(D(30), D(2), sessions)

    assert (float(once), float(each)) == pytest.approx((12, 7), rel=0.05)


def test_a_session_of_no_minutes_counts_and_one_below_none_is_refused():
    none, some = (session_minutes(D(30), D(2), [Session(4, minutes)]) for minutes in (0.0, 38.0))

    assert none < some
    with pytest.raises(PriceError):
        session_minutes(D(30), D(2), [Session(4, -1.0)])


def test_what_cannot_be_is_refused():
    with pytest.raises(PriceError):
        success_rate(D("0.9"), 5, 4)
    with pytest.raises(PriceError):
        session_minutes(D(-1), D(1), [])


# The record

pytestmark = pytest.mark.django_db


@pytest.fixture
def bench():
    return working_studio()


def habit(bench):
    return habits_of(bench.studio)[bench.bloom.pk]


def test_without_a_record_the_guess_stands(bench):
    found = habit(bench)

    assert not found.is_learned
    assert found.success_rate == bench.bloom.success_rate
    assert found.steps["set_up"] == (D(25), D(0))


def test_pours_topcoats_and_packing_correct_it(bench):
    pour = log(bench, count=4, good_count=4, minutes=D(30))
    topcoats.log_topcoat(pour=pour, by=None, kit=bench.kit, mixed_ml=D(40), minutes=D(60))
    sales.pack_set(
        studio=bench.studio, by=None, name="Four", pieces=pour.pieces.all(), minutes=D(20)
    )

    found = habit(bench)

    assert found.success_rate == D("0.8929")  # (8.5 + 4) / 14
    assert (found.pieces, found.good) == (4, 4)
    assert found.sessions == {"pour": 1, "topcoat": 1, "pack": 1}
    # 61 minutes were expected of the pour, 30 of the topcoat, 4 of packing.
    assert found.steps["pour"][1] < 6
    assert found.steps["topcoat"][1] > 5
    assert found.steps["pack"][1] > 4


def test_a_pour_set_aside_or_undone_teaches_nothing(bench):
    aside, undone = log(bench), log(bench)
    pours.set_pour_aside(pour=aside, why="spilled a cup")
    pours.undo_pour(pour=undone, by=None, why="typed twice")

    assert not habit(bench).is_learned


def test_a_technique_that_does_not_learn_keeps_its_figures(bench):
    log(bench, good_count=0)
    bench.bloom.learns = False
    bench.bloom.save()

    assert habit(bench).success_rate == bench.bloom.success_rate


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
    assert (bloom["success_rate"], bloom["pieces"]) == ("0.8929", 4)
