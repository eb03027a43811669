"""A pour once more: its mixes as they were, what changed since, and where it goes on from there.

By hand, from tests.factories.bench: base is nine parts of white and one of water, the blue mix half
blue and half white, the gold mix pure, the activator three white to one blue; the palette has two
parts of the blue mix to one of gold.
"""

from decimal import Decimal as D
from io import BytesIO

import pytest
from django.core.exceptions import ValidationError
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone
from pypdf import PdfReader

from inventory.mixing.recipes import save_recipe
from inventory.models import Batch, Recipe
from inventory.stock import books
from pricing.bench.again import again
from pricing.bench.batches import mix_batch
from pricing.bench.frozen_pours import poured_mixes
from pricing.bench.old_mixes import write_old_mixes
from pricing.bench.pour_materials import LayerLog
from pricing.commissions.likeness import pour_behind
from pricing.costing.catalogue import save_palette
from pricing.costing.defaults import prepare_studio
from pricing.errors import PourRefused
from pricing.estimating.estimates import estimate
from pricing.exports import export_studio
from pricing.models import Commission, Palette
from pricing.models.shapes import validate_poured
from tests.conftest import member
from tests.factories import going_on
from tests.factories.bench import working_studio
from tests.factories.going_on import log_topcoat
from tests.factories.pricing import PictureFactory, PieceSetFactory
from tests.factories.studio import StudioFactory
from tests.pricing.archives import import_studio
from tests.pricing.bench.test_pours import log
from tests.pricing.commissions.test_commissions import accepted, opened

pytestmark = pytest.mark.django_db


@pytest.fixture
def bench():
    return working_studio()


def poured(bench, **changes):
    return log(
        bench,
        layers={
            "base": LayerLog(D(100), D(10)),
            "colours": LayerLog(D(60)),
            "activator": LayerLog(D(8)),
        },
        **changes,
    )


def change(bench, recipe, parts, **more):
    """Change a recipe to other parts by name."""
    return save_recipe(
        studio=bench.studio,
        recipe=recipe,
        name=recipe.name,
        role=recipe.role,
        basis=recipe.basis,
        parts=[(getattr(bench, name), D(number)) for name, number in parts.items()],
        **more,
    )


def mixes(pour):
    """Return {layer: [(name, mL, made of)]} as a pour keeps them."""
    return {
        layer.layer: [(one.mix.name, one.ml, one.mix.words) for one in poured_mixes(layer)]
        for layer in pour.layers.all()
    }


def text_of(answer):
    return " ".join(answer.content.decode().split())


def test_a_pour_keeps_what_its_mixes_were(bench):
    pour = poured(bench)

    assert mixes(pour) == {
        "base": [("base", 100, "9 white + 1 water, by volume")],
        "colours": [
            ("blue_mix", 40, "1 blue + 1 white, by volume"),
            ("gold_mix", 20, "1 gold"),
        ],
        "activator": [("activator", 8, "3 white + 1 blue, by volume")],
    }
    assert [one.parts for one in poured_mixes(pour.layers.get(layer="colours"))] == [2, 1]


def test_what_came_from_a_bottle_is_kept_as_its_batch_was_mixed(bench):
    batch = mix_batch(
        studio=bench.studio, by=None, recipe=bench.base, volume_ml=D(80), trace_seconds=D(7)
    )
    change(bench, bench.base, {"white": "4", "water": "1"})

    pour = log(bench, layers={"base": LayerLog(D(100), mixes=((batch.bottle, D(60)),))})

    first, second = poured_mixes(pour.layers.get())
    assert (first.ml, first.mix.words) == (60, "9 white + 1 water, by volume")
    assert (first.bottle, first.trace_seconds) == (batch.bottle.code, 7)
    assert (second.ml, second.mix.words) == (40, "4 white + 1 water, by volume")


def test_run_off_that_was_poured_has_no_recipe(bench):
    log(bench, layers={"base": LayerLog(D(100), kept_ml=D(40))})

    pour = log(bench, layers={"base": LayerLog(D(100), reclaimed_ml=D(30))})

    fresh, kept = poured_mixes(pour.layers.get())
    assert (fresh.ml, fresh.mix.name) == (70, "base")
    assert (kept.ml, kept.mix) == (30, None)


def test_a_mix_in_a_mix_is_kept_with_its_parts(bench):
    change(bench, bench.blue_mix, {"blue": "1", "base": "2"})

    pour = poured(bench)

    (blue, _) = poured_mixes(pour.layers.get(layer="colours"))
    assert blue.mix.words == "1 blue + 2 base, by volume"
    assert blue.mix.parts[1].mix.words == "9 white + 1 water, by volume"


def test_what_is_as_it_was_is_poured_from_its_own_palette(bench):
    pour = poured(bench)
    change(bench, bench.base, {"white": "18", "water": "2"})  # the same, in other numbers

    known = again(pour)

    assert known.changes == ()
    assert known.palette == bench.palette
    assert write_old_mixes(pour=pour, by=None) == bench.palette


def test_a_recipe_that_changed_is_told_and_the_old_mix_can_be_written_down(bench):
    pour = poured(bench)
    before = estimate(bench.studio, bench.tile_size, "bloom", 4, palette=bench.palette).materials
    change(bench, bench.base, {"white": "4", "water": "1"}, trace_seconds=D(6))

    known = again(pour)
    assert known.palette is None
    assert known.changes == (
        "base was 9 white + 1 water, by volume; without a trace. It is now 4 white + 1 water, by "
        "volume; with a trace of 6 seconds.",
    )

    palette = write_old_mixes(pour=pour, by=None)
    assert palette.name == f"Tide, pour {pour.number}"
    assert palette.base.name == f"base, pour {pour.number}"
    assert [part.parts for part in palette.base.parts.all()] == [9, 1]
    assert [colour.recipe for colour in palette.colours.all()] == [bench.blue_mix, bench.gold_mix]
    assert palette.activator == bench.activator
    assert [part.parts for part in bench.base.parts.all()] == [4, 1]  # left as it is now
    now = again(pour)
    assert (now.palette, now.used) == (palette, palette)
    taken = estimate(bench.studio, bench.tile_size, "bloom", 4, palette=palette).materials
    assert taken == before
    assert write_old_mixes(pour=pour, by=None) == palette
    assert Palette.objects.count() == 2 and Recipe.objects.count() == 5


def test_an_old_mix_in_a_mix_is_written_down_with_it(bench):
    change(bench, bench.blue_mix, {"blue": "1", "base": "2"})
    pour = poured(bench)
    change(bench, bench.base, {"white": "4", "water": "1"})

    palette = write_old_mixes(pour=pour, by=None)

    blue = palette.colours.get(position=0).recipe
    assert [str(part) for part in blue.parts.all()] == ["1 blue", f"2 base, pour {pour.number}"]
    assert blue.parts.get(position=1).subrecipe == palette.base


def test_other_shares_of_the_colours_are_told(bench):
    pour = poured(bench)
    save_palette(
        studio=bench.studio,
        palette=bench.palette,
        name="Tide",
        base=bench.base,
        activator=bench.activator,
        colours=[(bench.blue_mix, D(1)), (bench.gold_mix, D(1))],
    )
    bench.palette.refresh_from_db()

    known = again(pour)

    assert known.changes == (
        "The colours of Tide were 2 blue_mix + 1 gold_mix. They are now 1 blue_mix + 1 gold_mix.",
    )
    palette = write_old_mixes(pour=pour, by=None)
    assert [str(one) for one in palette.colours.all()] == ["2 blue_mix", "1 gold_mix"]


def test_materials_that_are_gone_are_named_with_what_to_do(bench):
    pour = poured(bench)
    bench.gold.archived_at = timezone.now()
    bench.gold.save()
    log(bench, count=16, layers={"base": LayerLog(D(10))})  # the last of the tiles
    bench.studio.materials.filter(name="white").update(name="white paint")

    gone = again(pour).gone

    assert gone == (
        "gold is archived. Bring it back, or choose another and pour a test first.",
        "There is no tile on hand. Buy some before you pour.",
    )


def test_of_pours_of_before_the_mixes_are_not_known(bench):
    pour = poured(bench)
    pour.layers.update(mixes=[])

    known = again(pour)

    assert not known.is_known
    assert known.changes == ()
    with pytest.raises(PourRefused, match="were not kept"):
        write_old_mixes(pour=pour, by=None)


def test_then_and_now_stand_side_by_side(bench):
    pour = poured(bench)
    log_topcoat(pour=pour, by=None, kit=bench.kit, mixed_ml=D(60), minutes=D(10))

    known = again(pour)

    base = known.layers[0]
    assert (base.layer.poured_ml, base.layer.mixed_ml) == (90, 100)
    assert base.now.to_mix_ml == known.piece.layer("base").to_mix_ml
    assert known.kit == bench.kit and known.piece.layer("topcoat")


@pytest.mark.parametrize("role", ["viewer", "maker"])
def test_the_planner_is_filled_in_and_says_what_it_took(bench, role):
    pour = poured(bench)
    log_topcoat(pour=pour, by=None, kit=bench.kit, mixed_ml=D(60), minutes=D(10))
    person = member(bench.studio, role)

    page = text_of(person.client.get(reverse("pour-again", args=[pour.number])))
    assert "9 white + 1 water, by volume" in page
    url = (
        f"{reverse('planner')}?size=Tile+10+%C3%97+10+cm&amp;technique=bloom&amp;count=4&amp;"
        f"palette={bench.palette.pk}&amp;topcoat={bench.kit.pk}&amp;again={pour.number}"
    )
    assert url in page
    plan = text_of(person.client.get(url.replace("&amp;", "&")))
    assert (
        '<span class="soft">90 mL</span>' in plan and f'name="again" value="{pour.number}"' in plan
    )
    sheet = person.client.get(
        url.replace("&amp;", "&").replace(reverse("planner"), reverse("plan-mixing"))
    )
    assert f"pour {pour.number}</a>: 9 white + 1 water, by volume" in text_of(sheet)


def test_a_pour_is_logged_from_the_amounts_of_then(bench):
    pour = poured(bench)
    maker = member(bench.studio, "maker")
    page = maker.client.get(reverse("pour-again", args=[pour.number]))
    url = page.context["pour_url"]

    form = maker.client.get(url).context["form"]

    assert (form["base_mixed"].value(), form["colours_mixed"].value()) == (
        "100.000 mL",
        "60.000 mL",
    )
    assert (form["surface"].value(), form["count"].value()) == (bench.tile_size.pk, 4)


def test_the_old_mixes_are_written_down_from_the_page(bench):
    pour = poured(bench)
    change(bench, bench.base, {"white": "4", "water": "1"})
    maker = member(bench.studio, "maker")
    here = reverse("pour-again", args=[pour.number])
    assert "Write the old mixes down" in text_of(maker.client.get(here))

    answer = maker.client.post(reverse("pour-old-mixes", args=[pour.number]), follow=True)

    palette = Palette.objects.get(name=f"Tide, pour {pour.number}")
    page = text_of(answer)
    assert f"{palette} has the mixes as they were." in page
    assert f"palette={palette.pk}" in page
    assert f"palette={bench.palette.pk}" in page  # to plan with the mixes of now
    sheet = maker.client.get(
        f"{reverse('plan-mixing')}?size=10x10cm&technique=bloom&count=4&palette={bench.palette.pk}"
        f"&again={pour.number}"
    )
    assert f'Not as in <a href="/pours/{pour.number}/again/">' in text_of(sheet)


def test_like_that_one_starts_on_the_commission_form(bench):
    commission = accepted(bench)
    line = commission.lines.get()
    pour = poured(bench, line=line)
    maker = member(bench.studio, "maker")
    new = reverse("commission-new")
    form = maker.client.get(f"{new}?like={pour.number}").context["form"]
    assert form["like"].value() == pour.number

    answer = maker.client.post(
        new,
        {"customer": bench.customer.pk, "title": "The same again", "like": pour.number},
        follow=True,
    )

    wanted = Commission.objects.get(title="The same again")
    form = answer.context["form"]
    assert form["surface"].value() == bench.tile_size.pk
    assert form["pieces_each"].value() == line.pieces_each
    data = {
        **{name: form[name].value() for name in ("technique", "palette", "quantity")},
        **{name: form[name].value() or "" for name in ("base", "topcoat", "packaging")},
        **{name: form[name].value() for name in ("surface", "pieces_each")},
        **going_on.WITH,
    }
    page = maker.client.post(f"{answer.redirect_chain[-1][0]}", data, follow=True)
    made = wanted.lines.get()
    assert made.like_pour == pour.number
    assert (made.technique, made.palette, made.topcoat) == (
        bench.bloom,
        bench.palette,
        line.topcoat,
    )
    assert f"Like pour {pour.number}" in text_of(page)
    sheet = maker.client.get(f"{reverse('mixing')}?commission={wanted.number}")
    assert f'As in <a href="/pours/{pour.number}/again/">' in text_of(sheet)
    paper = maker.client.get(f"{reverse('mixing-pdf')}?commission={wanted.number}")
    words = " ".join(page.extract_text() for page in PdfReader(BytesIO(paper.content)).pages)
    assert f"As in pour {pour.number}: 9 white + 1 water, by volume." in " ".join(words.split())


def test_a_product_is_filled_in_from_a_pour_and_finds_it_again(bench):
    pour = poured(bench)
    maker = member(bench.studio, "maker")
    url = maker.client.get(reverse("pour-again", args=[pour.number])).context["product_url"]

    page = maker.client.get(url)

    form = page.context["form"]
    assert form["palette"].value() == str(bench.palette.pk)
    answer = maker.client.post(
        url,
        {
            "name": "Tide tiles",
            "surface": bench.tile_size.pk,
            "technique": bench.bloom.pk,
            "palette": bench.palette.pk,
            "pieces_each": 4,
            **going_on.WITH,
        },
    )
    assert answer.status_code == 302
    product = bench.studio.products.get()
    answer = maker.client.get(reverse("product-again", args=[product.pk]))
    assert answer.url == reverse("pour-again", args=[pour.number])
    assert pour_behind(product) == pour


def test_sets_and_pictures_lead_to_their_pour(bench):
    pour = poured(bench)
    other = poured(bench)
    row = PieceSetFactory(studio=bench.studio)
    pour.pieces.filter(number__lte=3).update(piece_set=row)
    other.pieces.filter(number=1).update(piece_set=row)
    picture = PictureFactory(studio=bench.studio, pour=None, piece_set=row)
    commission = opened(bench)
    wish = PictureFactory(studio=bench.studio, pour=None, commission=commission, kind="like")
    viewer = member(bench.studio, "viewer").client
    here = reverse("pour-again", args=[pour.number])

    assert viewer.get(reverse("set-again", args=[row.number])).url == here
    assert viewer.get(reverse("picture-again", args=[picture.pk])).url == here
    assert viewer.get(reverse("picture-again", args=[wish.pk])).url == reverse(
        "picture", args=[wish.pk]
    )


def test_through_the_api(bench):
    pour = poured(bench)
    change(bench, bench.base, {"white": "4", "water": "1"})
    maker = member(bench.studio, "maker")

    read = maker.api.get(f"/api/v1/pours/{pour.number}/again/").data
    assert read["palette"] is None and len(read["changes"]) == 1
    assert read["layers"][0]["mixes"][0]["mix"]["parts"][0] == {
        "name": "white",
        "material": bench.white.pk,
        "parts": "9.000",
    }
    palette = maker.api.post(f"/api/v1/pours/{pour.number}/old-mixes/", {}).data
    assert palette["name"] == f"Tide, pour {pour.number}"
    commission = opened(bench)
    line = maker.api.post(
        f"/api/v1/commissions/{commission.number}/lines/",
        {
            "surface": bench.tile_size.pk,
            "technique": "bloom",
            "palette": palette["id"],
            "like_pour": pour.number,
            "use": "look",
        },
    )
    assert line.data["like_pour"] == pour.number


def test_another_studios_pour_is_not_there(bench):
    stranger = working_studio()
    pour = poured(stranger)
    maker = member(bench.studio, "maker")
    commission = opened(bench)

    for url in (
        reverse("pour-again", args=[pour.number]),
        f"{reverse('commission-new')}?like={pour.number}",
        f"{reverse('line-new', args=[commission.number])}?like={pour.number}",
    ):
        assert maker.client.get(url).status_code == 404
    with pytest.raises(Exception, match="no pour like that"):
        going_on.add_line(
            commission=commission,
            by=None,
            surface=bench.tile_size,
            technique=bench.bloom,
            palette=bench.palette,
            like=pour,
        )


def test_a_batch_keeps_its_recipe(bench):
    mix_batch(studio=bench.studio, by=None, recipe=bench.base, volume_ml=D(80))

    kept = Batch.objects.get().made_of

    assert [(part["name"], part["parts"]) for part in kept["parts"]] == [
        ("white", "9.000"),
        ("water", "1.000"),
    ]
    assert books.check(bench.studio) == []


def test_an_archive_brings_the_mixes_back_under_their_new_keys(bench):
    change(bench, bench.blue_mix, {"blue": "1", "base": "2"})
    batch = mix_batch(studio=bench.studio, by=None, recipe=bench.base, volume_ml=D(30))
    pour = poured(bench)
    archive = BytesIO()
    export_studio(bench.studio, archive)
    other = StudioFactory()
    prepare_studio(other)

    import_studio(other, archive)

    recipe = other.recipes.get(name="base")
    layer = other.pours.get(number=pour.number).layers.get(layer="base")
    (base,) = poured_mixes(layer)
    assert base.mix.recipe_id == recipe.pk != bench.base.pk
    assert base.mix.parts[0].material_id == other.materials.get(name="white").pk
    assert again(other.pours.get()).palette == other.palettes.get()
    assert other.batches.get().made_of["recipe_id"] == recipe.pk
    assert other.batches.get().made_of["parts"][0]["parts"] == "9.000"
    assert batch.made_of["recipe_id"] == bench.base.pk


@pytest.mark.parametrize(
    "mixes",
    [
        [{"ml": "0", "parts": None, "bottle": "", "trace_seconds": None, "mix": None}],
        [{"ml": "5", "parts": None, "bottle": "", "trace_seconds": None, "mix": {}}],
        [{"ml": "5"}],
        {},
        None,
    ],
)
def test_what_no_layer_is_poured_of_is_refused(mixes):
    with pytest.raises(ValidationError):
        validate_poured(mixes)


def test_a_page_costs_as_many_queries_for_one_layer_as_for_three(bench):
    one = log(bench, layers={"base": LayerLog(D(100))})
    three = poured(bench)
    client = member(bench.studio, "viewer").client
    client.get(reverse("pour-again", args=[one.number]))

    counts = []
    for pour in (one, three):
        with CaptureQueriesContext(connection) as seen:
            client.get(reverse("pour-again", args=[pour.number]))
        counts.append(len(seen))

    assert counts[0] == counts[1]
