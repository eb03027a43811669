"""Costing: exact shares, the order of issue, and value in = value out + value on hand."""

from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule

from inventory.stock.costing import (
    CostingError,
    DeliveryLine,
    Lot,
    NotEnough,
    StockItem,
    Variance,
    apportion,
    issue,
    issue_order,
    landed,
    respread,
    value_material,
)
from studio.money import VALUE_PLACES
from tests.inventory.stock.histories import METHODS, Buy, Sell, replay

D = Decimal


def lot(key, quantity, value, expires_on=None, received_on=None):
    return Lot(key, D(quantity), D(value), expires_on, received_on)


def test_first_to_expire_goes_first_then_first_received_then_key():
    lots = [
        lot("e", 1, 1),
        lot("d", 1, 1, received_on=date(2026, 1, 2)),
        lot("c", 1, 1, received_on=date(2026, 1, 2)),
        lot("b", 1, 1, expires_on=date(2027, 1, 1), received_on=date(2026, 1, 1)),
        lot("a", 1, 1, expires_on=date(2026, 6, 1), received_on=date(2026, 3, 1)),
    ]

    assert [each.key for each in issue_order(lots)] == ["a", "b", "c", "d", "e"]


def test_what_came_first_goes_first_whatever_its_number():
    """First in, first out: by the day it came in, not by the key of its row."""
    late, early = (Lot(key, D(1), D(1), None, date(2026, 1, day)) for key, day in ((1, 9), (2, 4)))

    assert issue_order([late, early]) == [early, late]


def test_part_of_a_lot_takes_its_share_half_up_at_six_places():
    # 1 * 1/3 = 0.3333333..., 2 * 1/3 = 0.6666666..., 0.000001 * 1/2 = 0.0000005
    assert issue([lot(1, 3, 1)], D(1))[0].value == D("0.333333")
    assert issue([lot(1, 3, 2)], D(1))[0].value == D("0.666667")
    assert issue([lot(1, 2, "0.000001")], D(1))[0].value == D("0.000001")


def test_the_last_of_a_lot_takes_all_its_value():
    first = issue([lot(1, 3, 1)], D(1))[0]
    rest = lot(1, 2, D(1) - first.value)

    assert issue([rest], D(2))[0].value == D("0.666667")


def test_taking_too_much_says_what_is_missing():
    with pytest.raises(NotEnough, match=r"12\.5 is missing") as refusal:
        issue([lot(1, 50, 10), lot(2, 0, 0)], D("62.5"))

    assert refusal.value.missing == D("12.5")


def test_taking_a_little_too_much_is_too_much():
    with pytest.raises(NotEnough, match=r"0\.5 is missing"):
        issue([lot(1, 50, 10)], D("50.5"))


@pytest.mark.parametrize("quantity", ["0", "-1", "NaN"])
def test_taking_nothing_is_refused(quantity):
    with pytest.raises(CostingError, match="more than zero"):
        issue([lot(1, 50, 10)], D(quantity))


def test_shares_of_large_amounts_stay_exact():
    # 19 digits of value times 14 of quantity: more than a Decimal of 28 digits would keep.
    value, quantity = D("1234567890123.456789"), D("9876543210.9876")
    part = D("1234567.8901")
    exact = (value.as_integer_ratio()[0] * 10**6 // value.as_integer_ratio()[1]) * 12345678901
    expected = (2 * exact + 98765432109876) // (2 * 98765432109876)

    assert issue([Lot(1, quantity, value)], part)[0].value == D(expected) * VALUE_PLACES


def test_respreading_brings_every_lot_to_the_average():
    lots = [lot(1, 10, 80), lot(2, 30, 240 + 40)]

    assert respread(lots) == [(1, D(10)), (2, D(-10))]  # 360 over 40 is 9 each


def test_respreading_gives_the_remainder_to_the_largest_fraction():
    # 1.000000 over 3 and 4: 0.428571|43 and 0.571428|57; the millionth left goes to the second.
    changes = dict(respread([lot(1, 3, 1), lot(2, 4, 0)]))

    assert changes == {1: D("-0.571429"), 2: D("0.571429")}


def test_respreading_takes_the_value_of_an_empty_lot():
    assert respread([lot(1, 0, "0.5"), lot(2, 4, 1)]) == [(1, D("-0.5")), (2, D("0.5"))]


def test_respreading_nothing_on_hand_changes_nothing():
    assert respread([lot(1, 0, "0.5")]) == []
    assert respread([]) == []


@given(
    st.integers(0, 10**15),
    st.lists(st.decimals(0, 10**6, places=4), min_size=1, max_size=12).filter(any),
)
def test_shares_add_up_and_are_off_by_less_than_one_place(micro, weights):
    total = D(micro) * VALUE_PLACES
    shares = apportion(total, weights)

    assert sum(shares) == total
    for share, weight in zip(shares, weights, strict=True):
        assert abs(share - total * weight / sum(weights)) < VALUE_PLACES * D("1.000001")


def test_freight_and_duty_are_shared_by_value_and_discount_taken_off():
    # Goods of 60 and 40; less 10, plus 15 and 5: 110 over 100.
    lines = [DeliveryLine(D(500), D(60)), DeliveryLine(D(2), D(40))]

    assert landed(lines, discount=D(10), freight=D(15), duty=D(5)) == [D(66), D(44)]


def test_freight_of_free_goods_is_shared_by_quantity():
    lines = [DeliveryLine(D(3), D(0)), DeliveryLine(D(1), D(0))]

    assert landed(lines, freight=D(8)) == [D(6), D(2)]


def test_freight_that_does_not_divide_still_adds_up():
    lines = [DeliveryLine(D(1), D(1))] * 3

    assert landed(lines, freight=D("1")) == [D("1.333334"), D("1.333333"), D("1.333333")]


@pytest.mark.parametrize(
    ("lines", "charges", "words"),
    [
        ([], {}, "at least one line"),
        ([DeliveryLine(D(1), D(-1))], {}, "below zero"),
        ([DeliveryLine(D(1), D(5))], {"discount": D(6)}, "more than the goods at 5"),
        ([DeliveryLine(D(0), D(0))], {"freight": D(6)}, "needs a quantity"),
        ([DeliveryLine(D(1), D("0.0000001"))], {}, "six places"),
    ],
)
def test_impossible_deliveries_are_refused_in_words(lines, charges, words):
    with pytest.raises(CostingError, match=words):
        landed(lines, **charges)


@pytest.mark.parametrize("method", METHODS)
def test_a_lot_sold_out_is_gone(method):
    done = replay([Buy(D(10), D(80)), Sell(D(4)), Sell(D(6))], method)

    assert (done.issues, done.lots) == ((D(32), D(48)), ())


def test_unknown_method_is_refused():
    with pytest.raises(CostingError, match="fifo or moving_average, not lifo"):
        replay([], "lifo")


QUANTITIES = st.decimals("0.0001", 5000, places=4)
VALUES = st.decimals(0, 5000, places=6)
HISTORIES = st.lists(st.tuples(st.booleans(), QUANTITIES, VALUES), min_size=1, max_size=40)


@pytest.mark.parametrize("method", METHODS)
@given(history=HISTORIES)
@settings(deadline=None)
def test_value_in_is_value_out_plus_on_hand_in_any_history(method, history):
    events, on_hand, value_in = [], D(0), D(0)
    for buys, quantity, value in history:
        if buys or on_hand < quantity:
            events.append(Buy(quantity, value))
            on_hand, value_in = on_hand + quantity, value_in + value
        else:
            events.append(Sell(quantity))
            on_hand -= quantity

    costed = replay(events, method)

    assert costed.cost_of_goods_sold + costed.on_hand_value == value_in
    assert costed.on_hand_quantity == on_hand
    assert all(each.value >= 0 for each in costed.lots)


class MovingAverageShelf(RuleBasedStateMachine):
    """A shelf as the ledger keeps it: receipts, issues and weigh-in gains in any order."""

    def __init__(self):
        super().__init__()
        self.lots: dict[int, Lot] = {}
        self.value_in = self.value_out = D(0)

    def respread(self):
        for key, change in respread(list(self.lots.values())):
            old = self.lots[key]
            self.lots[key] = Lot(key, old.quantity, old.value + change)

    @rule(quantity=QUANTITIES, value=VALUES)
    def receive(self, quantity, value):
        self.lots[len(self.lots)] = Lot(len(self.lots), quantity, value)
        self.value_in += value
        self.respread()

    @precondition(lambda self: any(each.quantity for each in self.lots.values()))
    @rule(share=st.fractions(0, 1))
    def use(self, share):
        on_hand = sum(each.quantity for each in self.lots.values())
        units = max(1, int(on_hand * 10**4 * share.numerator / share.denominator))
        average = sum(each.value for each in self.lots.values()) / on_hand
        lots_before = len(self.lots)
        taken = D(units) / 10**4
        value = D(0)
        for take in issue(self.lots.values(), taken):
            old = self.lots[take.key]
            left = old.quantity - take.quantity, old.value - take.value
            self.lots[take.key] = Lot(take.key, *left)
            value += take.value
        self.value_out += value
        # Each lot may be a few rounding steps from the average, never more.
        drift = VALUE_PLACES * (2 + lots_before) * (1 + on_hand)
        assert abs(value - taken * average) <= drift

    @precondition(lambda self: self.lots)
    @rule(quantity=QUANTITIES)
    def weigh_in_a_gain(self, quantity):
        old = self.lots[0]
        self.lots[0] = Lot(0, old.quantity + quantity, old.value)
        self.respread()

    @invariant()
    def the_books_balance(self):
        assert self.value_in == self.value_out + sum(each.value for each in self.lots.values())
        assert all(each.value >= 0 for each in self.lots.values())


MovingAverageShelf.TestCase.settings = settings(deadline=None, max_examples=30)
TestMovingAverageShelf = MovingAverageShelf.TestCase


# What stock is worth, and what a count found


@pytest.mark.parametrize("amount", [D(-1), D("NaN"), D("Infinity")])
@pytest.mark.parametrize("name", ["quantity", "cost", "appraised"])
def test_one_amount_that_cannot_be_is_enough_to_value_nothing(name, amount):
    """All the others are as they may be."""
    fine = {"quantity": D(1), "cost": D(2), "appraised": D(1)}

    with pytest.raises(CostingError, match="never below zero"):
        value_material([StockItem(**fine), StockItem(**fine | {name: amount})], D(3))


@pytest.mark.parametrize("replacement", [D(-1), D("NaN")])
def test_replacing_stock_does_not_bring_money(replacement):
    with pytest.raises(CostingError, match="never below zero"):
        value_material([StockItem(D(1), D(2))], replacement)


def test_variances_of_bottles_add_up_part_by_part():
    both = Variance(D(10), D(12), D(5), D("0.4")) + Variance(D(20), D(15), D(8), D("-1.5"))

    assert both == Variance(D(30), D(27), D(13), D("-1.1"))
