"""What can be made from a shelf: the page and the endpoint, who may, and what they ask for."""

from decimal import Decimal as D
from fractions import Fraction

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from inventory.models import Movement
from inventory.stock import holds
from inventory.stock import ledger as stock
from pricing.costing.product_runs import Production, RunBasis
from pricing.costing.replacement import replacement_prices
from pricing.earnings.producible import producible
from pricing.estimating.estimates import estimate
from tests.conftest import member
from tests.factories import going_on
from tests.factories.bench import working_studio
from tests.factories.inventory import WorkFactory
from tests.factories.pricing import ChannelFactory, PaletteFactory, ProductFactory
from tests.pricing.costing.test_price import expected_pours

pytestmark = pytest.mark.django_db
PAGE, API = "/plan/what-can-i-make/", "/api/v1/producible/"


@pytest.fixture
def bench():
    """A studio with white enough not to run out first."""
    bench = working_studio()
    more = stock.Receipt(material=bench.white, quantity=D(8000), value=D(160))
    stock.receive(studio=bench.studio, by=None, receipts=[more], kind=Movement.Kind.OPENING)
    return bench


def coasters(bench, **changes):
    """Keep a set of four coasters under resin, at 44."""
    wanted = {"name": "Coasters", "price": D(44), "topcoat": bench.kit, "packaging": bench.box}
    return product(bench, surface=bench.tile_size, pieces_each=4, **(wanted | changes))


def product(bench, **fields):
    chosen = {"technique": bench.bloom, "palette": bench.palette}
    return ProductFactory(studio=bench.studio, **(chosen | fields))


def text_of(answer):
    return " ".join(answer.content.decode().split())


def only(studio, **asked):
    (one,) = producible(studio, **asked).possible
    return one


def test_pieces_that_fail_take_a_tile_too(bench):
    coasters(bench)

    one = only(bench.studio)

    # Of 20 tiles at 85 %: four sets are 16 good of 19 poured; five are 20 of 24, four too many.
    assert (one.count, one.limits) == (4, ((bench.tile, D(4)),))


def test_what_is_held_for_others_is_not_there(bench):
    coasters(bench)
    holds.hold(work=WorkFactory(studio=bench.studio), label="Work", needs={bench.tile: D(10)})

    # Two sets are 8 good of 10 poured.
    assert only(bench.studio).count == 2


def test_the_paint_is_counted_as_it_is_mixed_together(bench):
    coasters(bench, topcoat=None, packaging=None)
    needed = estimate(bench.studio, bench.tile_size, "bloom", 15, palette=bench.palette)
    spare = D(500) - needed.materials[bench.gold].to_mix
    stock.use(studio=bench.studio, by=None, amounts={bench.gold: spare + D("0.01")})

    one = only(bench.studio)

    # Three sets are 12 good of 15 poured, and gold for 15 is a hundredth of a mL short.
    assert (one.count, one.limits) == (2, ((bench.gold, D("0.01")),))


@pytest.mark.parametrize(
    ("tax_inclusive", "net", "gross"), [(True, "40", "44"), (False, "44", "48.40")]
)
def test_what_one_earns_is_its_price_less_tax_fees_and_materials(bench, tax_inclusive, net, gross):
    bench.studio.tax_inclusive = tax_inclusive
    coasters(bench)
    fair = ChannelFactory(studio=bench.studio, percent_fee=D("0.10"), fixed_fee=D("0.25"))
    paint = estimate(bench.studio, bench.tile_size, "bloom", 19, palette=bench.palette)
    coated = estimate(
        bench.studio, bench.tile_size, "bloom", 16, palette=bench.palette, topcoat=bench.kit
    )
    cost = {"white": D("0.02"), "blue": D("0.04"), "gold": D("0.05"), "water": D(0)}
    paints = sum(need.used * cost[key.name] for key, need in paint.materials.items())
    resin = sum(need.used * D("0.06") for need in coated.layer("topcoat").materials.values())
    materials = paints + resin + 19 * D("0.50") + 4 * D("1.20")

    straight, through = only(bench.studio), only(bench.studio, channel=fair)

    assert straight.earns == pytest.approx(D(net) - materials / 4, abs=D("0.00001"))
    assert straight.earns - through.earns == D(gross) / 10 + D("0.25")


def test_without_a_price_it_is_what_a_quote_for_one_would_be(bench):
    from pricing.commissions import orders as commissions
    from pricing.quoting import quotes as quoting

    kept = coasters(bench, price=None)
    commission = commissions.open_commission(
        studio=bench.studio, by=None, customer=bench.customer, title="One"
    )
    going_on.add_line(
        commission=commission,
        by=None,
        surface=kept.surface,
        technique=kept.technique,
        palette=kept.palette,
        pieces_each=4,
        topcoat=kept.topcoat,
        packaging=kept.packaging,
    )
    quote = quoting.draft_quote(commission=commission, by=None)

    assert only(bench.studio).price == quote.net  # tax comes on top


def test_minutes_are_the_steps_with_failures_or_what_was_typed(bench):
    kept = coasters(bench)
    bench.studio.labour_rate = D(0)  # unpaid hours pass too

    # Set up 25 and topcoat 10 as often as is poured and coated until all 16 are well; pour and
    # clean 9 for each of 16 / 0.85; topcoat 16 × 5; pack 4 × 4.
    pours = expected_pours(16, Fraction("0.85"))
    coats = sum(times * (1 - Fraction("0.15") ** count) for count, times in pours.items())
    minutes = 25 * sum(pours.values()) + 10 * coats + 16 * 9 / Fraction("0.85") + 80 + 16
    assert float(only(bench.studio).minutes * 4) == pytest.approx(float(minutes), abs=0.01)
    kept.minutes = D(33)
    kept.save()
    assert only(bench.studio).minutes == D(33)


@pytest.mark.parametrize("steps", (True, False), ids=("steps", "none"))
def test_minutes_that_were_typed_are_what_its_asking_price_pays_for(bench, steps):
    if not steps:
        bench.bloom.steps.update(fixed_minutes=0, minutes_each=0)
    kept = coasters(bench, price=None, minutes=D(33))
    bench.studio.labour_rate, bench.studio.overhead_rate = D(60), D(0)
    bench.studio.save()

    production = Production(kept, RunBasis(bench.studio))
    cost = production.cost(replacement_prices(bench.studio, production.needs(2)), 2).cost

    # A minute is paid 1.00: two of them cost 66.00 of work, failures in it.
    work = sum(line.minutes for line in cost.lines)
    assert work == pytest.approx(D(66), abs=D("0.001"))
    labour = sum(line.amount for line in cost.lines if line.kind == "labour")
    failed = sum(line.minutes for line in cost.lines if line.kind == "failures")
    assert labour + failed == pytest.approx(D(66), abs=D("0.001"))


def test_the_mix_keeps_to_the_hours_and_to_what_can_be_sold(bench):
    sets = coasters(bench, minutes=D(60))
    product(bench, name="Canvas", surface=bench.canvas_size, price=D(99), minutes=D(100))
    made = {
        hours: {
            one.product.name: one.count for one in producible(bench.studio, hours=hours).best.made
        }
        for hours in (D(0), D(1), D(100) / 60)
    }
    capped = producible(bench.studio, hours=D(8), most={sets.pk: 1}).best

    assert made == {D(0): {}, D(1): {"Coasters": 1}, D(100) / 60: {"Canvas": 1}}
    assert {one.product.name: one.count for one in capped.made} == {"Canvas": 1, "Coasters": 1}
    assert capped.minutes == D(160) and capped.minutes_left == D(320)


def test_what_one_earns_does_not_hang_on_the_hours(bench):
    coasters(bench)

    none, many = only(bench.studio, hours=D(0)), only(bench.studio, hours=D(40))

    assert none == many and none.earns > 0


def test_a_box_more_is_worth_what_the_mix_then_earns_more(bench):
    coasters(bench, minutes=D(10))
    before = producible(bench.studio).best
    (tiles,) = (one for one in before.more if one.pack and one.pack.material == bench.tile)

    stock.receive(
        studio=bench.studio,
        by=None,
        receipts=[stock.Receipt(material=bench.tile, quantity=tiles.pack.size, value=D(10))],
    )

    after = producible(bench.studio).best
    assert tiles.earned > 0
    assert after.earned == before.earned + tiles.earned


def test_the_page_says_how_many_what_limits_and_what_to_make(bench):
    coasters(bench)
    forty_three = estimate(bench.studio, bench.tile_size, "bloom", 43, palette=bench.palette)
    spare = D(10_000) - forty_three.materials[bench.white].to_mix - 1
    stock.use(studio=bench.studio, by=None, amounts={bench.white: spare})

    shown = text_of(member(bench.studio, "maker", sees_costs=True).client.get(PAGE))

    # Nine sets are 36 good of 43 poured, 23 more than the 20 tiles.
    assert "<strong>4 now</strong>" in shown
    assert "Limited by" in shown and "5 more need 23 × tile. Then white runs out too." in shown
    assert "<strong>4 × Coasters</strong>" in shown and "no other mix earns more" in shown
    assert "5 h" in shown  # 300 minutes


def test_where_nothing_can_be_made_the_page_says_what_to_buy_first(bench):
    product(bench, name="Canvas", surface=bench.canvas_size, price=D(90))
    stock.use(studio=bench.studio, by=None, amounts={bench.canvas: D(2)})

    shown = text_of(member(bench.studio, "maker", sees_costs=True).client.get(PAGE))

    link = f'<a href="{reverse("material", args=[bench.canvas.pk])}">canvas</a>'
    assert f"Nearest is Canvas. Buy first: 2 × {link}" in shown  # one of 0.85 is two


def test_a_product_that_cannot_be_estimated_says_why_and_spoils_no_other(bench):
    coasters(bench)
    product(bench, name="Bare", palette=PaletteFactory(studio=bench.studio))

    shown = text_of(member(bench.studio, "maker", sees_costs=True).client.get(PAGE))

    problems = {one.product.name: one.problem for one in producible(bench.studio).possible}
    assert problems["Bare"] and not problems["Coasters"]
    assert problems["Bare"].split("“")[0] in shown and "<strong>4 × Coasters</strong>" in shown


def test_a_product_without_a_price_it_can_have_says_why(bench):
    bench.studio.margin = D("0.95")
    coasters(bench)
    coasters(bench, name="Unpriced", price=None)
    dear = ChannelFactory(studio=bench.studio, percent_fee=D("0.10"))

    found = producible(bench.studio, channel=dear)

    assert [(one.product.name, one.count) for one in found.possible] == [
        ("Coasters", 4),
        ("Unpriced", 4),
    ]
    assert "leave nothing for the cost" in found.possible[1].problem
    assert [one.product.name for one in found.best.made] == ["Coasters"]


def test_hours_that_cannot_be_are_refused_beside_the_field(bench):
    client = member(bench.studio, "viewer").client

    shown = text_of(client.get(PAGE, {"hours": "-1"}))
    answer = member(bench.studio, "viewer").api.post(API, {"hours": "-1"})

    assert "greater than or equal to 0" in shown
    assert (answer.status_code, set(answer.data["fields"])) == (400, {"hours"})


def test_the_endpoint_answers_the_same(bench):
    kept = coasters(bench)
    sent = {"hours": "5.5", "most": [{"product": kept.pk, "count": 3}]}

    answer = member(bench.studio, "maker", sees_costs=True).api.post(API, sent)

    found = producible(bench.studio, hours=D("5.5"), most={kept.pk: 3})
    (possible,), best = answer.data["possible"], answer.data["best"]
    assert possible["count"] == 4
    assert [(one["material"]["name"], one["amount"]) for one in possible["limits"]] == [
        ("tile", "4.0000")
    ]
    assert [(one["product"]["name"], one["count"]) for one in best["made"]] == [("Coasters", 3)]
    assert D(best["earned"]) == found.best.earned.quantize(D("0.000001"))
    assert answer.data["nearest"] is None


def test_another_studio_sees_and_names_none_of_it(bench, other_owner):
    kept = coasters(bench)

    page = text_of(other_owner.client.get(PAGE, {f"most_{kept.pk}": "1"}))
    answers = [
        other_owner.api.post(API, sent)
        for sent in (
            {},
            {"channel": bench.own_sale.pk},
            {"most": [{"product": kept.pk, "count": 1}]},
        )
    ]

    assert "No products yet" in page and "Coasters" not in page
    assert [answer.status_code for answer in answers] == [200, 400, 400]
    assert answers[0].data["possible"] == []


@pytest.mark.parametrize("products", (1, 3))
def test_more_products_ask_no_more(bench, products):
    for number in range(products):
        coasters(bench, name=f"Coasters {number}", minutes=D(120))
    person = member(bench.studio, "viewer")
    producible(bench.studio)  # what its pours taught is kept from here on
    asked = {}

    with CaptureQueriesContext(connection) as queries:
        person.client.get(PAGE)
    asked["page"] = len(queries)
    with CaptureQueriesContext(connection) as queries:
        person.api.post(API, {})
    asked["api"] = len(queries)

    assert asked == {"page": 26, "api": 24}
