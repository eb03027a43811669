"""Where a price goes, as it is shown: parts add up, and the profit is what it is elsewhere."""

from decimal import ROUND_HALF_UP
from decimal import Decimal as D

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pricing.costing.price import CostLine, PricePart, beside, price_parts, shown_parts

amounts = st.decimals(0, 500, places=6)


@given(
    costs=st.lists(amounts, min_size=1, max_size=6),
    profit=st.decimals(-50, 500, places=6),
    tax=st.decimals(0, 90, places=2),
    fees=st.decimals(0, 90, places=2),
    places=st.sampled_from([0, 2, 3]),
)
def test_what_is_shown_adds_up_and_the_profit_is_rounded_by_itself(
    costs, profit, tax, fees, places
):
    """The price before tax is a round one, as `offer` makes it; the profit is what is left."""
    unit = D(1).scaleb(-places)
    tax, fees = (one.quantize(unit) for one in (tax, fees))
    net = (sum(costs) + fees + profit).quantize(unit)
    profit = net - fees - sum(costs)
    lines = [
        CostLine("material", f"Layer {at}", one, one, made_of=((f"paint {at}", one),))
        for at, one in enumerate(costs)
    ]

    parts = shown_parts(price_parts(lines, net=net, tax=tax, fees=fees, profit=profit), places)

    shown = {part.label: part.amount for part in parts}
    assert sum(shown.values()) == net + tax
    assert shown.get("Profit", 0) == profit.quantize(unit, ROUND_HALF_UP)
    assert (shown.get("Tax", 0), shown.get("Fees of the channel", 0)) == (tax, fees)
    for part in parts:
        assert sum(amount for _, amount in part.made_of) in (part.amount, 0)


def test_half_a_cent_of_profit_is_never_taken_from_fees():
    """20.01 of which 0.005 are profit, 0.005 cost and 20.00 fees: 0.01, 0.00 and 20.00."""
    line = CostLine("surface", "Surface", D("0.005"), D("0.005"))
    made = price_parts([line], net=D("20.01"), tax=D(0), fees=D(20), profit=D("0.005"))

    parts = shown_parts(made, 2)

    shown = {one.label: one.amount for one in parts}
    assert (shown["Profit"], shown["Fees of the channel"]) == (D("0.01"), D(20))
    assert sum(shown.values()) == D("20.01")


def test_half_a_cent_of_profit_is_rounded_up_and_the_cost_gives_it():
    """10.00 of which 4.005 are profit and 5.995 cost: 4.01 and 5.99."""
    line = CostLine("surface", "Surface", D("5.995"), D("5.995"))

    parts = shown_parts(price_parts([line], net=D(10), tax=D(0), fees=D(0), profit=D("4.005")), 2)

    assert [(one.label, one.amount) for one in parts] == [
        ("Tiles, canvases and boards", D("5.99")),
        ("Profit", D("4.01")),
    ]


def test_nothing_has_no_shares():
    parts = shown_parts([PricePart("Profit", D(-2)), PricePart("Work", D(2))], 2)

    assert [(one.amount, one.share) for one in parts] == [(D(-2), 0), (D(2), 0)]


@pytest.mark.parametrize("columns", [[], [[]], [[], []]])
def test_nothing_beside_nothing_is_nothing(columns):
    assert beside(columns) == []
