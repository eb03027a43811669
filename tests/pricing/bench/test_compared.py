"""What made the good ones good: what is compared, what is told, what is said not to be known."""

from datetime import timedelta
from decimal import Decimal as D

import pytest
from django.urls import reverse
from django.utils import timezone

from pricing.bench import pours
from pricing.bench.compared import compared, groups_of
from pricing.bench.judging import Seen, judge_pieces
from pricing.bench.moving import Noted, note_moves
from pricing.demo import story
from pricing.demo.pictures import drawn_pour
from pricing.models import Pour
from tests.conftest import member
from tests.factories.bench import working_studio
from tests.factories.studio import StudioFactory
from tests.pricing.bench.test_judging import wet

pytestmark = pytest.mark.django_db
HEAT = 3
LAYERS = {"base": pours.LayerLog(D(20)), "colours": pours.LayerLog(D(12))}


@pytest.fixture
def bench():
    return working_studio()


def pour(bench, good, heat="", days_ago=1, pictures=(), cells=None, **noted):
    """Log two tiles, so many of them good, the others failed, and note how they were moved."""
    row = wet(bench, count=2, layers=LAYERS, poured_at=timezone.now() - timedelta(days=days_ago))
    seen = [
        Seen(
            at,
            "good" if at <= good else "failed",
            cells=cells,
            pictures=pictures if at == 1 else (),
        )
        for at in (1, 2)
    ]
    judge_pieces(pour=row, by=None, seen=seen)
    return note_moves(pour=row, noted=Noted(heat=heat, **noted))


def test_only_judged_standing_pours_of_its_kind_are_compared(bench):
    first = pour(bench, 2)
    pour(bench, 1)
    undone = pour(bench, 0)
    pours.undo_pour(pour=undone, by=None, why="Twice")
    wet(bench, count=2, layers=LAYERS)
    canvas = wet(bench, count=1, layers=LAYERS, surface=bench.canvas_size)
    judge_pieces(pour=canvas, by=None, seen=[Seen(1, "failed")])

    known = compared(first)

    assert [(one.number, one.good, one.judged) for one in known.seen] == [(1, 2, 2), (2, 1, 2)]
    assert known.unjudged == 1
    assert [(one.latest, one.pours) for one in groups_of(bench.studio)] == [
        (canvas, 1),
        (Pour.objects.get(number=2), 2),
    ]
    assert groups_of(bench.studio, palette=bench.palette.pk + 99) == ()


def test_a_second_is_not_good_and_the_paint_counts_not_the_resin(bench):
    row = wet(bench, count=2, layers=LAYERS)
    judge_pieces(pour=row, by=None, seen=[Seen(1, "second", cells=4, composition=3)])

    (seen,) = compared(row).seen

    assert (seen.good, seen.judged, seen.rating) == (0, 1, 3.5)


def test_what_is_noted_becomes_the_answer_to_each_question(bench):
    traces = {("base", 0): D(5), ("colours", 0): D(3), ("colours", 1): D(4)}
    row = pour(bench, 1, "none", moves=("none",), rest_minutes=D(2), traces=traces)

    (seen,) = compared(row).seen

    assert (seen.base_trace, seen.colours_trace, seen.rest_minutes) == (5, 3.5, 2)
    assert (seen.moves, seen.has_heat, seen.was_covered) == ([], False, None)
    (unknown,) = compared(pour(bench, 1)).seen[1:]
    assert (unknown.base_trace, unknown.moves, unknown.has_heat) == (None, None, None)


def test_one_unknown_trace_of_several_leaves_the_colours_unknown(bench):
    row = pour(bench, 1, traces={("colours", 0): D(3)})

    assert compared(row).seen[0].colours_trace is None


def test_best_and_worst_have_pictures_and_what_differed_is_told(bench):
    blue = [drawn_pour(1, story.BLUES)]
    pour(bench, 2, "torch")  # the best, of which there is no picture
    best = pour(bench, 2, "torch", pictures=blue, cells=4, moves=("tilt",), was_covered=True)
    worst = pour(bench, 0, "none", pictures=blue, moves=("tilt",))

    known = compared(best)

    assert (known.best.pour, known.worst.pour) == (best, worst)
    assert known.differed == (("Heat", "Torch", "No heat"),)
    assert known.unknown == (
        *("Trace of the base", "Trace of the colours", "Room", "Rest before", "Covered"),
    )


def test_of_very_many_the_latest_are_compared(bench, monkeypatch):
    monkeypatch.setattr("pricing.bench.compared.MOST", 2)
    pour(bench, 0, days_ago=3)
    pour(bench, 1, days_ago=2)
    wet(bench, count=2, layers=LAYERS)
    last = pour(bench, 2, days_ago=1)

    known = compared(last)

    assert [one.good for one in known.seen] == [1, 2]
    assert (known.is_cut, known.unjudged) == (True, 1)


def test_two_that_came_out_alike_are_no_best_and_worst(bench):
    blue = [drawn_pour(1, story.BLUES)]
    row = pour(bench, 1, pictures=blue)
    pour(bench, 1, pictures=blue)

    known = compared(row)

    assert (known.best, known.worst, known.differed) == (None, None, ())


def test_it_says_what_to_pour_to_find_out(bench):
    pour(bench, 2, "torch")
    row = pour(bench, 1, "torch")

    _, words = compared(row).lines[HEAT]

    assert words == {
        "to_find_out": "1 more “with heat” on another day and 3 more “without heat” on two days"
    }


def test_the_page_shows_pictures_then_counts_then_the_estimate(bench):
    blue = [drawn_pour(1, story.BLUES)]
    for days_ago in (1, 2, 3):
        row = pour(bench, 2, "torch", days_ago, blue)
        pour(bench, 0, "none", days_ago, blue)
    viewer = member(bench.studio, "viewer").client

    shown = viewer.get(reverse("pour-compared", args=[row.number])).content.decode()

    order = [
        shown.index(words)
        for words in (
            *("Best:", "What differed", "with heat: 6 of 6 good, 3 pours"),
            *("With heat against without heat", "Differences are how many more pieces of 100"),
        )
    ]
    assert order == sorted(order)
    assert "Too early to say" in shown
    assert "Pours that you noted are not all pours" in shown
    other = member(StudioFactory(), "owner").client
    assert other.get(reverse("pour-compared", args=[row.number])).status_code == 404


def test_it_is_reached_from_a_pour_a_palette_a_technique_and_the_record(bench):
    row = pour(bench, 2)
    maker = member(bench.studio, "owner").client

    assert (
        reverse("pour-compared", args=[1]) in maker.get(reverse("pour", args=[1])).content.decode()
    )
    for page, name, key in (
        ("palette-edit", "palette", bench.palette.pk),
        ("technique-edit", "technique", bench.bloom.pk),
    ):
        shown = maker.get(reverse(page, args=[key])).content.decode()
        assert f"{reverse('good-ones')}?{name}={key}" in shown
        found = maker.get(f"{reverse('good-ones')}?{name}={key}").content.decode()
        assert reverse("pour-compared", args=[row.number]) in found
        none = maker.get(f"{reverse('good-ones')}?{name}={key + 99}").content.decode()
        assert "No pour is judged yet" in none
    assert reverse("good-ones") in maker.get(reverse("record")).content.decode()


def test_the_api_reads_the_same(bench):
    for days_ago in (1, 2, 3):
        pour(bench, 2, "torch", days_ago)
        row = pour(bench, 0, "none", days_ago)

    told = member(bench.studio, "viewer").api.get(f"/api/v1/pours/{row.number}/compared/").json()

    heat, known = told["answers"][HEAT], compared(row).answers[HEAT]
    assert [one["good"] for one in heat["bands"]] == [6, 0]
    assert heat["good"]["middle"] == pytest.approx(known.good.middle)
    assert (told["pours"], told["best"]) == ([5, 6, 3, 4, 1, 2], None)


@pytest.mark.parametrize("count", (1, 3))
def test_pages_ask_as_often_for_more_pours(bench, count, django_assert_num_queries):
    blue = [drawn_pour(1, story.BLUES)]
    for good in range(count):
        row = pour(bench, min(good, 2), pictures=blue)
    pour(bench, 2, pictures=blue)
    viewer = member(bench.studio, "viewer").client
    viewer.get(reverse("good-ones"))

    # The usual three; the pour; those like it, layers, pictures, pieces, judgements, pictures of
    # pieces; how many groups; how many not judged.
    with django_assert_num_queries(12):
        assert viewer.get(reverse("pour-compared", args=[row.number])).status_code == 200
    with django_assert_num_queries(5):
        assert viewer.get(reverse("good-ones")).status_code == 200
