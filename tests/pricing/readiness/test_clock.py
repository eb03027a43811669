"""The clock, against published times, and its one answer wherever days are told."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal as D

import pytest
from django.urls import reverse
from django.utils import timezone

from inventory.models import Material
from pricing.bench.pour_materials import LayerLog
from pricing.bench.topcoats import log_topcoat
from pricing.bench.work import work_list
from pricing.calendar.schedule import Desk
from pricing.errors import ReasonNeeded
from pricing.readiness.clock import paint_days, resin_days, slowed
from pricing.readiness.standing import standing_of
from pricing.selling.care import care_of_pieces
from tests.conftest import member
from tests.factories import going_on
from tests.factories.bench import working_studio
from tests.pricing.bench.test_pours import log
from tests.pricing.commissions.test_commissions import accepted

POURED = datetime(2026, 4, 1, 12, tzinfo=UTC)
THIN = {"base": LayerLog(D(20))}


def test_a_room_as_the_published_pour_at_18_degrees_dries_as_the_table_says():
    """An 8 x 10 in pour took 70+ h at 65 F, 18 C (trade.md 3): the table's three days are 72 h."""
    days = paint_days(1.5, "ordinary", 18)

    assert days == paint_days(1.5)
    assert 24 * days.touch_dry >= 70


@pytest.mark.parametrize(("room", "times"), [(24, 1), (18, 1), (13, 7 / 3), (9, (7 / 3) ** 1.8)])
def test_below_18_degrees_each_5_are_as_much_slower_as_the_published_pour(room, times):
    """30 h at 22 to 24 C against 70 h at 18 C is 7/3 (trade.md 3); that it goes on is a guess."""
    assert slowed(room) == pytest.approx(times)


def test_in_a_room_in_which_paint_dries_badly_nothing_is_promised():
    """Dries badly under 48 F, 9 C (trade.md 4.2)."""
    assert slowed(8.9) is None
    assert paint_days(1, "pouring", 8.9) is None


@pytest.mark.parametrize(
    ("film", "days"),
    [(1.5, (3, 7, 14, 28)), (3.0, (3, 14, 28, 28)), (3.1, (7, 28, 28, 42))],
)
def test_thickness_decides(film, days):
    """3 days to a week before moving, 1 to 4 weeks before resin, 3 to 4 weeks and more to cure:
    the cautious reading of trade.md 4.1, common practice, no source."""
    found = paint_days(film)

    assert (found.touch_dry, found.dry, found.varnish, found.cured) == days


def test_a_film_of_anti_craze_medium_is_moved_after_three_days():
    """Its maker says 3 days before moving (trade.md 4.1, A), of any film."""
    assert (paint_days(5, "anti-craze").touch_dry, paint_days(5, "pouring").touch_dry) == (3, 7)


@pytest.mark.parametrize(
    ("hours", "room", "days"),
    [
        (72, None, 3),
        (72, 24, 3),
        (73, None, 4),
        (168, 21, 7),
        (168, 16, 10),  # 7 x 2 ** 0.5 = 9.9
        (168, 15, None),  # 15 C or less fails (trade.md 5.4)
    ],
)
def test_resin_cures_slower_in_a_cooler_room_and_not_at_all_in_a_cold_one(hours, room, days):
    """Each 10 C halves or doubles pot life (trade.md 5.4); of the cure that is a guess."""
    assert resin_days(hours, room, 21) == days


pytestmark = pytest.mark.django_db


@pytest.fixture
def bench():
    return working_studio(time_zone="UTC")


def stands(pour):
    (one,) = standing_of([pour]).values()
    return one


def poured(bench, **more):
    return log(bench, **{"poured_at": POURED, "layers": THIN, "count": 4, "good_count": 4, **more})


def coat(bench, pour, **more):
    at = POURED + timedelta(days=7)
    return going_on.log_topcoat(
        pour=pour, by=None, kit=bench.kit, mixed_ml=D(40), coated_at=at, **more
    )


def test_a_pour_stands_where_its_film_and_room_say(bench):
    one = stands(poured(bench))
    cold = stands(poured(bench, room_c=D(13)))

    assert [f"{on:%d.%m.}" for _, on, _ in one.stages()] == ["01.04.", "04.04.", "08.04.", "29.04."]
    assert one.safe_from == one.cured_on
    # 7 x 7/3 = 16.3: 17 days.
    assert (cold.dry_on - cold.poured_on).days == 17
    assert (one.rate_is_guess, cold.rate_is_guess) == (False, True)


def test_a_guessed_rate_is_called_one_where_it_is_told(bench):
    pour = poured(bench, room_c=D(13))
    at = POURED + timedelta(days=1)
    with pytest.raises(ReasonNeeded, match="slows it is our guess"):
        log_topcoat(pour=pour, by=None, kit=bench.kit, mixed_ml=D(40), coated_at=at)
    page = member(bench.studio, "maker").client.get(reverse("pour", args=[pour.number]))
    assert "below 64 °F slows it is our guess" in page.content.decode()


def test_a_pour_in_a_room_too_cold_is_not_known(bench):
    one = stands(poured(bench, room_c=D(5)))

    assert one.safe_from is None
    assert "as cold as 5 °C (41 °F) nobody knows" in one.not_known
    assert [known for _, _, known in one.stages()] == [True, False, False, False]


def test_resin_is_cured_by_the_kits_hours_and_its_room(bench):
    """The kit of the tests cures in 168 h: 7 days, 10 at 16 °C (7 x 2 ** 0.5)."""
    warm, cool, cold = (poured(bench) for _ in range(3))
    bench.kit.room_from_c, bench.kit.room_to_c = D(21), D(29)
    bench.kit.save()
    (
        coat(bench, warm, room_c=D(23)),
        coat(bench, cool, room_c=D(16)),
        coat(bench, cold, room_c=D(14)),
    )

    assert f"{stands(warm).safe_from:%d.%m.}" == "15.04."
    assert f"{stands(cool).safe_from:%d.%m.}" == "18.04."
    assert stands(cold).safe_from is None
    assert "resin does not cure" in stands(cold).not_known


def test_the_medium_of_the_palette_counts(bench):
    thick = {"base": LayerLog(D(300)), "colours": LayerLog(D(100))}
    ordinary = stands(poured(bench, layers=thick))
    Material.objects.filter(studio=bench.studio, kind="paint").update(medium="anti-craze")

    anti = stands(poured(bench, layers=thick))

    assert ordinary.film_mm > 3
    assert (ordinary.days.touch_dry, anti.days.touch_dry) == (7, 3)


def test_todays_work_the_schedule_the_card_and_the_gate_say_the_same(bench):
    """A bare pour of today: packed after 28 days wherever it is asked (trade.md 4.1)."""
    line = accepted(bench, quantity=1).lines.get()
    pour = poured(bench, line=line, poured_at=timezone.now())
    day = bench.studio.today() + timedelta(days=28)

    assert stands(pour).safe_from == day
    ((packing,),) = (work_list(bench.studio).packings,)
    assert packing.from_on == day
    (job,) = Desk(bench.studio).jobs
    (batch,) = (one for one in job.batches if one.poured_on)
    assert batch.steps[-1].dried_hours == 24 * 28
    (care,) = care_of_pieces(bench.studio, pour.pieces.filter(number=1))
    assert f"{day.day} {day:%B %Y}" in care.words.ready


def test_pages_and_the_api_say_where_it_stands(bench):
    pour = poured(bench)
    viewer = member(bench.studio, "viewer")
    packed = going_on.pack_set(
        studio=bench.studio, by=None, name="Two", pieces=pour.pieces.all()[:2]
    )

    for page in (
        reverse("pour", args=[pour.number]),
        reverse("piece", args=[pour.number, 1]),
        reverse("set", args=[packed.number]),
    ):
        text = viewer.client.get(page).content.decode()
        assert "Where it stands" in text
        assert "8 Apr 2026" in text
        assert "The room was not noted" in text
    told = viewer.api.get(f"/api/v1/pours/{pour.number}/").data["standing"]
    assert (told["dry_on"], told["safe_from"]) == ("2026-04-08", "2026-04-29")
    assert (told["coated_on"], told["not_known"]) == (None, "")


@pytest.mark.parametrize("count", (1, 3))
def test_standing_asks_the_same_for_more_pours(bench, django_assert_num_queries, count):
    pours = [
        poured(bench, count=1, good_count=1, layers={"base": LayerLog(D(5))}) for _ in range(count)
    ]
    rows = list(bench.studio.pours.select_related("surface", "technique", "palette", "studio"))
    standing_of(rows)

    # layers, bases; topcoats; the hand; materials, recipes and parts; colours
    with django_assert_num_queries(8):
        assert len(standing_of(bench.studio.pours.all() and rows)) == len(pours)
