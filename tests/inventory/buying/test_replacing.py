"""What a unit of each material costs to replace: arithmetic, rows, and when they are renewed."""

from datetime import timedelta
from decimal import Decimal as D
from fractions import Fraction as F

import pytest
from django.conf import settings
from django.core.management import call_command
from django.utils import timezone
from django_tasks_db.models import DBTaskResult
from hypothesis import given
from hypothesis import strategies as st

from inventory.buying.purchasing import receive_delivery
from inventory.buying.reordering import DemandError, Restock, SupplierTerms, replacements
from inventory.buying.replacing import renew_all, renew_replacement_costs
from inventory.models import DayUse
from inventory.stock import ledger as stock
from studio import preferences
from studio.rows import keep_row
from tests.factories.inventory import (
    HoldFactory,
    MaterialFactory,
    PackFactory,
    SupplierFactory,
)
from tests.inventory.stock.shelves import receive

# The arithmetic, in cents


def restock(material="white", goods=2000, size=100, per_day=10, **more):
    given = {"pack": material, "supplier": "shop", "count": 1} | more
    return Restock(material, goods=goods, size=D(size), per_day=D(per_day), **given)


def costs(*purchase, days=10, duties=None, **terms):
    found, deliveries = replacements(purchase, [SupplierTerms("shop", **terms)], days, duties)
    return {one.material: one for one in found}, deliveries[0]


def test_one_material_bears_its_delivery():
    """20.00 and 6.00 for 100 mL: 26 cents each."""
    found, delivery = costs(restock(), shipping_fee=600)

    assert found["white"].unit_cost == 26
    assert (delivery.days, delivery.goods, delivery.shipping) == (10, 2000, 600)


def test_what_is_half_used_before_it_spoils_costs_double():
    """Of 100 mL at 1 mL a day, 50 are used in 50 days."""
    found, _ = costs(restock(per_day=1, life_days=50))

    assert (found["white"].serves, found["white"].unit_cost) == (50, 40)


def test_an_opened_pack_spoils_and_the_others_wait():
    """Of 4 packs of 25 mL, opened one after the other, 10 days at 1 mL: 40 of 100 mL."""
    found, _ = costs(restock(per_day=1, size=25, count=4, opened_days=10))

    assert (found["white"].serves, found["white"].days) == (40, 40)


def test_what_is_bought_serves_at_least_a_busy_day():
    """Once in a hundred days 30 mL were used; in a life of 30 days that is not 0.3 × 30 = 9."""
    found, _ = costs(restock(per_day="0.3", at_once=D(30), life_days=30))

    assert found["white"].serves == 30


def test_what_is_never_used_is_used_up():
    found, delivery = costs(restock(per_day=0, life_days=30), shipping_fee=600)

    assert (found["white"].unit_cost, found["white"].days, delivery.days) == (26, None, None)


def test_slow_materials_bear_the_shipping_of_the_orders_that_they_are_in():
    """White is bought every 10 days, gold every 100, and an order costs 6.00 to ship.

    In 100 days: 10 orders, 60.00; 10 × 20.00 of white and 20.00 of gold. So 3/11 on top of each.
    """
    found, delivery = costs(restock(), restock("gold", per_day=1), shipping_fee=600)

    assert (delivery.days, delivery.goods) == (10, 2200)
    assert found["white"].unit_cost == found["gold"].unit_cost == 20 * (1 + F(3, 11))


def test_free_shipping_counts_for_usual_orders_only():
    """The first order, of 40.00, is free; the usual one, of 22.00, is not."""
    found, delivery = costs(restock(), restock("gold", per_day=1), shipping_fee=600, free_over=4000)

    assert delivery.shipping == 600
    assert found["white"].extra == 600 * F(10, 11)


def test_an_order_below_the_least_waits():
    """Of 40.00 at least, every 20 days: 6.00 on 40.00."""
    found, delivery = costs(restock(), shipping_fee=600, minimum_order=4000)

    assert (delivery.days, delivery.goods) == (20, 4000)
    assert found["white"].unit_cost == 23


def test_duty_is_a_share_of_the_goods():
    found, _ = costs(restock(), duties={"shop": F(1, 10)})

    assert found["white"].unit_cost == 22


def test_nothing_is_ordered_between_reviews():
    _, delivery = costs(restock(per_day=100))

    assert (delivery.days, delivery.goods) == (10, 20_000)


@pytest.mark.parametrize(
    "wrong", [{"per_day": -1}, {"at_once": D(-1)}, {"life_days": -1}, {"opened_days": -1}]
)
def test_use_and_life_are_never_negative(wrong):
    with pytest.raises(DemandError, match="cannot be below zero"):
        costs(restock(**wrong))


def test_a_review_takes_a_day():
    with pytest.raises(DemandError, match="every day at most"):
        costs(restock(), days=0)


lines = st.builds(
    restock,
    goods=st.integers(1, 10_000),
    size=st.integers(1, 5000),
    per_day=st.decimals("0.01", 500, places=2),
    count=st.integers(1, 9),
    supplier=st.sampled_from(["shop", "mill"]),
    life_days=st.none() | st.integers(1, 900),
)


@given(st.lists(lines, min_size=1, max_size=6), st.integers(1, 60), st.integers(0, 2000))
def test_over_the_years_all_shares_come_to_what_the_orders_cost(purchase, days, fee):
    """A second way round: per day, each material's share against each supplier's orders."""
    purchase = [Restock(**vars(line) | {"material": n}) for n, line in enumerate(purchase)]
    suppliers = [
        SupplierTerms("shop", shipping_fee=fee, minimum_order=3000),
        SupplierTerms("mill", shipping_fee=2 * fee, free_over=4000),
    ]

    found, deliveries = replacements(purchase, suppliers, days)

    assert sum(one.extra / one.days for one in found) == sum(
        one.shipping / one.days for one in deliveries
    )


# The rows of a studio


def used(material, quantity, days_ago=1):
    day = material.studio.today() - timedelta(days=days_ago)
    DayUse.objects.create(studio=material.studio, material=material, day=day, quantity=D(quantity))


@pytest.fixture
def shop(studio):
    return SupplierFactory(studio=studio, shipping_fee=D(6), lead_days=D(3))


@pytest.fixture
def white(studio, shop):
    """White in three packs; 90 mL used in the last 180 days, so 15 mL until the next review."""
    white = MaterialFactory(studio=studio, name="White")
    for size, price in ((120, "7.50"), (250, "13"), (500, "22")):
        PackFactory(
            studio=studio, supplier=shop, material=white, size=D(size), price=D(price),
            label=f"{size} mL",
        )  # fmt: skip  # one pack a line
    used(white, 90)
    return white


def cost_of(material):
    renew_replacement_costs(studio=material.studio)
    return material.studio.replacement_costs.get(material=material)


@pytest.mark.django_db
def test_a_material_costs_what_its_usual_purchase_costs(studio, white):
    """The smallest pack is enough for a month: 7.50 and 6.00 for 120 mL."""
    row = cost_of(white)

    assert row.unit_cost == D("0.112500")
    assert (row.source, row.serves) == ("plan", D(120))
    assert row.basis["packs"] == [
        {
            "pack_id": white.packs.get(label="120 mL").pk,
            "pack": "120 mL",
            "supplier_id": white.packs.first().supplier_id,
            "supplier": white.packs.first().supplier.name,
            "count": 1,
            "size": "120.0000",
            "goods": "7.5",
            "delivery_share": "6.000000",
        }
    ]
    assert row.made_on == studio.today()


@pytest.mark.django_db
def test_more_use_buys_a_larger_pack(studio, white):
    """1,800 mL in half a year are 300 mL a month: 120 and 250 for 20.50 cost less than 500 for 22.

    With 6.00 of shipping that is 26.50 for 370 mL, all of which is used some day.
    """
    DayUse.objects.update(quantity=1800)

    row = cost_of(white)

    assert {one["pack"] for one in row.basis["packs"]} == {"120 mL", "250 mL"}
    assert row.unit_cost == D("0.071622")


@pytest.mark.django_db
def test_a_job_that_is_accepted_moves_no_price(studio, white, shop):
    before = cost_of(white).unit_cost
    HoldFactory(studio=studio, material=white, quantity=D(5000))

    assert cost_of(white).unit_cost == before


@pytest.mark.django_db
def test_another_material_in_the_order_shares_its_shipping_by_how_often_it_is_bought(
    studio, white, shop
):
    """Gold at 0.5 mL a day and white at 0.5: both of 120 mL every 240 days, 15.00 of goods."""
    gold = MaterialFactory(studio=studio)
    PackFactory(studio=studio, supplier=shop, material=gold, size=D(120), price=D("7.50"))
    used(gold, 90)

    assert cost_of(white).unit_cost == cost_of(gold).unit_cost == D("0.087500")  # 10.50 / 120

    DayUse.objects.filter(material=gold).update(quantity=9)  # a tenth of it: one order in ten

    # In 2400 days 10 orders, 60.00 of shipping, on 11 purchases at 7.50: 8/11 on top of each.
    assert cost_of(white).unit_cost == cost_of(gold).unit_cost == D("0.107955")


@pytest.mark.django_db
def test_what_nobody_sells_costs_what_was_paid(studio):
    tile = MaterialFactory(studio=studio)
    receive(tile, (10, 4))

    row = cost_of(tile)

    assert (row.unit_cost, row.source) == (D("0.4"), "last_paid")
    assert "No pack of it is on offer" in row.assumed


@pytest.mark.django_db
def test_what_never_came_and_nobody_sells_has_no_cost(studio):
    MaterialFactory(studio=studio)

    assert renew_replacement_costs(studio=studio) == 0


@pytest.mark.django_db
def test_what_has_no_use_on_record_says_so(studio, white):
    DayUse.objects.all().delete()

    row = cost_of(white)

    assert (row.unit_cost, row.lasts_days) == (D("0.1125"), None)
    assert row.assumed == (
        "No use is on record, so one purchase is taken to be used up, whenever that is."
    )


@pytest.mark.django_db
def test_what_spoils_says_how_much_is_used(studio, white):
    white.shelf_life_days = 60  # at 0.5 mL a day 30 mL are used; but a day took 90
    white.save()
    for days in range(1, 91):
        used(white, 1, days_ago=days + 1)
    DayUse.objects.filter(quantity=90).delete()

    row = cost_of(white)

    assert (row.serves, row.unit_cost) == (D(30), D("0.45"))
    assert "Of 120 mL only 30 mL are used before the rest spoils." in row.assumed


@pytest.mark.django_db
def test_duty_of_deliveries_is_counted(studio, owner, shop):
    """2.00 on goods of 20.00 is a tenth."""
    gold = MaterialFactory(studio=studio)
    receipt = stock.Receipt(material=gold, quantity=D(100), value=D(20))
    receive_delivery(
        studio=studio, by=owner.user, supplier=shop, receipts=[receipt], duty=D(2), freight=D(6)
    )

    assert cost_of(gold).unit_cost == D("0.28")  # 20.00 + 6.00 + 2.00


@pytest.mark.django_db
def test_what_was_read_later_stands(studio, white):
    """A renewal that began before, and ends after, changes nothing."""
    row = cost_of(white)
    row.read_at, row.unit_cost = timezone.now() + timedelta(hours=1), D(9)
    row.save()

    assert cost_of(white).unit_cost == 9


@pytest.mark.django_db
def test_each_studio_has_its_own(studio, white, other_owner):
    renew_replacement_costs(studio=other_owner.studio)

    assert list(studio.replacement_costs.all()) == []


# When they are renewed


beside_the_pages = pytest.mark.django_db(transaction=True, available_apps=settings.INSTALLED_APPS)


def waiting():
    return DBTaskResult.objects.filter(status="READY").count()


def work(studio):
    call_command("work", batch=True)
    return {row.material.name: row.unit_cost for row in studio.replacement_costs.all()}


@beside_the_pages
def test_a_new_price_renews_the_cost(studio, white):
    """Once, whatever was changed in between."""
    assert work(studio) == {"White": D("0.1125")}
    pack = white.packs.get(label="120 mL")
    for price in (8, 9):
        pack.price = D(price)
        keep_row(row=pack, names=["price"])
    assert waiting() == 1

    assert work(studio) == {"White": D("0.125")}  # 9.00 and 6.00


@beside_the_pages
def test_use_renews_the_cost(studio, white):
    DayUse.objects.all().delete()
    receive(white, (1000, 50))
    work(studio)
    stock.use(studio=studio, by=None, amounts={white: D(600)})  # all on the first day

    assert waiting() == 1
    assert work(studio)["White"] < D("0.1")


@beside_the_pages
def test_settings_that_matter_renew_the_cost(studio):
    DBTaskResult.objects.all().delete()
    preferences.change_settings(studio=studio, margin=D("0.4"))
    assert waiting() == 0

    preferences.change_settings(studio=studio, review_days=60)

    assert waiting() == 1


@beside_the_pages
def test_each_day_renews_every_studio(studio, other_owner):
    DBTaskResult.objects.all().delete()

    renew_all()
    renew_all()

    assert waiting() == 2
