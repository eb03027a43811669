"""Stock at the lower of cost and net realisable value: IAS 2 over a studio's own books."""

import csv
import io
from datetime import timedelta
from decimal import Decimal as D

import pytest
from django.urls import reverse
from django.utils import timezone
from pypdf import PdfReader

from inventory.models import Bottle, Material, Movement, ReplacementCost
from inventory.stock import ledger as stock
from pricing.earnings.appraisals import appraise, withdraw_appraisal
from pricing.earnings.valuation import valuation
from pricing.errors import AppraisalRefused
from pricing.models import Product
from tests.conftest import member
from tests.factories.bench import working_studio
from tests.factories.everything import one_of_everything
from tests.factories.inventory import PackFactory
from tests.factories.pricing import ChannelFactory
from tests.inventory.pages import words
from tests.pricing.bench.test_pours import log
from tests.pricing.selling.test_sales import pack, sell

pytestmark = pytest.mark.django_db

# A set of tests.pricing.earnings.test_profit: materials 7.40, work 13.50, overhead 4.50.
COST = D("25.40")


@pytest.fixture
def bench():
    return working_studio()


@pytest.fixture
def market(bench):
    return ChannelFactory(studio=bench.studio, percent_fee=D("0.10"), fixed_fee=D("0.60"))


def row_of(bench, material):
    rows = {row.material.name: row for row in valuation(bench.studio).materials}
    return rows[material.name]


def cheap(material, unit_price):
    """Offer a pack of 1000 units at so much a unit."""
    return PackFactory(
        studio=material.studio, material=material, size=D(1000), price=1000 * D(unit_price)
    )


def test_a_set_is_written_down_to_its_price_less_tax_and_fees(bench, market):
    """The last one like it brought 22.00: less 2.00 of tax and 2.20 + 0.60 of fees, 17.20."""
    sold, kept = pack(bench, minutes=D(5)), pack(bench, minutes=D(5))
    sell(bench, [(sold, D(22))], channel=market)

    (row,) = valuation(bench.studio).finished

    assert (row.piece_set, row.cost) == (kept, COST)
    assert (row.expected.tax, row.expected.fees, row.measure) == (D(2), D("2.80"), D("17.20"))
    assert (row.value, row.write_down) == (D("17.20"), D("8.20"))


def test_a_set_that_sells_above_cost_stays_at_cost(bench, market):
    sold, _ = pack(bench, minutes=D(5)), pack(bench, minutes=D(5))
    sell(bench, [(sold, D(66))], channel=market)

    (row,) = valuation(bench.studio).finished

    # 66 - 6 - 6.60 - 0.60 = 52.80.
    assert (row.measure, row.value, row.write_down) == (D("52.80"), COST, D(0))


def test_what_has_no_price_yet_stays_at_cost_and_says_so(bench):
    pack(bench, minutes=D(5))

    (row,) = valuation(bench.studio).finished

    assert (row.measure, row.value, row.write_down) == (None, COST, D(0))
    assert row.basis == "no price known, left at cost"


def test_a_products_price_goes_before_an_old_sale(bench, market):
    sold, _ = pack(bench, minutes=D(5)), pack(bench, minutes=D(5))
    sell(bench, [(sold, D(66))], channel=market)
    Product.objects.create(
        studio=bench.studio,
        name="Coasters",
        surface=bench.tile_size,
        technique=bench.bloom,
        palette=bench.palette,
        pieces_each=4,
        price=D(22),
    )

    (row,) = valuation(bench.studio).finished

    assert (row.basis, row.measure) == ("price of the product", D("17.20"))


def test_loose_pieces_bring_their_share_of_a_set(bench, market):
    """Three loose pieces cost 6.20, 12.00 and 4.00; a set of four brought 22.00, so 5.50 each:
    less 0.50 of tax and 0.55 + 0.60 of fees, 3.85 each."""
    sell(bench, [(pack(bench, minutes=D(5)), D(22))], channel=market)
    log(bench)  # three of four come out well

    (row,) = valuation(bench.studio).finished

    assert (row.count, row.cost) == (3, D("22.20"))
    assert (row.measure, row.write_down) == (D("11.55"), D("10.65"))


def test_materials_stay_at_cost_while_pieces_made_of_them_earn(bench, market):
    """IAS 2.32: white costs 0.02 a mL and a new pack 0.005, and yet the coasters sell well."""
    cheap(bench.white, "0.005")
    sell(bench, [(pack(bench, minutes=D(5)), D(66))], channel=market)

    row = row_of(bench, bench.white)

    assert (row.basis, row.write_down) == ("pieces made of it sell at cost or above", D(0))
    assert row.value == row.cost == Material.objects.get(pk=bench.white.pk).value


def test_materials_go_down_to_replacement_cost_when_pieces_lose(bench, market):
    """IAS 2.32, the other way: sold at 22.00 the coasters lose, so the white is worth 0.005."""
    cheap(bench.white, "0.005")
    sell(bench, [(pack(bench, minutes=D(5)), D(22))], channel=market)
    left = Material.objects.get(pk=bench.white.pk).on_hand

    row = row_of(bench, bench.white)

    assert row.basis == "what a new one costs"
    assert row.cost == left * D("0.02")
    assert row.write_down == left * D("0.015")


def test_sales_of_over_a_year_ago_say_nothing(bench, market):
    cheap(bench.white, "0.005")
    long_ago = timezone.now() - timedelta(days=400)
    one = pack(bench, minutes=D(5), poured_at=long_ago)
    sell(bench, [(one, D(66))], channel=market, sold_on=long_ago.date())

    assert row_of(bench, bench.white).basis == "what a new one costs"


def test_what_has_expired_brings_nothing(bench):
    """IAS 2.28: 500 mL of blue cost 20.00; its one bottle went off yesterday."""
    yesterday = bench.studio.today() - timedelta(days=1)
    Bottle.objects.filter(material=bench.blue).update(expires_on=yesterday)

    row = row_of(bench, bench.blue)

    assert (row.basis, row.measure, row.write_down) == ("expired, nothing", D(0), D(20))


def test_replacing_costs_what_is_kept_of_it_and_not_the_cheapest_pack(bench):
    """500 mL of blue cost 20.00. Bought as the plan buys it a mL costs 0.036, delivered."""
    cheap(bench.blue, "0.01")
    ReplacementCost.objects.create(
        studio=bench.studio,
        material=bench.blue,
        unit_cost=D("0.036"),
        source="plan",
        serves=D(1000),
        used_per_day=D(1),
        made_on=bench.studio.today(),
        read_at=timezone.now(),
    )

    row = row_of(bench, bench.blue)

    assert (row.replacement, row.measure, row.write_down) == (D("0.036"), D(18), D(2))


def test_items_are_not_set_off_against_each_other(bench):
    """IAS 2.29, item by item: gold would cost twice as much anew, and blue is gone off."""
    yesterday = bench.studio.today() - timedelta(days=1)
    Bottle.objects.filter(material=bench.blue).update(expires_on=yesterday)
    found = valuation(bench.studio)

    assert found.total.write_down == D(20)
    assert found.total.cost == D(181)  # 40 + 20 + 25 + 30 + 30 + 10 + 14 + 12
    assert found.total.value == D(161)


def test_an_appraisal_goes_with_what_is_left(bench):
    """500 mL of gold cost 25.00 and would bring 10.00; 100 mL are then used, so 8.00 are left of it
    and 20.00 of the cost. What comes later, 100 mL for 7.00, was not appraised; it costs 0.10 a mL
    anew, so it stays at cost."""
    today = bench.studio.today()
    Bottle.objects.filter(material=bench.gold).update(received_on=today - timedelta(days=5))
    appraise(
        studio=bench.studio,
        by=None,
        thing=gold(bench),
        value=D(10),
        reason="Wrong shade",
        day=today - timedelta(days=1),
    )
    stock.use(studio=bench.studio, by=None, amounts={bench.gold: D(100)})
    receipt = stock.Receipt(material=bench.gold, quantity=D(100), value=D(7))
    stock.receive(studio=bench.studio, by=None, receipts=[receipt])

    row = row_of(bench, bench.gold)

    assert [(item.cost, item.measure, item.write_down) for item in row.items] == [
        (D(20), D(8), D(12)),
        (D(7), D(10), D(0)),
    ]


def gold(bench):
    return Material.objects.get(pk=bench.gold.pk)


def test_a_bottles_own_appraisal_goes_first_and_can_be_withdrawn(bench):
    bottle = bench.gold.bottles.get()
    appraise(studio=bench.studio, by=None, thing=gold(bench), value=D(10), reason="Wrong shade")
    made = appraise(studio=bench.studio, by=None, thing=bottle, value=D(2), reason="Skinned over")
    assert row_of(bench, bench.gold).measure == D(2)

    withdraw_appraisal(appraisal=made)

    assert row_of(bench, bench.gold).measure == D(10)
    with pytest.raises(AppraisalRefused, match="withdrawn already"):
        withdraw_appraisal(appraisal=made)


def test_a_set_can_be_appraised(bench):
    one = pack(bench, minutes=D(5))
    appraise(studio=bench.studio, by=None, thing=one, value=D(9), reason="Last year's colours")

    (row,) = valuation(bench.studio).finished

    assert (row.basis, row.value, row.write_down) == ("appraised", D(9), COST - 9)


def test_what_cannot_be_appraised_is_refused(bench):
    ask = {"studio": bench.studio, "by": None, "thing": gold(bench), "reason": "Old", "value": D(1)}
    tomorrow = bench.studio.today() + timedelta(days=1)
    sold = pack(bench)
    sell(bench, [(sold, D(44))])

    for change, sentence in (
        ({"reason": " "}, "Say why"),
        ({"day": tomorrow}, "today or a day before"),
        ({"value": D(-1)}, "from 0 to below"),
        ({"value": D("NaN")}, "from 0 to below"),
        ({"thing": sold}, "nothing to value"),
    ):
        with pytest.raises(AppraisalRefused, match=sentence):
            appraise(**ask | change)
    assert not bench.studio.appraisals.exists()


def test_it_posts_nothing(bench, market):
    sell(bench, [(pack(bench), D(2))], channel=market)
    before = Movement.objects.count()
    values = list(Material.objects.order_by("pk").values_list("value", flat=True))

    valuation(bench.studio)

    assert Movement.objects.count() == before
    assert list(Material.objects.order_by("pk").values_list("value", flat=True)) == values


def test_the_page_and_its_files_agree(bench, market):
    maker = member(bench.studio, "maker", sees_costs=True)
    sold, _ = pack(bench, minutes=D(5)), pack(bench, minutes=D(5))
    sell(bench, [(sold, D(22))], channel=market)

    page = words(maker.client.get(reverse("valuation")))
    text = maker.client.get("/valuation/rows.csv").content.decode("utf-8-sig")
    pdf = maker.client.get("/valuation/sheet.pdf").content
    told = maker.api.get("/api/v1/valuation/").data

    assert "Your accountant books the loss of value" in page
    assert "8.20" in page
    lines = list(csv.DictReader(io.StringIO(text)))
    assert sum(D(line["Loss of value"]) for line in lines) == D(told["total"]["write_down"])
    assert [D(line["Loss of value"]) for line in lines if line["What"].startswith("Set")] == [
        D("8.2")
    ]
    sheet = " ".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages)
    assert "8.20" in sheet
    assert "posts nothing" in sheet
    assert told["finished"][0]["expected"]["net"] == "17.200000"
    assert maker.api.get("/api/v1/valuation/file/?as=xlsx").status_code == 200
    assert maker.client.get("/valuation/rows.exe").status_code == 404


def test_an_owner_appraises_on_the_page_and_by_the_api(bench):
    owner = member(bench.studio, "owner")
    typed = {"thing": f"material-{bench.gold.pk}", "value": "10.00", "reason": "Wrong shade"}
    today = str(bench.studio.today())

    bad = owner.client.post("/valuation/appraise/", typed | {"day": today, "reason": ""})
    good = owner.client.post("/valuation/appraise/", typed | {"day": today})
    made = bench.studio.appraisals.get()
    gone = owner.client.post(f"/valuation/appraisals/{made.pk}/withdraw/")
    asked = {"bottle": bench.gold.bottles.get().code, "value": "0", "reason": "Skinned over"}
    by_api = owner.api.post("/api/v1/appraisals/", asked)
    two = owner.api.post("/api/v1/appraisals/", asked | {"material": bench.gold.pk})
    back = owner.api.post(f"/api/v1/appraisals/{by_api.data['id']}/withdraw/")

    assert (bad.status_code, good.status_code, gone.status_code) == (422, 302, 302)
    assert (by_api.status_code, by_api.data["value"], two.status_code) == (201, "0.000", 400)
    assert back.data["withdrawn_at"]


def test_only_an_owner_appraises_and_no_other_studio_sees_it(bench, other_owner):
    maker = member(bench.studio, "maker", sees_costs=True)
    made = appraise(
        studio=bench.studio, by=None, thing=gold(bench), value=D(1), reason="Wrong shade"
    )
    path = f"/valuation/appraisals/{made.pk}/withdraw/"

    assert maker.client.get("/valuation/").status_code == 200
    assert maker.client.get("/valuation/appraise/").status_code == 403
    assert (maker.client.post(path).status_code, other_owner.client.post(path).status_code) == (
        403,
        404,
    )
    assert "gold" not in words(other_owner.client.get("/valuation/"))
    assert "gold" not in words(other_owner.client.get("/valuation/appraise/"))


@pytest.mark.parametrize("rows", (1, 3))
def test_the_page_asks_as_often_for_one_row_as_for_three(
    studio, owner, rows, django_assert_num_queries
):
    for _ in range(rows):
        one_of_everything(studio)

    # session, person, membership; appraisals; the pieces of sets; sales; four for what each set
    # took; bottles, what they cost to replace; sets, channels, products, sales and loose pieces;
    # appraisals
    with django_assert_num_queries(19):
        owner.client.get("/valuation/")
