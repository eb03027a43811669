"""Prices: amounts add up, rounding never costs the studio, and refusals are in words."""

from decimal import Decimal
from fractions import Fraction
from math import comb

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from pricing.costing.price import (
    MaterialCost,
    PriceError,
    Profit,
    StepTime,
    break_even_units,
    cost_of,
    price,
    profit,
    sessions,
    tax_inside,
)

D, F = Decimal, Fraction


def coasters(**changes):
    """Four coasters: paint, resin, tiles, an hour and a half of work."""
    facts = {
        "materials": [
            MaterialCost("base", D("3.00"), D("4.00"), again=D("0.75")),
            MaterialCost("resin", D("5.00"), D("5.60"), again=D("1.25")),
        ],
        "sessions": sessions(4, D("0.8")),
        "surface": D("3.20"),
        "steps": [
            StepTime("set up", fixed_minutes=D(10)),
            StepTime("pour", minutes_each=D(5), done_for="poured"),
            StepTime("clean edges", fixed_minutes=D(4), minutes_each=D(14)),
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


def test_a_piece_costs_what_it_had_taken_when_it_failed():
    """60 of 100 pours come out well, and 9 of 10 coats.

    For one good piece 1 / 0.9 are coated and 1 / 0.54 poured: 0.111111 and 0.851852 more than one,
    each in a session of its own. So that is how often a tile (0.80) is lost, a pour of 5 minutes
    made again and a coat of 9 + 2 minutes.
    """
    facts = {
        "materials": [
            MaterialCost("base", D(3), D(3), again=D("2.60")),
            MaterialCost("resin", D(5), D(5), is_coat=True, again=D("0.60")),
        ],
        "sessions": sessions(1, D("0.6"), D("0.9")),
        "surface": D("0.80"),
        "surface_spoiled": True,
        "steps": [
            StepTime("pour", minutes_each=D(5), done_for="poured"),
            StepTime("coat", fixed_minutes=D(9), minutes_each=D(2), done_for="coated"),
            StepTime("pack", minutes_each=D(1)),
        ],
    }

    cost = coasters(**facts)

    # At 18 an hour 0.851852 × 5 + 0.111111 × 11 = 5.481481 min are 1.644444.
    spoiled = 2.60 + 0.60 + 0.8 * 0.851852 + 1.644444
    assert float(cost.of("failures")) == pytest.approx(spoiled, abs=1e-5)
    assert float(cost.minutes) == pytest.approx(5 + 11 + 1 + 5.481481)
    assert cost.success_rate == D("0.54")


def test_a_spoiled_surface_is_bought_again():
    assert coasters(surface_spoiled=True).total - coasters().total == D("0.8")  # 3.20 / 4


def test_no_failure_has_no_line():
    paint = [MaterialCost("base", D(3), D(4))]
    cost = coasters(sessions=sessions(4, D(1)), materials=paint)

    assert "failures" not in {line.kind for line in cost.lines}


def test_what_fails_is_set_up_for_again():
    """Of two pieces at a half each: 2/3 pours of two beyond the first expected, and 4/3 of one.

    With 1/4 both fail and with 1/2 one does: 4/3 pours of two and 4/3 of one in all.
    """
    steps = [StepTime("set up", D(12), D(1), "poured"), StepTime("pack", D(7), D(1))]
    cost = cost_of(materials=(), sessions=sessions(2, D("0.5")), steps=steps, hourly_rate=D(60))

    # Beyond the first pour 5/3 are set up, with two pieces more.
    assert float(cost.of("failures")) == pytest.approx(12 * 5 / 3 + 2)
    assert float(cost.minutes) == pytest.approx(14 + 9 + 22)


# Sessions


def expected_pours(pieces, success):
    """{pieces poured together: how often}, by solving the equations of the chain with fractions."""
    times = {pieces: F(1)}
    for count in range(pieces, 0, -1):
        comes = times.pop(count, F(0))
        # Of the visits to a state some come back to it.
        times[count] = comes / (1 - (1 - success) ** count)
        for left in range(1, count):
            chance = comb(count, left) * success ** (count - left) * (1 - success) ** left
            times[left] = times.get(left, F(0)) + times[count] * chance
    return times


@pytest.mark.parametrize("pieces", (1, 2, 5, 12))
@pytest.mark.parametrize("success", ("0.95", "0.6", "0.3"))
def test_sessions_are_the_visits_of_the_chain(pieces, success):
    found = sessions(pieces, D(success))

    expected = expected_pours(pieces, F(success))
    for count, times in expected.items():
        assert abs(F(found.pours.get(count, 0)) - times) < F(1, 10**8)
    # By Wald's identity so many are poured in all.
    poured = sum(count * times for count, times in found.pours.items())
    assert float(poured) == pytest.approx(pieces / float(success), rel=1e-7)
    assert float(found.poured) == pytest.approx(pieces / float(success))


@pytest.mark.parametrize("pieces", (1, 3, 8))
def test_what_is_coated_are_the_good_pieces_of_each_pour(pieces):
    pour, coat = 0.8, 0.9
    found = sessions(pieces, D("0.8"), D("0.9"))

    coats = {
        count: sum(
            float(times) * comb(poured, count) * pour**count * (1 - pour) ** (poured - count)
            for poured, times in found.pours.items()
            if poured >= count
        )
        for count in range(1, pieces + 1)
    }
    assert {key: float(times) for key, times in found.coats.items()} == pytest.approx(coats)
    assert float(sum(count * times for count, times in coats.items())) == pytest.approx(
        pieces / coat
    )


def test_where_nothing_fails_there_is_one_session():
    found = sessions(7, D(1))

    assert (found.pours, found.coats) == ({7: 1}, {7: 1})
    assert (found.pours_again, found.coats_again) == ({}, {})


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"shipping": D(-1)}, "below zero"),
        ({"materials": [MaterialCost("x", D(1), D(-1))]}, "below zero"),
    ],
)
def test_impossible_costs_are_refused_in_words(changes, words):
    with pytest.raises(PriceError, match=words):
        coasters(**changes)


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        ((4, D(0)), "above 0 %"),
        ((4, D("1.01")), "at most 100 %"),
        ((4, D(1), D(0)), "above 0 %"),
        ((0, D(1)), "at least one piece"),
    ],
)
def test_impossible_sessions_are_refused_in_words(asked, words):
    with pytest.raises(PriceError, match=words):
        sessions(*asked)


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
        "Profit and fees on top",
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


AIMS = st.tuples(st.decimals(0, "0.9", places=3), st.just(D(0))) | st.tuples(
    st.just(D(0)), st.decimals(0, 10, places=3)
)


def test_what_failed_opens_to_what_it_took():
    """A quarter again: base 0.75, resin 1.25, tiles 0.80; and five minutes at 0.30, 1.50."""
    cost = coasters(surface_spoiled=True, surface_made_of=(("tile", D("3.20")),))

    failed, surface = (
        next(line for line in cost.lines if line.kind == kind) for kind in ("failures", "surface")
    )

    assert dict(failed.made_of) == {
        "base": D("0.75"),
        "resin": D("1.25"),
        "Surface": D("0.80"),
        "Work": D("1.50"),
    }
    assert failed.amount == D("4.30")
    assert surface.made_of == (("tile", D("3.20")),)


@given(
    cost=st.decimals("0.01", 5000, places=6),
    aim=AIMS,
    percent_fees=st.decimals(0, "0.5", places=4),
    fixed_fees=st.decimals(0, 5, places=2),
    tax_rate=st.decimals(0, "0.3", places=3),
    tax_inclusive=st.booleans(),
    rounding_step=st.sampled_from([D("0.01"), D("0.05"), D("0.50"), D(1), D(5)]),
)
def test_any_price_meets_its_margin_or_markup_and_adds_up(
    cost, aim, percent_fees, fixed_fees, tax_rate, tax_inclusive, rounding_step
):
    margin, markup = aim
    left = 1 - margin - percent_fees * (1 + tax_rate)
    assume(left > 0)
    asked = price(
        cost,
        margin=margin,
        markup=markup,
        percent_fees=percent_fees,
        fixed_fees=fixed_fees,
        tax_rate=tax_rate,
        tax_inclusive=tax_inclusive,
        rounding_step=rounding_step,
    )
    aimed = Fraction(markup) * Fraction(cost)
    needed = (Fraction(cost + fixed_fees) + aimed) / Fraction(left)
    shown, taxed = (asked.gross if tax_inclusive else asked.net), 1 + Fraction(tax_rate)
    exact = needed * taxed if tax_inclusive else needed

    assert asked.gross == asked.net + asked.tax
    assert asked.net == asked.percent_fees + asked.fixed_fees + cost + asked.profit
    assert shown % rounding_step == 0
    assert Fraction(asked.net) >= needed - Fraction(1, 10**11)
    # One step more only where rounding the tax would have eaten into the net.
    assert Fraction(shown) - exact < 2 * Fraction(rounding_step)
    # Tax is rounded to the cent, so fees on it may be out by half a cent's worth.
    aimed += Fraction(margin) * Fraction(asked.net)
    assert Fraction(asked.profit) >= aimed - Fraction(1, 200)


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
