"""Paired tests from the lot to what all of them say: by services, pages and the API."""

import io
from collections import Counter
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from pricing.bench import paired, pours
from pricing.bench.judging import Seen, judge_pieces
from pricing.bench.paired import (
    draw_test,
    pour_test,
    rate_test,
    remove_test,
    reveal_test,
    series_of,
)
from pricing.errors import PairRefused
from pricing.exports import export_studio
from pricing.models import PairedTest
from tests.conftest import member
from tests.factories.bench import working_studio
from tests.factories.studio import StudioFactory
from tests.pricing.archives import import_studio
from tests.pricing.bench.test_judging import wet

pytestmark = pytest.mark.django_db
API = "/api/v1/"


@pytest.fixture
def bench():
    return working_studio()


def draw(bench, change="straw", **more):
    wanted = {"surface": bench.tile_size, "technique": bench.bloom, "palette": bench.palette}
    return draw_test(studio=bench.studio, by=None, changes=[change], **{**wanted, **more})


def poured(bench, change="straw"):
    """Return a pair whose tiles are the first two pieces of a new pour."""
    test = draw(bench, change)
    return pour_test(test=test, pour=wet(bench, count=2), first=1, second=2)


def revealed(bench, outcome, change="straw"):
    """Return a pair that came out better (1) with the change, worse (-1) or alike (0)."""
    test = poured(bench, change)
    own, other = {1: (5, 3), -1: (2, 4), 0: (3, 3)}[outcome]
    first, second = (own, other) if test.changed_tile == 1 else (other, own)
    rate_test(test=test, by=None, first=first, second=second)
    return reveal_test(test=test)


# The lot


def test_the_lot_falls_on_either_tile(bench, monkeypatch):
    asked = []
    monkeypatch.setattr(paired.secrets, "choice", lambda sides: asked.append(sides) or sides[1])
    assert draw(bench).changed_tile == 2
    assert asked == [(1, 2)]
    monkeypatch.undo()

    # Each side at least once in 40 draws, but for a chance of 2 in 2^40.
    assert set(Counter(draw(bench).changed_tile for _ in range(40))) == {1, 2}


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        (["straw", "torch"], "Name one change"),
        ([], "Name one change"),
        (["shake"], "no change called shake"),
    ],
)
def test_one_change_is_named(bench, changes, sentence):
    wanted = {"surface": bench.tile_size, "technique": bench.bloom, "palette": bench.palette}

    with pytest.raises(PairRefused, match=sentence):
        draw_test(studio=bench.studio, by=None, changes=changes, **wanted)

    assert not PairedTest.objects.exists()


def test_a_pair_goes_from_the_lot_to_its_outcome(bench):
    test = draw(bench)
    assert (test.number, test.is_poured, test.outcome) == (1, False, None)

    test = pour_test(test=test, pour=wet(bench), first=3, second=1)
    assert (test.first.number, test.second.number) == (3, 1)
    test = rate_test(test=test, by=None, first=4)
    assert not test.is_rated
    test = rate_test(test=test, by=None, second=2)
    assert (test.is_rated, test.outcome) == (True, None)
    test = reveal_test(test=test)

    assert test.outcome == (1 if test.changed_tile == 1 else -1)
    assert reveal_test(test=test).revealed_at == test.revealed_at


@pytest.mark.parametrize(("better", "ahead"), [("first", 1), ("second", -1), ("alike", 0), ("", 0)])
def test_two_rated_the_same_are_told_apart_by_which_is_kept_rather(bench, better, ahead):
    test = poured(bench)
    rate_test(test=test, by=None, first=4, second=4, better=better)

    test = reveal_test(test=test)

    assert test.outcome == (ahead if test.changed_tile == 1 else -ahead)


def test_a_pair_is_not_rated_or_revealed_before_its_time(bench):
    test = draw(bench)
    with pytest.raises(PairRefused, match="not poured yet"):
        rate_test(test=test, by=None, first=3, second=4)
    with pytest.raises(PairRefused, match="not poured yet"):
        reveal_test(test=test)

    test = pour_test(test=test, pour=wet(bench), first=1, second=2)
    with pytest.raises(PairRefused, match="Rate both tiles"):
        reveal_test(test=test)
    rate_test(test=test, by=None, first=3)
    with pytest.raises(PairRefused, match="Rate both tiles"):
        reveal_test(test=test)


@pytest.mark.parametrize(
    ("told", "sentence"),
    [
        ({"first": 6, "second": 1}, "from 1 to 5"),
        ({"first": 0, "second": 1}, "from 1 to 5"),
        ({"first": 3, "second": 4, "better": "first"}, "same rating"),
        ({"first": 3, "better": "first"}, "same rating"),
        ({"first": 3, "second": 3, "better": "both"}, "or they are alike"),
    ],
)
def test_ratings_that_cannot_be_are_refused(bench, told, sentence):
    test = poured(bench)

    with pytest.raises(PairRefused, match=sentence):
        rate_test(test=test, by=None, **told)

    assert PairedTest.objects.get().first_rating is None


def test_what_is_revealed_stays_and_what_is_poured_is_not_left_out(bench):
    test = revealed(bench, 1)

    with pytest.raises(PairRefused, match="its ratings stay"):
        rate_test(test=test, by=None, first=1, second=5)
    with pytest.raises(PairRefused, match="would bend the count"):
        remove_test(test=test)
    remove_test(test=draw(bench))
    assert PairedTest.objects.count() == 1


def test_the_tiles_are_two_new_pieces_of_one_like_pour(bench):
    old = wet(bench, poured_at=timezone.now() - timedelta(hours=1))
    test = draw(bench)
    canvas = wet(bench, surface=bench.canvas_size, count=2)
    pour, judged, undone = wet(bench), wet(bench), wet(bench)
    judge_pieces(pour=judged, by=None, seen=[Seen(2, "good")])
    pours.undo_pour(pour=undone, by=None, why="Twice")
    taken = poured(bench).first.pour

    for wrong, pieces, sentence in (
        (old, (1, 2), "before the lot was drawn"),
        (canvas, (1, 2), "another technique, palette or size"),
        (pour, (1, 1), "two different pieces"),
        (pour, (1, 9), "two different pieces"),
        (judged, (1, 2), "before its pieces are judged"),
        (undone, (1, 2), "was undone"),
        (taken, (2, 1), "in another pair"),
    ):
        with pytest.raises(PairRefused, match=sentence):
            pour_test(test=test, pour=wrong, first=pieces[0], second=pieces[1])
    test = pour_test(test=test, pour=pour, first=2, second=4)
    with pytest.raises(PairRefused, match="poured already"):
        pour_test(test=test, pour=pour, first=1, second=3)


# What all of them say


def test_seven_in_a_row_are_told_and_six_are_not(bench):
    for count in range(1, 8):
        revealed(bench, 1)
        (series,) = series_of(bench.studio)
        assert (series.score.better, series.is_told) == (count, count == 7)
        assert series.one_in == 2**count
    assert series.in_a_row == 1


def test_each_change_and_kind_is_counted_by_itself_and_alike_says_nothing(bench):
    for outcome in (1, -1, 0, 1):
        revealed(bench, outcome)
    revealed(bench, 1, change="torch")
    poured(bench, change="torch")
    draw(bench, change="spin")  # not poured

    torch, straw = series_of(bench.studio)

    assert (straw.last.change, straw.place) == ("straw", 1)
    assert (straw.score.better, straw.score.worse, straw.score.alike) == (2, 1, 1)
    assert straw.one_in == 2  # 3 + 1 of the 8 courses of three pairs
    # By hand: 1.8² × 0.2 = 0.648, and 0.648 × 1.8⁷ = 39.7 is the first above 38.5.
    assert straw.in_a_row == 7
    assert (torch.place, torch.score.better, torch.to_come) == (2, 1, 1)


def test_pairs_of_an_undone_pour_are_left_out(bench):
    test = revealed(bench, 1)
    pours.undo_pour(pour=test.first.pour, by=None, why="Wrong cups")

    assert series_of(bench.studio) == ()


@pytest.mark.parametrize("count", (1, 3))
def test_the_page_asks_as_often_for_more_pairs(bench, count, django_assert_num_queries):
    for change in ("straw", "torch", "spin")[:count]:
        revealed(bench, 1, change)
    viewer = member(bench.studio, "viewer").client
    viewer.get(reverse("pairs"))

    with django_assert_num_queries(6):  # the usual three; what they say; how many; which
        assert viewer.get(reverse("pairs")).status_code == 200


# Pages and API


def test_a_journey_by_pages(bench):
    maker, viewer = (member(bench.studio, role).client for role in ("maker", "viewer"))
    wanted = {
        "change": "torch",
        "surface": bench.tile_size.pk,
        "technique": bench.bloom.pk,
        "palette": bench.palette.pk,
    }
    assert maker.post(reverse("pair-new"), wanted).status_code == 302
    test, page = PairedTest.objects.get(), reverse("pair", args=[1])
    lot = f"Tile {test.changed_tile} alone gets the change"
    shown = maker.get(page).content.decode()
    assert lot in shown
    assert "Torches and heat guns" in shown
    assert lot not in viewer.get(page).content.decode()

    early = maker.post(reverse("pair-rate", args=[1]), {"first": "4", "second": "2"})
    assert (early.status_code, "not poured yet" in early.content.decode()) == (422, True)
    pour = wet(bench)
    maker.post(reverse("pair-poured", args=[1]), {"pour": pour.pk, "first": "1", "second": "2"})
    for person in (maker, viewer):
        assert "is told once both are rated" in person.get(page).content.decode()
        assert "alone gets" not in person.get(page).content.decode()
    early = maker.post(reverse("pair-reveal", args=[1]), follow=True)
    assert "Rate both tiles" in early.content.decode()

    maker.post(reverse("pair-rate", args=[1]), {"first": "5", "second": "2"})
    assert "had it" not in viewer.get(page).content.decode()
    maker.post(reverse("pair-reveal", args=[1]))
    assert f"Tile {test.changed_tile} had it" in viewer.get(page).content.decode()
    said = viewer.get(reverse("pairs")).content.decode()
    assert "Not enough to tell yet" in said
    assert viewer.post(reverse("pair-new"), wanted).status_code == 403
    assert member(StudioFactory(), "owner").client.get(page).status_code == 404


def test_a_journey_by_the_api(bench):
    maker, viewer = (member(bench.studio, role).api for role in ("maker", "viewer"))
    wanted = {"surface": bench.tile_size.pk, "technique": "bloom", "palette": bench.palette.pk}
    two = maker.post(f"{API}pairs/", wanted | {"changes": ["straw", "torch"]})
    assert (two.status_code, "Name one change" in two.json()["detail"]) == (409, True)
    drawn = maker.post(f"{API}pairs/", wanted | {"changes": ["straw"]}).json()
    assert drawn["changed_tile"] in (1, 2)
    assert viewer.get(f"{API}pairs/1/").json()["changed_tile"] is None
    assert maker.post(f"{API}pairs/1/rate/", {"first": 4}).status_code == 409

    pour = wet(bench)
    sent = {"pour": pour.number, "first": 1, "second": 2}
    kept = maker.post(f"{API}pairs/1/poured/", sent).json()
    assert (kept["changed_tile"], kept["pour"]) == (None, pour.number)
    assert maker.post(f"{API}pairs/1/reveal/").status_code == 409
    rated = maker.post(f"{API}pairs/1/rate/", {"first": 4, "second": 4, "better": "first"}).json()
    assert (rated["changed_tile"], rated["outcome"]) == (None, None)

    told = maker.post(f"{API}pairs/1/reveal/").json()

    assert told["changed_tile"] == drawn["changed_tile"]
    assert told["outcome"] == (1 if drawn["changed_tile"] == 1 else -1)
    (series,) = viewer.get(f"{API}pairs/told/").json()["series"]
    assert (series["change"], series["better"] + series["worse"]) == ("straw", 1)
    assert (series["is_told"], series["place"]) == (False, 1)


def test_an_archive_brings_pairs_back(bench):
    test = revealed(bench, 1)
    draw(bench, "spin")
    stream, other = io.BytesIO(), StudioFactory()
    export_studio(bench.studio, stream)

    import_studio(other, stream)

    back = other.paired_tests.get(number=test.number)
    assert (back.outcome, back.changed_tile, back.first.number) == (1, test.changed_tile, 1)
    assert [one.score.better for one in series_of(other)] == [1]
