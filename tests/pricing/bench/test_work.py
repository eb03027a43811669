"""The day's work: what is mixed together, what is there for it, and what waits for which day."""

from datetime import datetime, timedelta
from decimal import Decimal as D
from zoneinfo import ZoneInfo

import pytest
from django.urls import reverse

from inventory.mixing.batches import mix_batch
from inventory.stock import holds
from pricing.bench.mixing_sheets import commission_sheet
from pricing.bench.pours import LayerLog
from pricing.bench.work import work_list
from pricing.commissions import orders as commissions
from pricing.costing.habits import habits_of
from pricing.estimating.estimates import estimate_commission
from pricing.models import FinishedPiece, Palette, Pour
from pricing.selling import sales
from studio.units import round_up_to_measure
from tests.conftest import member
from tests.factories import going_on
from tests.factories.bench import working_studio
from tests.factories.inventory import WorkFactory
from tests.factories.pricing import PaletteColourFactory
from tests.pricing.bench.test_pours import log
from tests.pricing.commissions.test_commissions import accepted

pytestmark = pytest.mark.django_db


@pytest.fixture
def bench():
    return working_studio()


def needed(commissions, layer, of="needed_ml"):
    """What some commissions need of a layer before it is rounded up to a measure."""
    return sum(
        getattr(line.piece.layer(layer), of)
        for one in commissions
        for line in estimate_commission(one).lines
    )


def another_palette(bench):
    palette = Palette.objects.create(studio=bench.studio, name="Dusk", base=bench.base)
    PaletteColourFactory(palette=palette, recipe=bench.gold_mix)
    return palette


def days_ago(days):
    return datetime.now(ZoneInfo("UTC")) - timedelta(days=days)


def test_lines_of_one_palette_are_one_session_rounded_once(bench):
    one, two = accepted(bench, quantity=1), accepted(bench, quantity=2)
    other = accepted(bench, quantity=1, palette=another_palette(bench))
    commissions.change_commission(commission=two, by=None, due_on=bench.studio.today())

    tide, dusk = work_list(bench.studio).sessions

    assert [(job.line.commission, job.count) for job in tide.jobs] == [(two, 8), (one, 4)]
    assert (tide.wanted_on, tide.pieces) == (bench.studio.today(), 12)
    assert dusk.commissions == [other.number]
    for layer in tide.layers:
        total, least = (
            needed([one, two], layer.session.layer, of) for of in ("needed_ml", "least_ml")
        )
        measured, words = round_up_to_measure(total, bench.studio.measures, least)
        assert layer.session.mix.measure == words
        assert 0 <= layer.session.mix.volume_ml - measured < D("0.1")
        assert sum(mix.volume_ml for mix in layer.mixes) == layer.session.mix.volume_ml
    sheet = commission_sheet(bench.studio, [one, two, other], bench.palette)
    assert float(next(cup for cup in sheet.cups if cup.recipe == bench.base).volume_ml) == (
        pytest.approx(float(tide.layers[0].session.mix.volume_ml), abs=0.1)
    )


def test_what_each_job_starts_with_adds_up_to_the_cups(bench):
    accepted(bench, quantity=1), accepted(bench, surface=bench.canvas_size, pieces_each=1)

    (session,) = work_list(bench.studio).sessions

    for layer in session.layers:
        parts = [job.log[f"{layer.session.layer}_mixed"] for job in session.jobs]
        total = sum(D(part.removesuffix(" mL")) for part in parts)
        assert total == layer.session.mix.volume_ml


def test_mixed_paint_is_used_first_and_only_the_rest_is_short(bench):
    """100 mL of the base are in a bottle, so that much less is mixed; no blue is left for more."""
    accepted(bench, quantity=1)
    batch = mix_batch(studio=bench.studio, by=None, recipe=bench.base, volume_ml=D(40))
    bottle = batch.bottle
    bottle.place = "Shelf B"
    bottle.save(update_fields=["place"])

    (session,) = work_list(bench.studio).sessions

    (mix,) = session.layers[0].mixes
    assert [(one.bottle, one.quantity, one.bottle.place) for one in mix.ready] == [
        (bottle, 40, "Shelf B")
    ]
    assert (mix.ready_ml, mix.fresh_ml) == (40, mix.volume_ml - 40)
    assert session.jobs[0].log[f"base_from_{bottle.pk}"] == "40.0 mL"
    assert session.short == ()


def test_what_is_held_for_others_is_short_and_earlier_work_has_the_shelf_first(bench):
    """20 tiles: 12 are held for a class, so 8 are there; the first 4 go to what is wanted first."""
    first = accepted(bench, quantity=1)
    second = accepted(bench, quantity=2, palette=another_palette(bench))
    commissions.change_commission(commission=first, by=None, due_on=bench.studio.today())
    holds.release(work=second.work)
    holds.hold(work=WorkFactory(studio=bench.studio), label="Class", needs={bench.tile: D(12)})

    tide, dusk = work_list(bench.studio).sessions

    (fetch,) = tide.fetch
    there = sum(one.quantity for one in fetch.taken)
    assert (fetch.material, fetch.quantity, there) == (bench.tile, 4, 4)
    assert tide.short == ()
    assert [(one.material, one.missing) for one in dusk.short] == [(bench.tile, 4)]


def test_failed_pieces_are_poured_again_and_count_against_the_technique(bench):
    """Of four, one failed: one is left to pour, and the bloom has 3 good pieces of 4 to learn."""
    line = accepted(bench, quantity=1).lines.get()

    log(bench, line=line, good_count=3)

    ((job,),) = (one.jobs for one in work_list(bench.studio).sessions)
    assert (job.line, job.count) == (line, 1)
    habit = habits_of(bench.studio)[bench.bloom.pk]
    assert (habit.good, habit.pieces) == (3, 4)
    assert habit.pour_success < bench.bloom.success_rate or bench.bloom.success_rate < D("0.75")


def test_resin_waits_until_the_paint_is_dry_and_packing_until_that_is_cured(bench):
    """A thin film waits 7 days for resin (advice/drying.py, common practice); the kit is cured
    after 168 hours."""
    studio, today = bench.studio, bench.studio.today()
    line = accepted(bench, quantity=1, topcoat=bench.kit, packaging=bench.box).lines.get()
    thin = {"base": LayerLog(D(40)), "colours": LayerLog(D(20))}
    pour = log(bench, line=line, good_count=4, layers=thin, poured_at=days_ago(2))

    work = work_list(studio)
    ((coating,), ()) = (work.coatings, work.packings)
    assert (coating.pour, coating.count) == (pour, 4)
    assert coating.from_on == today + timedelta(days=5)
    assert coating.layer.to_mix_ml > 0

    going_on.log_topcoat(pour=pour, by=None, kit=bench.kit, mixed_ml=D(70))
    work = work_list(studio)
    ((), (packing,)) = (work.coatings, work.packings)
    assert (packing.line, packing.sets, packing.short) == (line, 1, 0)
    assert packing.from_on == today + timedelta(days=7)

    going_on.pack_set(studio=studio, by=None, name="", pieces=pour.pieces.all(), line=line)
    work = work_list(studio)
    assert (work.sessions, work.coatings, work.packings) == ((), (), ())
    (delivery,) = work.deliveries
    assert (delivery.sets, delivery.of, delivery.is_all) == (1, 1, True)
    assert delivery.from_on == today + timedelta(days=7)
    going_on.sell(
        studio=studio,
        by=None,
        channel=bench.own_sale,
        sold_on=today,
        items=sales.prices_quoted(line.commission),
    )
    assert work_list(studio).is_empty


def test_a_set_packed_from_other_pieces_leaves_nothing_to_pour(bench):
    line = accepted(bench, quantity=1).lines.get()
    stock = log(bench, good_count=4)

    going_on.pack_set(studio=bench.studio, by=None, name="", pieces=stock.pieces.all(), line=line)

    assert work_list(bench.studio).sessions == ()
    assert not bench.studio.holds.open().exists()


@pytest.mark.parametrize("count", (1, 3))
def test_the_page_asks_the_same_for_more_work(bench, django_assert_num_queries, count):
    for _ in range(count):
        line = accepted(bench, quantity=1, topcoat=bench.kit).lines.get()
        log(bench, line=line, count=1, good_count=1, layers={"base": LayerLog(D(20))})
    client = member(bench.studio, "viewer").client
    client.get(reverse("work"))  # what is learned is kept in the process

    # session, person, membership; commissions; what is done of their lines (3); mixes (3), holds,
    # bottles; pieces, pours, layers, topcoats, sets, lines with their steps; two estimates of ten
    # less one; twice where pours stand: topcoats, mixes (3), palettes and their colours
    with django_assert_num_queries(53):
        client.get(reverse("work"))


def test_page_paper_and_api_show_it_to_members_only(bench, other_owner):
    commission = accepted(bench, quantity=1)
    viewer, maker = member(bench.studio, "viewer"), member(bench.studio, "maker")

    shown = viewer.client.get(reverse("work")).content.decode()
    assert "4 × Tile 10 × 10 cm" in shown
    assert "Log a pour" not in shown
    assert viewer.client.get(reverse("work-sheet")).content.startswith(b"%PDF")
    data = viewer.api.get("/api/v1/work-list/").data
    assert [one["commission"] for one in data["sessions"][0]["jobs"]] == [commission.number]
    assert data["sessions"][0]["fetch"][0]["material"]["name"] == "tile"
    assert other_owner.api.get("/api/v1/work-list/").data["sessions"] == []
    assert "Tide" not in other_owner.client.get(reverse("work")).content.decode()
    assert "Log a pour" in maker.client.get(reverse("work")).content.decode()


def test_a_pour_is_logged_from_the_list_with_a_few_taps(bench):
    """All but what went wrong stands there already: pieces, amounts; minutes are the usual."""
    accepted(bench, quantity=1)
    mix_batch(studio=bench.studio, by=None, recipe=bench.base, volume_ml=D(30))
    client = member(bench.studio, "maker").client
    page = client.get(reverse("work"))
    ((_, _, ((_, url),)),) = page.context["sessions"]

    form = client.get(url).context["form"]
    filled = {field.name: field.value() for field in form if field.value() not in (None, "", [])}
    assert filled["count"] == 4
    assert "minutes" not in filled
    # A bloom is set up in 25, and each tile poured in 6 and cleaned up in 3.
    assert form["minutes"].help_text == "Leave empty for the usual: 61 for 4 pieces."
    assert {"base_mixed", "colours_mixed", "activator_mixed"} <= set(filled)
    answer = client.post(url, filled | {"minutes": ""})

    assert answer.status_code == 302, answer.context["form"].errors
    pour = Pour.objects.get()
    assert pour.minutes == 61
    assert FinishedPiece.objects.filter(pour=pour, state="good", verdict="").count() == 4
    assert pour.layers.get(layer="base").from_mixes_ml == 30


def test_a_palette_of_another_studio_has_no_mixing_sheet(bench, other_owner):
    asked = {"palette": bench.palette.pk}

    assert other_owner.client.get(reverse("mixing"), asked).status_code == 404


@pytest.mark.parametrize("said", ("²", "0", "9999", "four"))
def test_a_count_in_the_address_that_is_none_leaves_what_is_left(bench, said):
    line = accepted(bench, quantity=1).lines.get()
    client = member(bench.studio, "maker").client

    form = client.get(reverse("pour-new"), {"line": line.pk, "count": said}).context["form"]

    assert form["count"].value() == 4
