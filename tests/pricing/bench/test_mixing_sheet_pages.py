"""Mixing sheets and the batches mixed from them."""

from decimal import Decimal as D
from io import BytesIO

import pytest
from django.urls import reverse
from pypdf import PdfReader

from inventory.mixing.batches import mix_batch
from inventory.models import Batch
from inventory.stock import ledger as stock
from pricing.bench import mixing_sheets
from pricing.bench.pours import LayerLog
from pricing.estimating.estimates import estimate, estimate_commission
from studio.units import round_up_to_measure
from tests.conftest import member
from tests.factories.bench import working_studio
from tests.factories.going_on import log_topcoat
from tests.factories.inventory import RecipePartFactory
from tests.pricing.bench.test_pours import log
from tests.pricing.commissions.test_commissions import accepted

pytestmark = pytest.mark.django_db


@pytest.fixture
def bench():
    return working_studio()


@pytest.fixture
def client(bench):
    return member(bench.studio, "maker").client


def text_of(response):
    return " ".join(response.content.decode().split())


def paper_of(response):
    pages = PdfReader(BytesIO(response.content)).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split())


def batch_data(bench, **changes):
    return {"recipe": bench.base.pk, "volume_ml": "1 cup", "trace_seconds": "5", **changes}


@pytest.mark.parametrize("role", ["viewer", "maker", "owner"])
@pytest.mark.parametrize("page", ["mixing", "plan-mixing", "batches"])
def test_every_member_may_look(bench, role, page):
    assert member(bench.studio, role).client.get(reverse(page)).status_code == 200


def test_a_viewer_logs_no_batch(bench):
    answer = member(bench.studio, "viewer").client.post(reverse("batch-new"), batch_data(bench))

    assert answer.status_code == 403
    assert not Batch.objects.exists()


def test_a_plans_cups_add_up_to_what_the_plan_says_to_mix(bench):
    piece = estimate(bench.studio, bench.tile_size, "bloom", 4, palette=bench.palette)

    sheet = mixing_sheets.plan_sheet(bench.studio, piece, "4 × Tile", bench.palette)

    mixes = {
        mix.name: mix.to_mix_ml.quantize(D("0.1"), "ROUND_CEILING")
        for layer in piece.layers
        for mix in layer.mixes
    }
    assert {cup.recipe.name: cup.volume_ml for cup in sheet.cups} == mixes
    for cup in sheet.cups:
        last = cup.additions[-1].step
        assert sum(one.step.ml for one in cup.additions) == cup.volume_ml == last.running_ml
        assert last.running_g == cup.mass_g


def test_the_scale_shows_a_running_total_of_density_times_volume(bench):
    """Nine parts of white at 1.1 g/mL and one of water at 1: 0.9 × 1.1 + 0.1 = 1.09 g/mL."""
    piece = estimate(bench.studio, bench.tile_size, "bloom", 4, palette=bench.palette)

    sheet = mixing_sheets.plan_sheet(bench.studio, piece, "4 × Tile", bench.palette)

    (cup,) = (cup for cup in sheet.cups if cup.recipe == bench.base)
    white, water = (one.step for one in cup.additions)
    assert white.name == "white"
    assert float(white.running_g) == pytest.approx(float(cup.volume_ml) * 0.99, abs=0.05)
    assert float(water.running_g) == pytest.approx(float(cup.volume_ml) * 1.09, abs=0.05)


def test_a_plans_sheet_is_read_on_page_and_paper(bench, client):
    bench.base.trace_seconds = D(5)
    bench.base.save()
    asked = {"size": "8x8x1.5in", "palette": bench.palette.pk, "topcoat": bench.kit.pk}

    shown = text_of(client.get(reverse("plan-mixing"), asked))
    paper = paper_of(client.get(reverse("plan-mixing-pdf"), asked))

    for words in ("base", "blue_mix", "gold_mix", "activator", "1 × 8x8x1.5in, bloom"):
        assert words in shown
        assert words in paper
    assert "Trace: <strong>5 seconds</strong>" in shown
    assert "Trace wanted: 5 s" in paper
    assert "set it to zero once" in paper
    assert "122 °F, as its maker states" in paper
    assert "safety data sheet" in paper


def test_a_plan_without_a_palette_has_nothing_to_mix(client):
    assert "no palette is chosen" in text_of(client.get("/plan/mixing/", {"size": "8x8in"}))


def test_a_size_that_cannot_be_read_is_answered_in_words(client):
    asked = {"size": "blue"}

    assert "Size: “blue”" in text_of(client.get("/plan/mixing/", asked))
    assert client.get(reverse("plan-mixing-pdf"), asked).status_code == 404


def test_a_days_commissions_share_their_cups(bench, client):
    one, two = accepted(bench), accepted(bench, surface=bench.canvas_size, pieces_each=1)

    sheet = mixing_sheets.commission_sheet(bench.studio, [one, two])

    (cup,) = (cup for cup in sheet.cups if cup.recipe == bench.base)
    needed = sum(
        line.piece.layer("base").needed_ml
        for commission in (one, two)
        for line in estimate_commission(commission).lines
    )
    # added up first, then rounded once
    assert float(cup.volume_ml) == pytest.approx(
        float(round_up_to_measure(needed, bench.studio.measures, D("0.98") * needed)[0]), abs=0.1
    )
    assert cup.labels == ("base coat of 8 × Tile 10 × 10 cm, 2 × Canvas 8 × 8 × 1½ in",)
    asked = {"commission": [one.number, two.number]}
    assert cup.labels[0] in text_of(client.get(reverse("mixing"), asked))
    assert f"commissions {one.number}, {two.number}" in paper_of(
        client.get(reverse("mixing-pdf"), asked)
    )


def test_only_what_is_left_is_mixed_for(bench):
    commission = accepted(bench, topcoat=bench.kit)
    line = commission.lines.get()
    pour = log(bench, line=line, count=6, good_count=5)

    poured = mixing_sheets.commission_sheet(bench.studio, [commission])
    log_topcoat(pour=pour, by=None, kit=bench.kit, mixed_ml=D(60), minutes=D(20))
    coated = mixing_sheets.commission_sheet(bench.studio, [commission])

    assert [work.piece.count for work in poured.works] == [3]
    assert [coat.label for coat in poured.coats] == ["8 × Tile 10 × 10 cm"]
    assert [coat.label for coat in coated.coats] == ["3 × Tile 10 × 10 cm"]


def test_another_studios_commission_is_not_there(bench, client):
    other = accepted(working_studio())
    other.number = 77
    other.save()

    for page in ("mixing", "mixing-pdf"):
        assert client.get(reverse(page), {"commission": 77}).status_code == 404
    assert client.get(reverse("mixing"), {"commission": "x"}).status_code == 404


@pytest.mark.parametrize("count", (1, 3))
def test_a_sheet_asks_as_often_for_one_commission_as_for_three(
    bench, client, count, django_assert_num_queries
):
    chosen = [accepted(bench, quantity=1, pieces_each=1).number for _ in range(count)]
    client.get(reverse("mixing"), {"commission": chosen})

    # who asks in three; those chosen and offered; pieces, good and coated; lines with colours and
    # steps, state of the pours and recipes in three, for pouring; the lines to coat; recipes again;
    # what is held and what stands in bottles; the mixes on hand; the steps of the techniques, and
    # how much runs off
    with django_assert_num_queries(24):
        client.get(reverse("mixing"), {"commission": chosen})


def test_a_batch_is_logged_and_judged_by_its_trace(bench, client):
    bench.base.trace_seconds = D(5)
    bench.base.save()

    answer = client.post(
        reverse("batch-new"), batch_data(bench, trace_seconds="2.5", purpose="Tiles"), follow=True
    )

    batch = Batch.objects.get()
    assert (batch.recipe, batch.volume_ml, batch.trace_seconds) == (
        bench.base,
        D("236.588"),
        D("2.5"),
    )
    assert "asks for 5 s: too thin. Stir in more paint or medium." in text_of(answer)
    assert "Off its trace" in text_of(client.get(reverse("batches")))
    assert "Where it comes from: common practice, no source." in text_of(answer)


def test_the_form_starts_from_the_cup_it_was_opened_at(bench, client):
    piece = estimate(bench.studio, bench.tile_size, "bloom", 4, palette=bench.palette)
    volume = mixing_sheets.plan_sheet(bench.studio, piece, "x", bench.palette).cups[0].volume_ml
    asked = {"size": "Tile 10 × 10 cm", "count": 4, "palette": bench.palette.pk}
    page = client.get(reverse("plan-mixing"), asked)

    (url, *_) = (url for _, url in page.context["cups"])
    form = client.get(url).context["form"]

    assert str(form["volume_ml"].value()) == f"{volume} mL"
    assert form["recipe"].value() == str(page.context["cups"][0][0].recipe.pk)


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"volume_ml": "lots"}, "“lots”"),
        ({"volume_ml": ""}, "This field is required."),
        ({"trace_seconds": "0"}, "greater than or equal to 0.1"),
        ({"trace_seconds": "slow"}, "Enter a number."),
        ({"temperature_c": "90 °C"}, "Give a temperature from"),
        ({"recipe": ""}, "This field is required."),
    ],
)
def test_a_batch_that_cannot_be_is_refused_and_what_was_typed_stays(
    bench, client, changes, sentence
):
    data = batch_data(bench, notes="Stirred slowly", **changes)

    answer = client.post(reverse("batch-new"), data)

    assert answer.status_code == 422
    assert sentence in text_of(answer)
    assert "Stirred slowly" in text_of(answer)
    assert not Batch.objects.exists()


def test_another_studios_recipe_and_batches_are_not_there(bench, client):
    theirs = RecipePartFactory(recipe__name="Secret mix", material__is_stocked=False).recipe
    batch = mix_batch(studio=theirs.studio, by=None, recipe=theirs, volume_ml=D(10))

    assert client.post(reverse("batch-new"), batch_data(bench, recipe=theirs.pk)).status_code == 422
    assert client.post(reverse("batch-undo", args=[batch.pk])).status_code == 404
    assert "Secret mix" not in text_of(client.get(reverse("batches")))
    assert Batch.objects.get() == batch


def test_a_maker_undoes_a_batch_and_a_viewer_does_not(bench, client):
    batch = mix_batch(studio=bench.studio, by=None, recipe=bench.base, volume_ml=D(10))
    url = reverse("batch-undo", args=[batch.pk])

    refused = member(bench.studio, "viewer").client.post(url, {"why": "Wrong"})

    assert refused.status_code == 403
    assert bench.studio.batches.standing().exists()
    assert "The batch is undone." in text_of(client.post(url, {"why": "Wrong"}, follow=True))
    assert not bench.studio.batches.standing().exists()
    assert "Undone" in text_of(client.get(reverse("batches")))


def test_a_batch_that_was_used_says_why_it_is_not_undone(bench, client):
    batch = mix_batch(studio=bench.studio, by=None, recipe=bench.base, volume_ml=D(10))
    log(bench, layers={"base": LayerLog(D(10), mixes=((batch.bottle, D(4)),))})

    answer = client.post(reverse("batch-undo", args=[batch.pk]), {"why": "Wrong"})

    assert answer.status_code == 422
    assert "Undo what used it first" in text_of(answer)


def test_bottles_are_offered_once_the_recipe_is_chosen(bench, client):
    """White stands in two bottles; of the water there is no choice."""
    receipt = stock.Receipt(material=bench.white, quantity=D(100), value=D(2))
    stock.receive(studio=bench.studio, by=None, receipts=[receipt])
    new = bench.white.bottles.last()
    asked = batch_data(bench, notes="Stirred slowly")

    offered = client.post(reverse("batch-new"), asked | {"choose": "1"})
    done = client.post(reverse("batch-new"), asked | {"from_bottles": [new.pk]}, follow=True)

    assert offered.status_code == 200
    assert f"{new.code} white, 100 mL" in text_of(offered)
    assert "Stirred slowly" in text_of(offered)
    new.refresh_from_db()
    assert new.remaining == 0  # 236.588 mL of base take 212.9 of white
    assert f'href="{reverse("bottle", args=[new.code])}"' in text_of(done)


def test_a_batch_page_of_another_studio_is_not_there(bench, client):
    theirs = working_studio()
    batch = mix_batch(studio=theirs.studio, by=None, recipe=theirs.base, volume_ml=D(10))

    assert client.get(reverse("batch", args=[batch.pk])).status_code == 404


def test_a_batch_from_before_mixing_moved_stock_reads_as_such(bench, client):
    old = bench.studio.batches.create(
        recipe=bench.base, volume_ml=D(10), made_at="2026-01-05T10:00Z"
    )

    assert "it took nothing from the shelf" in text_of(client.get(reverse("batch", args=[old.pk])))


def test_a_pours_form_offers_the_mixes_of_its_layers(bench, client):
    bottle = mix_batch(studio=bench.studio, by=None, recipe=bench.base, volume_ml=D(100)).bottle
    page = client.get(reverse("pour-new"))
    data = {
        "surface": bench.tile_size.pk,
        "technique": bench.bloom.pk,
        "palette": bench.palette.pk,
        "count": "4",
        "minutes": "30",
        "base_mixed": "100 mL",
        f"base_from_{bottle.pk}": "60 mL",
    }

    poured = client.post(reverse("pour-new"), data, follow=True)

    assert f"base_from_{bottle.pk}" in page.context["form"].fields
    assert f"colours_from_{bottle.pk}" not in page.context["form"].fields
    assert "100 mL" in text_of(page)
    assert "60 mL" in text_of(poured)
    assert "from bottles of mix" in text_of(poured)
    bottle.refresh_from_db()
    assert bottle.remaining == 40


def test_a_batch_of_a_commissions_cup_is_mixed_for_it(bench, client):
    commission = accepted(bench)
    sheet = client.get(reverse("mixing"), {"commission": commission.number})
    url = next(url for cup, url in sheet.context["cups"] if cup.recipe == bench.base)

    data = batch_data(bench, commission=commission.pk, volume_ml="100 mL")
    client.post(url, data)

    assert client.get(url).context["form"]["commission"].value() == commission.pk
    assert commission.studio.holds.open().get(material__recipe=bench.base).outstanding == 100
    assert "There already" in text_of(
        client.get(reverse("mixing"), {"commission": commission.number})
    )


@pytest.mark.parametrize("count", (1, 3))
def test_batches_ask_as_often_for_one_row_as_for_three(
    bench, client, count, django_assert_num_queries
):
    for _ in range(count):
        mix_batch(studio=bench.studio, by=None, recipe=bench.base, volume_ml=D(10))

    with django_assert_num_queries(5):  # who asks in three; how many; the batches
        client.get(reverse("batches"))
