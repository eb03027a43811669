"""The quick planner, why a number is what it is, and the table of amounts by size."""

import html
import re
from decimal import Decimal
from io import BytesIO
from urllib.parse import urlencode

import pytest
from django.urls import reverse
from pypdf import PdfReader

from pricing.calendar.what_if import earliest_promise
from pricing.earnings.own_prices import BY_AREA, BY_SIDES, OWN
from pricing.estimating.estimates import estimate
from pricing.estimating.size_table import COMMON_SIZES
from pricing.models import Palette
from tests.conftest import member
from tests.factories.bench import working_studio
from tests.factories.pricing import (
    CommissionLineFactory,
    ProductFactory,
    SavedSurfaceFactory,
)
from tests.pricing.bench.test_pours import log

pytestmark = pytest.mark.django_db
PAGES = ("planner", "plan-why", "size-table", "size-table-pdf")


@pytest.fixture
def bench():
    return working_studio()


@pytest.fixture
def client(bench):
    return member(bench.studio, "viewer").client


def address(page):
    return reverse(page, args=["base"] if page == "plan-why" else [])


def text_of(response):
    return " ".join(response.content.decode().split())


def plan(client, page="planner", **asked):
    return client.get(address(page), {"size": "8x8x1.5in", "technique": "bloom", **asked})


@pytest.mark.parametrize("page", PAGES)
@pytest.mark.parametrize("role", ["viewer", "maker", "owner"])
def test_every_member_may_plan(bench, page, role):
    answer = plan(member(bench.studio, role).client, page)

    assert answer.status_code == 200


def test_the_amounts_are_the_estimators_own(bench, client):
    shown = text_of(plan(client, size="Tile 10 × 10 cm", count="4", palette=bench.palette.pk))

    found = estimate(bench.studio, bench.tile_size, "bloom", 4, palette=bench.palette)
    for layer in found.layers:
        assert layer.measure in shown
        assert layer.mix_measure in shown
    for material in found.materials:
        assert material.name in shown
    assert "All 4 pieces together" in shown


def test_htmx_gets_the_amounts_alone(client):
    part = client.get("/plan/", {"size": "8x8in"}, headers={"HX-Request": "true"})
    page = client.get(
        "/plan/",
        {"size": "8x8in"},
        headers={"HX-Request": "true", "HX-History-Restore-Request": "true"},
    )

    assert "<form" not in part.content.decode()
    assert "Base coat" in part.content.decode()
    assert "HX-Request" in part.headers["Vary"]
    assert "<form" in page.content.decode()


@pytest.mark.parametrize(
    ("asked", "sentence"),
    [
        ({"size": "blue"}, "Size: “blue”"),
        ({"size": "0 x 8 in"}, "Size:"),
        ({"size": "-3 x 8 in"}, "Size:"),
        ({"size": "NaN x 8 in"}, "Size:"),
        ({"count": "0"}, "How many: Ensure this value is greater than or equal to 1."),
        ({"count": "many"}, "How many: Enter a whole number."),
        ({"technique": "spatter"}, "Technique:"),
    ],
)
def test_bad_input_is_answered_in_a_sentence_and_kept(client, asked, sentence):
    shown = text_of(plan(client, **asked))

    assert sentence in shown
    assert "Base coat" not in shown
    (typed,) = asked.values()
    assert typed in shown


def test_nothing_of_another_studio_can_be_planned_with(client):
    other = working_studio()
    SavedSurfaceFactory(studio=other.studio, name="Secret tray")

    named = text_of(plan(client, size="Secret tray"))
    mixed = text_of(plan(client, palette=other.palette.pk))

    assert "Base coat" not in named
    assert "Palette: Select a valid choice" in mixed


def test_a_topcoat_comes_with_times_limit_and_cautions(bench, client):
    shown = text_of(plan(client, topcoat=bench.kit.pk))

    for words in ("Part A in all", "Pot life", "Next coat", "Handle after", "7 days of cure"):
        assert words in shown
    assert "122 °F, as its maker states" in shown
    assert "with the gloves that the data sheet names" in shown
    assert "safety data sheet" in shown


def test_advice_says_what_was_worked_out_and_where_the_limit_comes_from(client):
    shown = text_of(plan(client))

    assert "Worked out:" in shown
    assert "Limit: 1.5 mm" in shown  # the palette has no pouring medium
    assert "Where it comes from: paint makers" in shown


def test_why_names_own_pours_and_common_practice_with_their_weight(bench, client):
    pour = log(bench)

    shown = text_of(plan(client, "plan-why", size="Tile 10 × 10 cm"))

    assert reverse("pour", args=[pour.number]) in shown
    # 100 mL on four tiles of 10 × 10 cm and 6 mm sides: 25 mL on 124 cm² each.
    assert re.search(r"your own pour, bloom: 25 mL \([^)]+\) each, poured 2\.0 mm thick", shown)
    assert "4 × 4 in tile, ¼ in thick" in shown
    assert "of the weight" in shown
    assert 'role="img"' in shown  # the curve


def test_a_layer_the_technique_does_not_have_is_nothing_there(client):
    answer = client.get(
        reverse("plan-why", args=["activator"]), {"size": "8x8in", "technique": "flip-cup"}
    )

    assert answer.status_code == 404


def test_without_sizes_of_its_own_a_studio_gets_the_common_ones(studio):
    from pricing.costing.defaults import prepare_studio

    prepare_studio(studio)
    shown = text_of(member(studio, "viewer").client.get(address("size-table")))

    assert all(size in shown for size in COMMON_SIZES)


def test_the_size_table_says_what_the_planner_says(bench, client):
    shown = text_of(client.get(address("size-table")))
    pdf = PdfReader(BytesIO(client.get(address("size-table-pdf")).content))
    paper = " ".join(" ".join(page.extract_text() for page in pdf.pages).split())

    for surface in (bench.tile_size, bench.canvas_size):
        for layer in estimate(bench.studio, surface, "bloom").layers:
            cell = f"<strong>{layer.measure}</strong>"
            assert cell in shown
            assert f"mix {layer.mix_measure}" in shown
            assert layer.measure in paper
        assert surface.name in paper
    assert "For one piece" in paper


@pytest.mark.parametrize("count", (1, 3))
def test_the_planner_asks_as_often_for_one_pour_as_for_three(
    bench, client, count, django_assert_num_queries
):
    for number in range(count):
        log(bench, count=2, good_count=2)
        SavedSurfaceFactory(studio=bench.studio, name=f"Board {number}")
    plan(client)  # the studio's hand is worked out once after each pour

    # session, person and membership; the size's choices; technique; palettes, kits and techniques
    # offered; palette and its colours, recipes in three; the state of the pours for the estimate
    # and for its reasons; and for the day all accepted work, the habits and the working days
    with django_assert_num_queries(29):
        plan(client, palette=bench.palette.pk)


@pytest.mark.parametrize("count", (1, 3))
def test_the_size_table_asks_as_often_for_one_size_as_for_three(
    bench, client, count, django_assert_num_queries
):
    bench.studio.surfaces.all().delete()
    for number in range(count):
        SavedSurfaceFactory(studio=bench.studio, name=f"Board {number}")
    client.get(address("size-table"))

    with django_assert_num_queries(6):  # who asks in three; sizes, techniques, state of the pours
        client.get(address("size-table"))


def test_all_paint_stands_below_the_layers(bench, client):
    shown = text_of(plan(client, size="Tile 10 × 10 cm", count="4", palette=bench.palette.pk))

    total = estimate(bench.studio, bench.tile_size, "bloom", 4, palette=bench.palette).total
    assert f'<th scope="row">All paint</th> <td><span class="big">{total.measure}</span>' in shown


def test_a_ring_pour_is_asked_what_it_is_over(client):
    either = text_of(plan(client, technique="ring-pour"))
    flooded = text_of(plan(client, technique="ring-pour", base="flooded"))
    bloom = text_of(plan(client, base="flooded"))

    asked = "Over a thin or a flooded base? These amounts cover both."
    assert asked in either and "base=thin" in either and "base=flooded" in either
    assert asked not in flooded
    assert asked not in bloom  # which has one kind of base only


def test_the_middle_size_to_pour_first_is_told(bench, client):
    SavedSurfaceFactory(studio=bench.studio, name="16 × 20 in", width_mm=406, height_mm=508)

    large = plan(client, size="24x36x1.5in")
    small = plan(client, size="4x4x0.25in")

    found = large.context["narrowing"]
    assert found.size == "16 × 20 in"
    assert found.after < 0.85 * found.before
    said = f"it narrows this from ×{found.before:.1f} to ×{found.after:.1f}."
    assert f"Pour 16 × 20 in first: {said}" in text_of(large)
    assert small.context["narrowing"] is None  # nothing smaller says more of it


@pytest.mark.parametrize(
    ("asked", "said", "doubt"),
    [
        ({"use": "hot"}, "Paint without resin softens", "softens under a hot cup"),
        ({"use": "hot", "resin": 50}, "a heat limit of 50 °C", "a hot cup may have 90 °C"),
        ({"use": "hot", "resin": 90}, "a heat limit of 90 °C", ""),
        ({"use": ""}, "Paint without resin softens", "cannot be wiped clean"),
        ({"use": "", "size": "10 x 10 cm"}, "Paint without resin", "softens under a hot cup"),
        ({"use": "look"}, "put no cups and no food on it", ""),
    ],
)
def test_a_plan_says_what_it_is_fit_for_and_asks_nothing(bench, client, asked, said, doubt):
    asked = dict(asked)
    if limit := asked.pop("resin", None):
        bench.kit.heat_limit_c = limit
        bench.kit.save()
        asked["topcoat"] = bench.kit.pk

    shown = text_of(plan(client, **asked))

    assert said in shown
    assert (doubt in shown) if doubt else ("say that it is to look at" not in shown)
    assert 'name="reason"' not in shown
    assert f'<option value="{asked["use"]}" selected>' in shown


def test_a_price_needs_no_palette(bench):
    """The one that the studio pours most is taken, before any pour the first; it is named."""
    owner = member(bench.studio, "owner").client
    most = Palette.objects.create(
        studio=bench.studio, name="Dusk", base=bench.palette.base, activator=bench.palette.activator
    )
    for colour in bench.palette.colours.all():
        most.colours.create(recipe=colour.recipe, parts=colour.parts)
    first = text_of(plan(owner))
    log(bench, palette=most)
    shown = text_of(plan(owner))
    chosen = text_of(plan(owner, palette=most.pk))

    assert f"With {bench.palette}. " in first
    assert f"With {most}. " in shown
    assert f"With {most}. " not in chosen
    price = re.search(r'is-total"><th scope="row">Price.*?</tr>', shown)[0]
    assert price in chosen
    assert "What to ask" not in text_of(plan(member(bench.studio, "viewer").client))


def test_the_answer_says_the_price_of_one_alone_and_the_day(bench):
    """The day is that of an enquiry for the same, the price that of a plan for one."""
    owner = member(bench.studio, "owner").client
    asked = {"size": "Tile 10 × 10 cm", "palette": bench.palette.pk, "topcoat": bench.kit.pk}
    shown = plan(owner, count="4", **asked).context
    alone = plan(owner, count="1", **asked).context

    line = CommissionLineFactory(
        commission__studio=bench.studio,
        surface=bench.tile_size,
        technique=bench.bloom,
        palette=bench.palette,
        topcoat=bench.kit,
        quantity=4,
    )
    assert shown["alone"].asking.total == alone["priced"].asking.total
    assert shown["alone"].asking.each > shown["priced"].asking.each
    assert shown["ready_on"] == earliest_promise(line.commission).ready_on


def test_the_answer_stands_beside_the_studios_own_prices(bench):
    """Of a canvas of 8 × 8 in sold for 128, a 4 × 4 in costs 32 by its area and 64 by its sides."""
    ProductFactory(
        studio=bench.studio,
        surface=bench.canvas_size,
        technique=bench.bloom,
        palette=bench.palette,
        price=Decimal(128),
        pieces_each=1,
    )
    owner = member(bench.studio, "owner").client
    canvas = plan(owner, size=bench.canvas_size.name, palette=bench.palette.pk)
    small = plan(owner, size="4 x 4 in", palette=bench.palette.pk)

    assert canvas.context["beside"].own == 128
    assert "You sell it for" in text_of(canvas)
    assert canvas.context["beside"].above == (OWN, BY_AREA, BY_SIDES)
    assert "Below your own prices." in text_of(canvas)
    assert list(small.context["beside"].by_rule.values()) == [32, 64]
    assert small.context["beside"].own is None


def test_a_size_without_a_unit_is_in_the_studios_own(bench, client):
    bench.studio.lengths = "in"
    bench.studio.save()

    def amounts(size):
        return re.findall(r'class="big">([^<]+)<', text_of(plan(client, size=size)))

    assert amounts("8x8x1½") == amounts("8 × 8 × 1½ in") != []
    assert amounts("4 inch tile") == amounts("4 × 4 in") != []


def test_a_plan_says_whether_the_shelf_has_it(bench, client):
    enough = text_of(plan(client, size="Tile 10 × 10 cm", palette=bench.palette.pk))
    much = text_of(plan(client, size="40 x 40 in", count="50", palette=bench.palette.pk))

    assert "The shelf has all the paint." in enough
    assert "The shelf is short of" in much
    for material in estimate(
        bench.studio, bench.tile_size, "bloom", 1, palette=bench.palette
    ).materials:
        assert f">{material}</a>" in much or not material.is_stocked


def test_the_first_page_answers_how_much(bench):
    owner = member(bench.studio, "owner").client
    home = owner.get(reverse("home")).content.decode()
    form = home[home.index("card quick") : home.index("</form>", home.index("card quick"))]

    assert f'hx-get="{reverse("planner")}"' in form and "hx-replace-url" not in form
    for name in ("size", "technique", "count", "palette", "topcoat"):
        assert f'name="{name}"' in form
    brief = {"HX-Request": "true", "HX-Target": "answer"}
    answer = owner.get(reverse("planner"), {"size": "8x8"}, headers=brief).content.decode()
    assert "Could be ready" in answer and "By material" not in answer and "<form" not in answer


@pytest.mark.parametrize("size", ["9 × 7 × 1½ in", "Tile 10 × 10 cm"])
def test_a_plan_becomes_a_commission_with_all_of_it(bench, size):
    """From the plan to the line of a commission, through the links and forms of the pages."""
    maker = member(bench.studio, "maker").client
    # As a browser sends the form: what was left empty stands in the address, too.
    left_empty = {"palette": "", "base": ""}
    asked = {"size": size, "count": "3", "topcoat": bench.kit.pk, "use": "look", **left_empty}
    log(bench)
    shown = plan(maker, **asked).content.decode()
    link = html.unescape(re.search(r'href="([^"]+)"[^>]*>(?:<svg.*?</svg>)?Make it a', shown)[1])

    page = maker.get(link)
    assert "Save and price it" not in page.content.decode()  # which is for owners
    sent = {name: page.context["form"][name].value() or "" for name in page.context["form"].fields}
    added = maker.post(link, sent | {"new_customer": "Wren Alder", "price": "yes"})
    assert added.status_code == 302

    made = bench.studio.commissions.get().lines.get()
    assert (made.quantity, made.technique.slug, made.topcoat) == (3, "bloom", bench.kit)
    assert (made.palette, made.use) == (bench.palette, "look")
    assert (made.surface == bench.tile_size) is (size == "Tile 10 × 10 cm")
    assert not bench.studio.quotes.exists()
    assert "Make it a commission" not in text_of(plan(member(bench.studio, "viewer").client))


def test_a_plan_is_priced_as_it_was_answered(bench):
    """The quote asks what the quick answer said; refused, nothing of it is written down."""
    owner = member(bench.studio, "owner").client
    asked = {"size": "9 x 7 x 1.5 in", "technique": "bloom", "count": "2"}
    answered = plan(owner, **asked).context["priced"].asking
    link = f"{reverse('commission-of-plan')}?{urlencode(asked)}"
    form = owner.get(link).context["form"]
    typed = {"new_customer": "Ilse Moor", "title": form["title"].value(), "price": "yes"}
    bare = typed | {"palette": bench.palette.pk}

    for refused in (typed, bare):  # no palette; and a use that bare paint is not fit for
        assert owner.post(link, refused | {"use": "hot"}).status_code == 422
    assert not bench.studio.commissions.exists()
    assert not bench.studio.customers.filter(name="Ilse Moor").exists()
    assert form["use"].value() == "look"  # it is fit for nothing else
    answer = owner.post(link, bare | {"use": form["use"].value()})

    quote = bench.studio.quotes.get()
    assert answer.url == reverse("quote", args=[quote.pk])
    assert quote.net == answered.offer.net
    assert quote.commission.title == "2 × 9 × 7 × 1½ in, Bloom"


def test_a_plan_of_another_studio_is_nothing_to_commission(bench):
    other = working_studio()
    link = f"{reverse('commission-of-plan')}?size=8x8in&palette={other.palette.pk}"

    assert member(bench.studio, "viewer").client.get(link).status_code == 403
    answer = member(bench.studio, "maker").client.get(link)
    assert answer.status_code == 302 and answer.url.startswith(reverse("planner"))


def test_as_many_as_are_sold_together_become_a_set_in_its_box(bench):
    product = ProductFactory(
        studio=bench.studio,
        surface=bench.tile_size,
        technique=bench.bloom,
        palette=bench.palette,
        pieces_each=4,
        packaging=bench.box,
    )
    owner = member(bench.studio, "owner").client
    for count, of_line in (("8", (2, 4, bench.box)), ("6", (6, 1, None))):
        asked = {"size": bench.tile_size.name, "count": count, "technique": "bloom"}
        link = f"{reverse('commission-of-plan')}?{urlencode(asked)}"
        page = owner.get(link)
        typed = {"new_customer": "Ilse Moor", "title": count, "palette": bench.palette.pk}
        answered = plan(owner, **asked, palette=bench.palette.pk).context["priced"].asking
        owner.post(link, typed | {"use": "look", "price": "yes"})

        quote = bench.studio.quotes.get(commission__title=count)
        assert (answered.total, answered.offer.net) == (quote.net, quote.net)
        line = bench.studio.commissions.get(title=count).lines.get()
        assert (line.quantity, line.pieces_each, line.packaging) == of_line
        assert (f"You sell these as {product}" in text_of(page)) is (count == "8")
