"""Dry by weight: the same after 48 hours, within 1 % of the paint; and the gate that believes it.

The rule is common practice, no source; the figures beside it are worked out by hand.
"""

from datetime import UTC, datetime, timedelta
from decimal import Decimal as D

import pytest
from django.urls import reverse
from django.utils import timezone

from pricing.bench.topcoats import log_topcoat
from pricing.bench.weighing import remove_weighing, weigh_piece
from pricing.errors import PourRefused, ReasonNeeded
from pricing.readiness.clock import constant_since, still_loses, weight_limit
from pricing.readiness.standing import standing_of
from tests.conftest import member
from tests.factories.bench import working_studio
from tests.pricing.bench.test_pours import log

MONDAY = datetime(2026, 4, 6, 12, tzinfo=UTC)


def readings(*hours_and_grams):
    return [(MONDAY + timedelta(hours=hours), grams) for hours, grams in hours_and_grams]


@pytest.mark.parametrize(("ml", "grams"), [(12, 0.12), (50, 0.5), (10, 0.1), (3, 0.1), (0, 0.1)])
def test_it_is_1_percent_of_the_paint_and_at_least_what_a_scale_shows(ml, grams):
    assert weight_limit(ml) == pytest.approx(grams)


@pytest.mark.parametrize(
    ("told", "hours"),
    [
        ([], None),
        ([(0, 209.0)], None),
        ([(0, 209.0), (48, 209.0)], 48),
        ([(0, 209.0), (47.9, 209.0)], None),
        ([(0, 209.1), (48, 209.0)], 48),  # a tenth, which is what a scale shows
        ([(0, 209.2), (48, 209.0)], None),
        ([(0, 214.0), (24, 210.0), (48, 209.0), (96, 209.0)], 96),
        ([(0, 209.0), (24, 209.0), (48, 209.0), (72, 209.0)], 48),
        # a tenth a day three times over is no constant weight
        ([(0, 209.3), (24, 209.2), (48, 209.1), (72, 209.0)], None),
        # it was constant, and then it was not: it counts anew
        ([(0, 209.0), (48, 209.0), (60, 207.0)], None),
        ([(0, 209.0), (48, 209.0), (60, 207.0), (108, 207.0)], 108),
    ],
)
def test_the_same_for_48_hours_is_constant(told, hours):
    moment = None if hours is None else MONDAY + timedelta(hours=hours)

    assert constant_since(readings(*told), 0.1) == moment


def test_the_last_two_readings_say_whether_it_still_loses():
    assert still_loses(readings((0, 209), (1, 208.8)), 0.1)
    assert not still_loses(readings((0, 214), (24, 209), (48, 208.9)), 0.1)
    assert not still_loses(readings((0, 209), (1, 212)), 0.1)  # a fly, a thumb, a tape
    assert not still_loses(readings((0, 209)), 0.1)


# Kept, and believed


@pytest.fixture
def bench(db):
    return working_studio()


@pytest.fixture
def pour(bench):
    return log(bench, count=2, poured_at=timezone.now() - timedelta(days=3))


def weighed(pour, days_ago, grams, piece=1):
    at = timezone.now() - timedelta(days=days_ago)
    return weigh_piece(pour=pour, by=None, piece=piece, grams=D(grams), weighed_at=at)


def stands(pour):
    (one,) = standing_of([type(pour).objects.get(pk=pour.pk)]).values()
    return one


def coat(bench, pour):
    return log_topcoat(pour=pour, by=None, kit=bench.kit, mixed_ml=D(30), minutes=D(5))


def test_a_piece_that_keeps_its_weight_may_be_coated_before_its_days_are_over(bench, pour):
    with pytest.raises(ReasonNeeded, match="best left 28 days"):
        coat(bench, pour)
    weighed(pour, 2.5, "212.0")
    last = weighed(pour, 0.2, "212.0")

    assert stands(pour).weighed_dry_on == last.weighed_at.date()
    assert coat(bench, pour)
    # What it weighs under resin says nothing of its paint.
    weigh_piece(pour=pour, by=None, piece=1, grams=D("231.5"))
    weigh_piece(pour=pour, by=None, piece=1, grams=D("230.5"))
    assert stands(pour).weighed_dry_on == last.weighed_at.date()
    assert not stands(pour).still_loses


def test_a_piece_that_grows_lighter_is_not_coated_though_its_days_are_over(bench):
    pour = log(bench, count=2, poured_at=timezone.now() - timedelta(days=40))
    weighed(pour, 5, "212.0")
    weighed(pour, 2, "212.0")
    weighed(pour, 5, "213.0", piece=2)
    lighter = weighed(pour, 2, "212.0", piece=2)

    with pytest.raises(ReasonNeeded, match="was lighter when it was weighed last"):
        coat(bench, pour)
    remove_weighing(weighing=lighter)
    assert coat(bench, pour)


@pytest.mark.parametrize(
    ("told", "sentence"),
    [
        ({"piece": 3}, "has pieces 1 to 2"),
        ({"grams": D(0)}, "weighs 0.1 g to"),
        ({"grams": D("NaN")}, "weighs 0.1 g to"),
        ({"weighed_at": MONDAY}, "after it was poured"),
        ({"weighed_at": timezone.now() + timedelta(days=9)}, "not later than now"),
    ],
)
def test_what_cannot_be_is_refused(pour, told, sentence):
    wanted = {"pour": pour, "by": None, "piece": 1, "grams": D(212), **told}

    with pytest.raises(PourRefused, match=sentence):
        weigh_piece(**wanted)

    assert not pour.studio.weighings.exists()


def test_a_piece_has_one_weight_at_a_moment(pour):
    row = weighed(pour, 1, "212")

    with pytest.raises(PourRefused, match="has a weight of that moment"):
        weigh_piece(pour=pour, by=None, piece=1, grams=D(209), weighed_at=row.weighed_at)


# Pages and API


def test_it_is_weighed_shown_and_taken_back_on_pages(bench, pour):
    maker, viewer = (member(bench.studio, role).client for role in ("maker", "viewer"))
    here, address = (reverse(name, args=[pour.number]) for name in ("pour", "pour-weigh"))
    assert address in maker.get(here).content.decode()
    assert address not in viewer.get(here).content.decode()
    assert viewer.get(address).status_code == 403

    refused = maker.post(address, {"piece": "1", "grams": "0"})
    assert refused.status_code == 422
    assert 'value="0"' in refused.content.decode()
    maker.post(address, {"piece": "1", "grams": "212.4"})

    page = maker.get(here).content.decode()
    assert "Piece 1 of Pour 1, 212.4 g" in page
    remove = reverse("weighing-remove", args=[pour.number, pour.studio.weighings.get().pk])
    assert viewer.post(remove).status_code == 403
    maker.post(remove)
    assert not pour.studio.weighings.exists()


def test_the_api_weighs_and_says_where_a_pour_stands(bench, pour):
    maker = member(bench.studio, "maker").api
    at = timezone.now() - timedelta(days=2, hours=1)
    told = {"pour": pour.number, "piece": 1, "grams": "212.4"}

    first = maker.post("/api/v1/weighings/", {**told, "weighed_at": at.isoformat()}, "json")
    second = maker.post("/api/v1/weighings/", told, "json")

    assert (first.status_code, second.status_code) == (201, 201)
    standing = maker.get(f"/api/v1/pours/{pour.number}/").json()["standing"]
    assert standing["dry_on"] == standing["weighed_dry_on"] == str(bench.studio.today())
    assert maker.post("/api/v1/weighings/", {**told, "piece": 9}, "json").status_code == 409
    assert maker.delete(f"/api/v1/weighings/{second.json()['id']}/").status_code == 204
    assert [one["grams"] for one in maker.get("/api/v1/weighings/").json()["results"]] == ["212.40"]


def test_a_member_of_another_studio_finds_nothing(bench, pour):
    row = weighed(pour, 1, "212")
    stranger = member(working_studio().studio, "owner")

    assert stranger.client.get(reverse("pour-weigh", args=[99])).status_code == 404
    remove = reverse("weighing-remove", args=[pour.number, row.pk])
    assert stranger.client.post(remove).status_code == 404
    assert stranger.api.get(f"/api/v1/weighings/{row.pk}/").status_code == 404
    assert pour.studio.weighings.exists()
