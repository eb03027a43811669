"""Pieces judged dry and coated, corrected, taken back, wiped; and what follows from it."""

from datetime import timedelta
from decimal import Decimal as D

import pytest
from django.urls import reverse
from django.utils import timezone

from inventory.models import Movement
from inventory.stock import books
from inventory.stock import ledger as stock
from pricing.bench import pours, topcoats
from pricing.bench.judging import Seen, judge_pieces
from pricing.bench.recovering import recover_surfaces
from pricing.bench.work import work_list
from pricing.bench.work.judgings import ASKED_FOR, judging_alerts, judgings
from pricing.costing.habits import habits_of
from pricing.errors import JudgementRefused
from pricing.models import Judgement, Picture, Posting, Pour
from tests.conftest import member
from tests.factories import going_on
from tests.factories.bench import working_studio
from tests.pricing.bench.test_picture_pages import upload
from tests.pricing.bench.test_pours import COST, log, shelf
from tests.pricing.commissions.test_commissions import accepted

pytestmark = pytest.mark.django_db


@pytest.fixture
def bench():
    return working_studio()


def wet(bench, **more):
    """Log four tiles that nobody has judged."""
    layers = {"base": pours.LayerLog(D(100)), "colours": pours.LayerLog(D(60))}
    layers["activator"] = pours.LayerLog(D(8))
    wanted = {"surface": bench.tile_size, "technique": bench.bloom, "palette": bench.palette}
    if "line" in more:
        wanted = {}
    return pours.log_pour(
        studio=bench.studio,
        by=None,
        **{"count": 4, "minutes": D(0), "layers": layers, **wanted, **more},
    )


def judge(pour, *seen, **more):
    return judge_pieces(pour=pour, by=None, seen=[Seen(*one) for one in seen], **more)


def pack(bench, pour, *numbers):
    pieces = list(pour.pieces.filter(number__in=numbers))
    return going_on.pack_set(studio=bench.studio, by=None, name="Tiles", pieces=pieces)


def standing(pour):
    return list(pour.pieces.order_by("number").values_list("state", "verdict"))


def carried(pour):
    """Return the materials that each piece carries."""
    return list(pour.pieces.order_by("number").values_list("cost_materials", flat=True))


def sound(bench):
    assert list(books.check(bench.studio)) == []


def test_a_new_pour_counts_as_good_until_it_is_judged(bench):
    pour = wet(bench)

    assert standing(pour) == [("good", "")] * 4
    assert (pour.good_count, pour.judged_count) == (4, 0)
    assert carried(pour) == [COST / 4] * 4
    habit = habits_of(bench.studio)[bench.bloom.pk]
    assert (habit.pieces, habit.good, habit.pour_success) == (0, 0, bench.bloom.success_rate)
    pack(bench, pour, 1, 2)
    sound(bench)


def test_the_piece_that_is_named_fails_and_the_others_carry_it(bench):
    pour = wet(bench)

    judge(pour, (2, "failed", ["crazing"], 2, 1, "By the window"), (3, "second"), (1, "good"))

    assert standing(pour) == [
        ("good", "good"),
        ("failed", "failed"),
        ("good", "second"),
        ("good", ""),
    ]
    kept = Judgement.objects.get(piece__number=2)
    assert (kept.stage, kept.fault_names, kept.cells, kept.composition, kept.note) == (
        *("dry", ["Crazing"], 2, 1, "By the window"),
    )
    first, second, third, fourth = carried(pour)
    assert (second, first + third + fourth) == (0, COST)
    pour = Pour.objects.get(pk=pour.pk)
    assert (pour.good_count, pour.judged_count) == (3, 3)
    sound(bench)


def test_rates_are_learned_from_judged_pieces_and_a_second_is_fit_to_sell(bench):
    judge(wet(bench), (1, "good"), (2, "second"), (3, "failed"))

    habit = habits_of(bench.studio)[bench.bloom.pk]

    assert (habit.pieces, habit.good, habit.coated) == (3, 2, 0)


def test_the_coated_are_judged_anew_and_what_resin_spoils_is_told_apart(bench):
    pour = wet(bench)
    judge(pour, (1, "good"), (2, "failed"))
    coat = going_on.log_topcoat(pour=pour, by=None, kit=bench.kit, mixed_ml=D(60))

    judge(pour, (1, "failed", ["fish_eyes"]), (3, "good"))

    assert [verdict for _, verdict in standing(pour)] == ["failed", "failed", "good", ""]
    habit = habits_of(bench.studio)[bench.bloom.pk]
    assert (habit.pieces, habit.good, habit.coated, habit.coated_well) == (3, 2, 2, 1)
    coat.refresh_from_db()
    pour.refresh_from_db()
    assert (coat.spoiled_count, pour.good_count) == (1, 3)
    sound(bench)

    topcoats.undo_topcoat(coat=coat, by=None, why="Wrong kit")

    assert [verdict for _, verdict in standing(pour)] == ["good", "failed", "", ""]
    sound(bench)


def test_a_judgement_is_corrected_and_taken_back(bench):
    pour = wet(bench)
    judge(pour, (1, "failed", ["muddy"]), (2, "failed"))

    judge(pour, (1, "second"), (2, ""))

    assert standing(pour)[:2] == [("good", "second"), ("good", "")]
    assert Judgement.objects.get().faults == ""
    assert carried(pour) == [COST / 4] * 4
    sound(bench)


def test_what_is_lost_is_posted_on_the_day_of_the_judgement(bench):
    today = bench.studio.today()
    pour = wet(bench, poured_at=timezone.now() - timedelta(days=9))
    seen = [(number, "failed") for number in (1, 2, 3, 4)]

    judge(pour, *seen, judged_at=timezone.now() - timedelta(days=3))

    lost = Posting.objects.get()
    assert (lost.kind, lost.day) == ("pours", today - timedelta(days=3))
    assert lost.materials == COST
    sound(bench)

    judge(pour, (4, "good"))

    back = Posting.objects.order_by("pk").last()
    assert (back.day, back.materials) == (today, -COST)
    assert carried(pour) == [0, 0, 0, COST]
    sound(bench)


def test_what_one_sold_piece_carries_of_a_later_failure_is_a_cost_that_came_later(bench):
    pour = wet(bench)
    made = pack(bench, pour, 1)
    today = bench.studio.today()
    going_on.sell(
        studio=bench.studio,
        by=None,
        channel=bench.own_sale,
        sold_on=today,
        items=[(made, D(12))],
    )

    judge(pour, (2, "failed"), (3, "failed"), (4, "failed"))

    late = Posting.objects.get(kind="late")
    assert (late.materials, late.day) == (COST * 3 / 4, today)
    sound(bench)


@pytest.mark.parametrize(
    ("end", "advice"),
    [
        ("packed", "Unpack the set first"),
        ("sold", "refund the sale, then unpack"),
    ],
)
def test_a_piece_in_a_set_cannot_fail_before_it_is_unpacked(bench, end, advice):
    pour = wet(bench)
    made = pack(bench, pour, 1)
    if end == "sold":
        going_on.sell(
            studio=bench.studio,
            by=None,
            channel=bench.own_sale,
            sold_on=bench.studio.today(),
            items=[(made, D(12))],
        )

    with pytest.raises(JudgementRefused, match=advice):
        judge(pour, (2, "failed"), (1, "failed"))

    assert not Judgement.objects.exists()
    judge(pour, (1, "second"))
    assert made.seconds == 1


@pytest.mark.parametrize(
    ("seen", "more", "sentence"),
    [
        ([(5, "good")], {}, "pieces 1 to 4"),
        ([(1, "good"), (1, "failed")], {}, "each once"),
        ([], {}, "came out"),
        ([(1, "fine")], {}, "good, sellable as second, or failed"),
        ([(1, "failed", ["haunted"])], {}, "no fault called haunted"),
        ([(1, "good", (), 6)], {}, "from 1 to 5"),
        ([(1, "good")], {"stage": "coated"}, "no topcoat yet"),
        ([(1, "good")], {"judged_at": timezone.now() + timedelta(days=1)}, "has come"),
        ([(1, "good")], {"judged_at": timezone.now() - timedelta(days=1)}, "not poured yet"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_is_kept(bench, seen, more, sentence):
    pour = wet(bench)

    with pytest.raises(JudgementRefused, match=sentence):
        judge(pour, *seen, **more)

    assert not Judgement.objects.exists()


def test_what_failed_as_paint_is_not_judged_as_coated(bench):
    pour = wet(bench)
    judge(pour, (1, "failed"))
    going_on.log_topcoat(pour=pour, by=None, kit=bench.kit, mixed_ml=D(60))
    judge(pour, (2, "good"))

    with pytest.raises(JudgementRefused, match="failed before it was coated"):
        judge(pour, (1, "good"))
    with pytest.raises(JudgementRefused, match="judged with its topcoat already"):
        judge(pour, (2, "failed"), stage="dry")


def test_a_failed_piece_is_poured_again_for_its_commission(bench):
    line = accepted(bench, quantity=1).lines.get()
    pour = wet(bench, line=line)
    assert work_list(bench.studio).sessions == ()

    judge(pour, (4, "failed"))

    ((job,),) = (one.jobs for one in work_list(bench.studio).sessions)
    assert (job.line, job.count) == (line, 1)


# Wiped


def test_a_failed_tile_is_wiped_once_and_its_surface_comes_back(bench):
    pour = wet(bench)
    judge(pour, (1, "failed"), (2, "failed"))

    entry = recover_surfaces(pour=pour, by=None, pieces=[1, 2])

    assert shelf(bench)["tile"] == 18
    (move,) = entry.movements.all()
    assert (move.kind, move.quantity, move.value) == (Movement.Kind.RECOVER, 2, 0)
    assert sum(carried(pour)) == COST
    sound(bench)
    with pytest.raises(JudgementRefused, match="wiped already"):
        recover_surfaces(pour=pour, by=None, pieces=[2])
    with pytest.raises(JudgementRefused, match="so it stays failed"):
        judge(pour, (1, "good"))
    with pytest.raises(JudgementRefused, match="Undo that recovery first"):
        pours.undo_pour(pour=pour, by=None, why="Mistake")

    stock.reverse(studio=bench.studio, by=None, entry=entry, why="Did not come clean")

    assert shelf(bench)["tile"] == 16
    judge(pour, (1, "good"))
    sound(bench)


@pytest.mark.parametrize("method", ["fifo", "moving_average"])
def test_a_wiped_tile_costs_nothing_when_it_is_poured_on_again(method):
    """Of 20 tiles for 10.00 four are gone; two wiped ones make 18 worth 8.00 on average."""
    bench = working_studio(costing=method)
    pour = wet(bench)
    judge(pour, (1, "failed"), (2, "failed"))
    entry = recover_surfaces(pour=pour, by=None, pieces=[1, 2])
    bench.tile.refresh_from_db()

    assert bench.tile.value == 8
    sound(bench)
    stock.use(studio=bench.studio, by=None, amounts={bench.tile: D(1)}, why="Try")
    sound(bench)
    stock.reverse(studio=bench.studio, by=None, entry=entry, why="Mistake")
    assert shelf(bench)["tile"] == 15
    sound(bench)


@pytest.mark.parametrize(("numbers", "sentence"), [([3], "has not failed"), ([9], "each once")])
def test_only_what_failed_is_wiped(bench, numbers, sentence):
    pour = log(bench)

    with pytest.raises(JudgementRefused, match=sentence):
        recover_surfaces(pour=pour, by=None, pieces=numbers)


# Asked for


def test_it_is_asked_for_on_the_day_it_should_be_dry_and_in_one_alert(bench):
    today = bench.studio.today()
    old = [wet(bench, poured_at=timezone.now() - timedelta(days=days)) for days in (20, 19)]
    wet(bench)
    wet(bench, poured_at=timezone.now() - ASKED_FOR - timedelta(days=1))

    asked = judgings(bench.studio, today)
    (alert,) = judging_alerts(bench.studio)

    assert [(one.pour, one.stage, one.count) for one in asked] == [
        (old[1], "dry", 4),
        (old[0], "dry", 4),
    ]
    assert alert.title == "8 pieces to judge"
    for pour in old:
        judge(pour, *((number, "good") for number in (1, 2, 3, 4)))
    assert (judgings(bench.studio, today), list(judging_alerts(bench.studio))) == ([], [])


def test_the_coated_are_asked_for_once_the_resin_can_be_handled(bench):
    days_ago = timezone.now() - timedelta(days=20)
    pour = wet(bench, poured_at=days_ago)
    judge(pour, *((number, "good") for number in (1, 2, 3, 4)))
    coat = going_on.log_topcoat(pour=pour, by=None, kit=bench.kit, mixed_ml=D(60))
    assert judgings(bench.studio, bench.studio.today()) == []

    coat.coated_at = timezone.now() - timedelta(days=2)
    coat.save()

    (asked,) = judgings(bench.studio, bench.studio.today())
    assert (asked.stage, asked.count) == ("coated", 4)


@pytest.mark.parametrize("count", [1, 3])
def test_the_list_of_what_to_judge_takes_as_many_questions(bench, count, django_assert_num_queries):
    for days in range(count):
        wet(bench, poured_at=timezone.now() - timedelta(days=9 + days))

    with django_assert_num_queries(15):
        assert len(judgings(bench.studio, bench.studio.today())) == count


# On pages and in the API


def test_pieces_are_judged_on_a_page_with_a_picture(bench):
    client = member(bench.studio, "maker").client
    pour = wet(bench)
    page = reverse("judge", args=[pour.number])
    asked = {
        "piece2-verdict": "failed",
        "piece2-faults": ["bare_corner"],
        "piece2-cells": "2",
        "piece2-pictures": upload(),
        "rest": "on",
    }

    assert client.get(page).status_code == 200
    assert client.post(page, asked).status_code == 302

    assert [verdict for _, verdict in standing(pour)] == ["good", "failed", "good", "good"]
    picture = Picture.objects.get()
    assert (picture.kind, str(picture.thing)) == ("fault", f"Piece 2 of {pour}")
    shown = client.get(reverse("piece", args=[pour.number, 2])).content.decode()
    assert "Bare corner" in shown and "Wipe it" in shown
    recovered = client.post(reverse("piece-recover", args=[pour.number, 2]))
    assert recovered.status_code == 302
    assert shelf(bench)["tile"] == 17


def test_what_is_told_of_a_piece_without_a_verdict_is_asked_for(bench):
    client = member(bench.studio, "maker").client
    pour = wet(bench)

    answer = client.post(reverse("judge", args=[pour.number]), {"piece1-cells": "4"})

    assert answer.status_code == 422
    assert "Say how piece 1 came out" in answer.content.decode()


def test_a_second_is_shown_as_such_on_its_piece_its_set_and_its_sale(bench):
    client = member(bench.studio, "owner").client
    pour = wet(bench)
    judge(pour, (1, "second"))
    made = pack(bench, pour, 1)
    sale = going_on.sell(
        studio=bench.studio,
        by=None,
        channel=bench.own_sale,
        sold_on=bench.studio.today(),
        items=[(made, D(12))],
    )

    for page in (
        reverse("piece", args=[pour.number, 1]),
        reverse("set", args=[made.number]),
        reverse("sets"),
        reverse("sale", args=[sale.number]),
        reverse("sales"),
    ):
        assert "second" in client.get(page).content.decode().lower(), page
    assert client.get(reverse("pour", args=[pour.number])).status_code == 200


def test_a_program_judges_corrects_and_wipes(bench):
    api = member(bench.studio, "maker").api
    pour = wet(bench)
    path = f"/api/v1/pours/{pour.number}"
    one = {"piece": 1, "verdict": "failed", "faults": ["slid"], "composition": 1}

    judged = api.post(f"{path}/judge/", {"pieces": [one]}).data
    piece = api.get("/api/v1/pieces/?judged=true").data["results"]
    wiped = api.post(f"{path}/recover/", {"pieces": [1]})
    again = api.post(f"{path}/recover/", {"pieces": [1]})

    assert (judged["judged_count"], judged["good_count"]) == (1, 3)
    assert [(row["verdict"], row["judgements"][0]["faults"]) for row in piece] == [
        ("failed", ["slid"])
    ]
    assert (wiped.status_code, again.status_code) == (200, 409)
    assert again.data["code"] == "judgement_refused"
