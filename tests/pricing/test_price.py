"""Prices: amounts add up, rounding never costs the studio, and refusals are in words."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from pricing.costing.price import (
    LabourStep,
    MaterialCost,
    PriceError,
    Profit,
    break_even_units,
    cost_of,
    price,
    profit,
    tax_inside,
)

D = Decimal


def coasters(**changes):
    """Four coasters: paint, resin, tiles, an hour and a half of work."""
    facts = {
        "materials": [
            MaterialCost("base", D("3.00"), D("4.00")),
            MaterialCost("resin", D("5.00"), D("5.60")),
        ],
        "success_rate": D("0.8"),
        "pieces": 4,
        "surface": D("3.20"),
        "steps": [
            LabourStep("set up", fixed_minutes=D(10)),
            LabourStep("pour", minutes_each=D(5), repeated=True),
            LabourStep("clean edges", fixed_minutes=D(4), minutes_each=D(14)),
        ],
        "hourly_rate": D(18),
        "overhead": D("1.50"),
        "overhead_per_hour": D(2),
        "packaging": D("2.10"),
        "shipping": D("6.40"),
    }
    return cost_of(**(facts | changes))


def test_every_amount_of_a_cost_is_shown():
    cost = coasters()

    # A quarter again is poured: materials 8.00 and pouring 20 min give 2.00 + 5 min at 0.30.
    # Work is 10 + 20 + 60 + 5 = 95 min, so overhead is 1.50 + 2 * 95 / 60 = 4.666667.
    assert [(line.kind, line.label, line.amount) for line in cost.lines] == [
        ("material", "base", D("3.000000")),
        ("material", "resin", D("5.000000")),
        ("failures", "Pieces that fail", D("3.500000")),
        ("surface", "Surface", D("3.200000")),
        ("labour", "set up", D("3.000000")),
        ("labour", "pour", D("6.000000")),
        ("labour", "clean edges", D("18.000000")),
        ("overhead", "Overhead", D("4.666667")),
        ("packaging", "Packaging", D("2.100000")),
        ("shipping", "Shipping", D("6.400000")),
    ]
    assert cost.minutes == 95
    assert cost.total == D("54.866667")
    assert cost.of("labour") == D(27)


def test_the_cautious_case_raises_materials_and_their_failures_only():
    cost = coasters()

    assert cost.cautious_total - cost.total == D("1.60") / D("0.8")  # 9.60 against 8.00


def test_a_spoiled_surface_is_bought_again():
    assert coasters(surface_spoiled=True).total - coasters().total == D("0.8")  # 3.20 / 4


def test_no_failure_has_no_line():
    assert coasters(success_rate=D(1)).of("failures") == 0
    assert "failures" not in {line.kind for line in coasters(success_rate=D(1)).lines}


def test_materials_are_divided_by_the_success_rate():
    cost = cost_of(materials=[MaterialCost("paint", D(2), D(2))], success_rate=D("0.7"))

    assert cost.total == D("2.857143")


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"success_rate": D(0)}, "above 0 %"),
        ({"success_rate": D("1.01")}, "at most 100 %"),
        ({"pieces": 0}, "at least one piece"),
        ({"shipping": D(-1)}, "below zero"),
        ({"materials": [MaterialCost("x", D(1), D(-1))]}, "below zero"),
    ],
)
def test_impossible_costs_are_refused_in_words(changes, words):
    with pytest.raises(PriceError, match=words):
        coasters(**changes)


def test_a_price_follows_from_cost_margin_fees_and_tax():
    # net = (20 + 0.50) / (1 - 0.30 - 0.05 * 1.20) = 20.50 / 0.64 = 32.03125; gross 38.4375.
    asked = price(
        D(20),
        margin=D("0.30"),
        percent_fees=D("0.05"),
        fixed_fees=D("0.50"),
        tax_rate=D("0.20"),
        cautious_cost=D(23),
    )

    assert asked.net_unrounded == D("32.03125")
    assert asked.gross_unrounded == D("38.4375")
    # 38.44 holds 6.41 of tax, which leaves 32.03, a fraction short of the margin.
    assert (asked.gross, asked.tax, asked.net) == (D("38.45"), D("6.41"), D("32.04"))
    assert asked.gross == asked.net + asked.tax
    assert asked.net == asked.fees + asked.cost + asked.profit
    assert asked.margin >= D("0.30")
    assert asked.profit - asked.cautious_profit == 3
    assert asked.cautious_margin == asked.cautious_profit / asked.net


def test_the_steps_of_a_price_add_up_to_it():
    asked = price(
        D("17.13"),
        margin=D("0.35"),
        percent_fees=D("0.065"),
        fixed_fees=D("0.45"),
        tax_rate=D("0.1"),
        rounding_step=D("0.50"),
        rush=D("0.15"),
        discount=D("0.05"),
        minimum_charge=D("60.20"),
    )
    *steps, (label, total) = asked.steps

    assert [what for what, _ in steps] == [
        "Cost",
        "Margin and fees on top",
        "Rush",
        "Discount",
        "Raised to the minimum charge",
        "Tax before rounding",
        "Rounded up",
    ]
    assert label == "Price" and total == asked.gross
    assert sum(amount for _, amount in steps) == pytest.approx(total, rel=D("1e-20"))


def test_the_tag_is_round_where_prices_include_tax():
    asked = price(D(20), margin=D("0.3"), tax_rate=D("0.2"), rounding_step=D("5"))

    # 20 / 0.7 * 1.2 = 34.29, so 35; tax inside is 35 / 6.
    assert (asked.gross, asked.tax, asked.net) == (D(35), D("5.83"), D("29.17"))


def test_the_tag_is_round_where_tax_comes_on_top():
    asked = price(
        D(20), margin=D("0.3"), tax_rate=D("0.0825"), rounding_step=D("5"), tax_inclusive=False
    )

    # 20 / 0.7 = 28.57, so 30; tax on it is 2.475, half up.
    assert (asked.net, asked.tax, asked.gross) == (D(30), D("2.48"), D("32.48"))


def test_an_exact_price_is_not_rounded_up():
    asked = price(D(12), margin=D("0.40"), rounding_step=D("0.05"))

    assert (asked.gross, asked.rounding, asked.margin) == (D("20.00"), 0, D("0.4"))


def test_rush_comes_before_discount():
    asked = price(D(10), margin=D("0.5"), rush=D("0.25"), discount=D("0.10"))

    assert (asked.rush, asked.discount, asked.gross) == (D(5), D("2.5"), D("22.50"))


def test_a_discount_shows_in_the_margin_reached():
    asked = price(D(10), margin=D("0.5"), discount=D("0.5"))

    assert (asked.gross, asked.profit, asked.margin) == (D(10), 0, 0)


def test_the_minimum_charge_is_what_the_customer_reads():
    with_tax = price(D(1), margin=D("0.5"), tax_rate=D("0.25"), minimum_charge=D(25))
    on_top = price(
        D(1), margin=D("0.5"), tax_rate=D("0.25"), minimum_charge=D(25), tax_inclusive=False
    )

    assert (with_tax.gross, with_tax.net) == (D(25), D(20))
    assert (on_top.gross, on_top.net) == (D("31.25"), D(25))


def test_currencies_without_cents_are_priced_in_whole_units():
    asked = price(D(1234), margin=D("0.3"), tax_rate=D("0.1"), rounding_step=D(10), minor_unit=D(1))

    # 1234 / 0.7 * 1.1 = 1939.14; tax inside 1940 is 176.36.
    assert (asked.gross, asked.tax) == (D(1940), D(176))


@given(
    cost=st.decimals("0.01", 5000, places=6),
    margin=st.decimals(0, "0.9", places=3),
    percent_fees=st.decimals(0, "0.5", places=4),
    fixed_fees=st.decimals(0, 5, places=2),
    tax_rate=st.decimals(0, "0.3", places=3),
    tax_inclusive=st.booleans(),
    rounding_step=st.sampled_from([D("0.01"), D("0.05"), D("0.50"), D(1), D(5)]),
)
def test_any_price_meets_its_margin_and_adds_up(
    cost, margin, percent_fees, fixed_fees, tax_rate, tax_inclusive, rounding_step
):
    left = 1 - margin - percent_fees * (1 + tax_rate)
    assume(left > 0)
    asked = price(
        cost,
        margin=margin,
        percent_fees=percent_fees,
        fixed_fees=fixed_fees,
        tax_rate=tax_rate,
        tax_inclusive=tax_inclusive,
        rounding_step=rounding_step,
    )
    needed = Fraction(cost + fixed_fees) / Fraction(left)
    shown, taxed = (asked.gross if tax_inclusive else asked.net), 1 + Fraction(tax_rate)
    exact = needed * taxed if tax_inclusive else needed

    assert asked.gross == asked.net + asked.tax
    assert asked.net == asked.percent_fees + asked.fixed_fees + cost + asked.profit
    assert shown % rounding_step == 0
    assert Fraction(asked.net) >= needed - Fraction(1, 10**11)
    # One step more only where rounding the tax would have eaten into the net.
    assert Fraction(shown) - exact < 2 * Fraction(rounding_step)
    # Tax is rounded to the cent, so fees on it may be out by half a cent's worth.
    assert Fraction(asked.profit) >= Fraction(margin) * Fraction(asked.net) - Fraction(1, 200)


def test_margin_and_fees_that_leave_nothing_are_refused_in_words():
    with pytest.raises(PriceError) as refusal:
        price(D(10), margin=D("0.6"), percent_fees=D("0.4"), tax_rate=D("0.1"))

    assert str(refusal.value) == (
        "A margin of 60 % and fees of 44 % of the price before tax leave nothing for the cost: "
        "lower one of them, so that together they stay below 100 %."
    )


@pytest.mark.parametrize(
    ("cost", "terms", "words"),
    [
        (D(0), {}, "above zero"),
        (D(5), {"rush": D("-0.1")}, "cannot be below zero"),
        (D(5), {"discount": D(1)}, "below 100 %"),
        (D(5), {"rounding_step": D("0.005")}, "multiple of 0.01"),
        (D(5), {"rounding_step": D(0)}, "multiple of 0.01"),
    ],
)
def test_terms_out_of_range_are_refused_in_words(cost, terms, words):
    with pytest.raises(PriceError, match=words):
        price(cost, margin=D("0.3"), **terms)


def test_identities_refuse_what_has_no_answer():
    for refused in (
        lambda: break_even_units(D(100), D(5), D(5)),
        lambda: tax_inside(D(1), D(-1)),
    ):
        with pytest.raises(PriceError):
            refused()


def test_nothing_fixed_breaks_even_at_once():
    assert break_even_units(D(0), D(5), D(4)) == 0


def sold():
    return profit(
        D(48),
        tax=D(8),
        fees=D("3.50"),
        materials=D("11.25"),
        labour=D("13.50"),
        overhead=D("1.75"),
        minutes=D(45),
    )


def test_profit_is_revenue_less_everything():
    assert sold().profit == D(10)
    assert sold().margin == D("0.25")
    assert sold().per_hour == D(10) * 60 / 45
    assert sold().earned_per_hour == D("23.5") * 60 / 45


def test_profits_of_several_sales_add_up():
    both = sold() + sold()

    assert isinstance(both, Profit)
    assert (both.revenue, both.profit, both.minutes) == (D(96), D(20), D(90))
    assert both.margin == sold().margin


def test_without_work_or_revenue_there_is_no_rate():
    assert profit(D(0)).margin is None
    assert profit(D(10)).per_hour is None
    assert profit(D(10)).earned_per_hour is None
