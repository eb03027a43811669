"""FIFO, moving average and IAS 2 rules against published worked examples."""

from decimal import ROUND_HALF_UP, Decimal
from itertools import accumulate

import pytest

from inventory.stock.costing import (
    DeliveryLine,
    StockItem,
    landed,
    lower_of_cost_and_nrv,
    value_material,
)
from tests.inventory.stock.histories import METHODS, Buy, Sell, replay

D = Decimal


def buy(quantity, unit_cost):
    return Buy(D(quantity), D(quantity) * D(unit_cost))


def sell(quantity):
    return Sell(D(quantity))


def cents(amount):
    return amount.quantize(D("0.01"), ROUND_HALF_UP)


# Hermanson, Edwards and Maher, *Accounting Principles: A Business Perspective* (open text,
# CC BY 3.0), ch. 7, pp. 292-294.
HERMANSON = [
    buy(10, "8.00"),
    buy(10, "8.50"),
    sell(10),
    buy(20, "8.40"),
    sell(20),
    buy(10, "9.00"),
    sell(10),
    buy(20, "8.80"),
    sell(20),
    buy(10, "9.10"),
]
# OpenStax, *Principles of Accounting, Volume 1: Financial Accounting*, sections 10.2 and 10.3
# (inputs and printed answers from memory).
OPENSTAX = [buy(150, 21), sell(120), buy(225, 27), sell(180), buy(210, 33)]
# F1 Integrated Workbook (2018), p. 222.
WORKBOOK = [buy(200, 15), buy(100, 18), sell(250), buy(150, 20)]
# CRAN package FinCal, function cogs, documentation example. All is bought before anything is sold,
# so the weighted average of the period is the moving one too.
FINCAL = [buy(2, 2), buy(3, 3), buy(5, 5), sell(7)]
# ACCA MA1 course notes.
MA1 = [buy(1000, 5), buy(500, 6), sell(800)]
# ACCA forum thread that compares two textbooks.
FORUM = [buy(5, "3.50"), buy(5, "4.00"), buy(5, "5.00"), sell(7), buy(5, "5.50")]
# ACCA F3 practice item.
F3 = [buy(280, 80), buy(120, 96), sell(280), buy(320, 106), sell(360)]


def test_hermanson_fifo():
    costed = replay(HERMANSON, "fifo")

    assert list(costed.issues) == [D(80), D(169), D(84), D(178)]
    assert costed.cost_of_goods_sold == D(511)
    assert costed.on_hand_value == D(179)


def test_hermanson_moving_average():
    costed = replay(HERMANSON, "moving_average")

    assert list(costed.issues) == [D("82.5"), D(167), D("86.75"), D("175.166667")]
    assert cents(costed.cost_of_goods_sold) == D("511.42")
    assert cents(costed.on_hand_value) == D("178.58")
    assert costed.on_hand_quantity == D(20)


def test_openstax_fifo():
    costed = replay(OPENSTAX, "fifo")

    assert (costed.cost_of_goods_sold, costed.on_hand_value) == (D(7200), D(8955))


def test_openstax_moving_average():
    costed = replay(OPENSTAX, "moving_average")

    assert [cents(value) for value in costed.issues] == [D("2520.00"), D("4732.94")]
    assert cents(costed.cost_of_goods_sold) == D("7252.94")  # printed as 7,253
    assert cents(costed.on_hand_value) == D("8902.06")  # printed as 8,902


@pytest.mark.parametrize(
    ("history", "method", "sold", "left"),
    [
        (WORKBOOK, "fifo", "3900.00", "3900.00"),
        (WORKBOOK, "moving_average", "4000.00", "3800.00"),
        (FINCAL, "fifo", "23.00", "15.00"),
        (FINCAL, "moving_average", "26.60", "11.40"),
        (MA1, "fifo", "4000.00", "4000.00"),
        (MA1, "moving_average", "4266.67", "3733.33"),
        (FORUM, "moving_average", "29.17", "60.83"),
        (F3, "moving_average", "59822.55", "8017.45"),
    ],
)
def test_smaller_published_examples(history, method, sold, left):
    costed = replay(history, method)

    assert cents(costed.cost_of_goods_sold) == D(sold)
    assert cents(costed.on_hand_value) == D(left)


def test_f3_issues():
    assert [cents(value) for value in replay(F3, "moving_average").issues] == [
        D("23744.00"),
        D("36078.55"),
    ]


@pytest.mark.parametrize("method", METHODS)
@pytest.mark.parametrize("history", [HERMANSON, OPENSTAX, WORKBOOK, FINCAL, MA1, FORUM, F3])
def test_cost_of_sales_plus_ending_is_purchases_after_every_step(history, method):
    bought = accumulate(event.value if isinstance(event, Buy) else D(0) for event in history)

    for number, value_in in enumerate(bought, start=1):
        costed = replay(history[:number], method)
        assert costed.cost_of_goods_sold + costed.on_hand_value == value_in


def test_purchase_cost_takes_in_freight_and_duty_and_takes_off_discounts():
    """IAS 2.10-11: price, import duties and transport, less trade discounts and rebates."""
    value = landed([DeliveryLine(D(1), D(100))], discount=D(5), freight=D(7), duty=D(3))

    assert value == [D(105)]


def test_inbound_freight_belongs_in_the_cost_of_a_material():
    """65.49 for 10 lb is 0.41 an ounce; with 11.18 of freight it is 0.48 (a maker's figures)."""
    line = [DeliveryLine(D(160), D("65.49"))]

    assert cents(landed(line)[0] / 160) == D("0.41")
    assert cents(landed(line, freight=D("11.18"))[0] / 160) == D("0.48")


def test_lower_of_cost_and_net_realisable_value():
    """IFRS class notes, example 4: cost 430, price 500, completion and disposal 100 (IAS 2.9)."""
    assert lower_of_cost_and_nrv(D(430), D(500), D(100)) == (D(400), D(400), D(30))


def test_stock_is_never_carried_above_cost():
    """IAS 2.9."""
    assert lower_of_cost_and_nrv(D(430), D(900), D(100)) == (D(800), D(430), D(0))


def test_materials_are_not_written_down_while_finished_pieces_cover_their_cost():
    """IAS 2.32."""
    carried = lower_of_cost_and_nrv(D(430), D(500), D(100), finished_goods_cover_cost=True)

    assert (carried.value, carried.write_down) == (D(430), D(0))


def test_a_write_down_is_reversed_by_no_more_than_it_was():
    """IAS 2.33-34: the price recovers past cost, and the write-down is gone, no more."""
    before = lower_of_cost_and_nrv(D(430), D(500), D(100))
    after = lower_of_cost_and_nrv(D(430), D(1000), D(100))

    assert before.write_down - after.write_down == before.write_down
    assert after.value == D(430)


def test_stock_that_costs_more_to_finish_than_it_brings_is_worth_nothing():
    assert lower_of_cost_and_nrv(D(430), D(50), D(100)) == (D(-50), D(0), D(430))


def test_materials_follow_the_finished_goods():
    """The shape of a common exercise on IAS 2.32 (from memory): material that cost 100 can now be
    bought at 80. While the product made of it sells above cost it stays at 100; when the product
    sells below cost it goes down to replacement cost, 80."""
    material = [StockItem(D(10), D(100))]

    (good,) = value_material(material, D(8), products_cover_cost=True)
    (bad,) = value_material(material, D(8), products_cover_cost=False)

    assert (good.value, good.write_down) == (D(100), D(0))
    assert (bad.value, bad.write_down) == (D(80), D(20))


def test_write_downs_are_taken_item_by_item():
    """IAS 2.29: a gain on one item covers no loss on another. Costs 30, 40 and 50 that would bring
    20, 60 and 45 are carried at 20 + 40 + 45 = 105, not at the lower of 120 and 125."""
    items = [
        item
        for cost, brings in ((30, 20), (40, 60), (50, 45))
        for item in value_material([StockItem(D(1), D(cost), appraised=D(brings))], None)
    ]

    assert sum(item.value for item in items) == D(105)
    assert sum(item.write_down for item in items) == D(15)
