"""The purchase plan: equal to brute force on small markets, with every term in play."""

from decimal import Decimal
from math import inf

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.buying.reordering import (
    MaterialNeed,
    PackOffer,
    PlanProblem,
    PriceBreak,
    ShippingTier,
    SupplierTerms,
    Words,
    plan,
)
from inventory.buying.reordering import planning as planning_module
from inventory.buying.reordering.solving import Best
from tests.inventory.buying.markets import TODAY, brute_force, day, random_market, shipping_of

D = Decimal


def brought_by(bought, needs):
    return sum(
        sum(line.covers for line in bought.lines if line.material == material)
        / sum(need.quantity for need in needs if need.material == material)
        for material in {need.material for need in needs}
    )


@given(st.integers(0, 10**6))
@settings(max_examples=40, deadline=None, derandomize=True)
def test_plan_equals_brute_force(seed):
    needs, offers, suppliers = random_market(seed)
    cost, brought = brute_force(needs, offers, suppliers)
    if cost == inf:
        with pytest.raises(PlanProblem, match="soonest it can arrive"):
            plan(needs, offers, suppliers, today=TODAY)
        return

    bought = plan(needs, offers, suppliers, today=TODAY)

    assert bought.proven and bought.gap == 0
    assert bought.total == cost
    assert float(brought_by(bought, needs)) == pytest.approx(brought)
    assert not any(line.late for line in bought.lines)


def test_the_same_facts_in_any_order_give_the_same_plan():
    needs, offers, suppliers = random_market(11)

    assert plan(needs, offers, suppliers, today=TODAY) == plan(
        needs[::-1], offers[::-1], suppliers[::-1], today=TODAY
    )


WHITE = [
    PackOffer("white", size, "shop", D(size), price) for size, price in [(120, 750), (250, 1300)]
]


def test_of_equal_costs_the_one_with_less_left_over_is_taken():
    offers = [
        PackOffer("white", "a", "shop", D(300), 1000),
        PackOffer("white", "b", "shop", D(260), 1000),
        PackOffer("white", "c", "shop", D(400), 1000),
    ]

    assert [
        line.pack
        for line in plan([MaterialNeed("white", D(250))], offers, [SupplierTerms("shop")]).lines
    ] == ["b"]


def test_more_is_bought_where_that_makes_shipping_free():
    shop = SupplierTerms("shop", shipping_fee=900, free_over=1500)
    bought = plan([MaterialNeed("white", D(240))], WHITE, [shop])

    # 1 x 250 is 1300 + 900; 2 x 120 is 1500 and ships free.
    assert [(line.count, line.pack) for line in bought.lines] == [(2, 120)]
    assert (bought.goods, bought.shipping, bought.total) == (1500, 0, 1500)


def test_a_least_order_is_reached():
    bought = plan(
        [MaterialNeed("white", D(100))], WHITE, [SupplierTerms("shop", minimum_order=2000)]
    )

    assert bought.goods >= 2000
    assert bought.total == 2050  # 750 + 1300


def test_an_amount_just_above_a_pack_needs_a_second():
    bought = plan([MaterialNeed("white", D("250.0001"))], WHITE[1:], [SupplierTerms("shop")])

    assert bought.lines[0].count == 2


def test_urgent_needs_come_from_the_fast_supplier_and_the_rest_from_the_cheap_one():
    offers = [
        PackOffer("white", "bottle", "fast", D(100), 900),
        PackOffer("white", "bottle", "slow", D(100), 500),
    ]
    suppliers = [SupplierTerms("fast", lead_days=1), SupplierTerms("slow", lead_days=10)]
    needs = [MaterialNeed("white", D(100), day(3)), MaterialNeed("white", D(200), day(20))]
    bought = plan(needs, offers, suppliers, today=TODAY)

    assert [(line.supplier, line.count, line.needed_by) for line in bought.lines] == [
        ("fast", 1, day(3)),
        ("slow", 2, day(20)),
    ]
    assert bought.orders[1].arrives_on == day(10)


def test_a_line_says_why_in_facts():
    needs = [MaterialNeed("white", D(310), day(9), "two coaster sets")]
    words = Words(quantity=lambda material, amount: f"{amount.normalize():f} mL")
    bought = plan(needs, WHITE, [SupplierTerms("shop", lead_days=2)], today=TODAY, words=words)

    # 120 + 250 is 20.50; three of 120 are 22.50, two of 250 are 26.00.
    assert [line.why for line in bought.lines] == [
        "310 mL needed for two coaster sets by 10 May 2026. "
        "This brings 120 mL; with the other pack, 60 mL is left over. "
        "The next cheapest, 3 × 120 from shop, costs 2.00 more.",
        "310 mL needed for two coaster sets by 10 May 2026. "
        "This brings 250 mL; with the other pack, 60 mL is left over. "
        "The next cheapest, 3 × 120 from shop, costs 2.00 more.",
    ]


def test_plan_is_compared_with_cheapest_packs_and_single_suppliers():
    offers = [
        PackOffer("white", "b", "one", D(100), 500),
        PackOffer("white", "b", "two", D(100), 550),
        PackOffer("blue", "b", "two", D(100), 400),
        PackOffer("blue", "b", "one", D(100), 450),
        PackOffer("gold", "b", "one", D(100), 700),
        PackOffer("gold", "b", "two", D(100), 710),
    ]
    suppliers = [SupplierTerms("one", shipping_fee=600), SupplierTerms("two", shipping_fee=500)]
    needs = [MaterialNeed(material, D(80)) for material in ("white", "blue", "gold")]
    bought = plan(needs, offers, suppliers)

    # Cheapest packs: 500 + 700 + 400 and both fees. From one: 1650 + 600; from two: 1660 + 500.
    assert bought.total == 2160
    assert [(way.way, way.supplier, way.total, way.saving) for way in bought.compared_with] == [
        ("cheapest_packs", None, 2700, 540),
        ("one_supplier", "two", 2160, 0),
        ("one_supplier", "one", 2250, 90),
    ]


def test_a_supplier_without_everything_is_no_single_supplier():
    offers = [*WHITE, PackOffer("blue", "b", "other", D(100), 400)]
    bought = plan(
        [MaterialNeed("white", D(50)), MaterialNeed("blue", D(50))],
        offers,
        [SupplierTerms("shop"), SupplierTerms("other")],
    )

    assert [way.way for way in bought.compared_with] == ["cheapest_packs"]


def test_nothing_needed_is_an_empty_plan():
    bought = plan([MaterialNeed("white", D(0))], WHITE, [SupplierTerms("shop")])

    assert (bought.lines, bought.total, bought.proven) == ((), 0, True)


def test_a_material_that_nobody_sells_is_named():
    with pytest.raises(PlanProblem, match="No supplier offers blue and gold") as refusal:
        plan(
            [MaterialNeed(m, D(1)) for m in ("blue", "gold", "white")],
            WHITE,
            [SupplierTerms("shop")],
        )

    assert (refusal.value.code, refusal.value.materials) == ("nobody_sells", ("blue", "gold"))


def test_a_date_before_any_lead_time_is_refused_with_the_soonest():
    with pytest.raises(PlanProblem) as refusal:
        plan(
            [MaterialNeed("white", D(1), day(2))],
            WHITE,
            [SupplierTerms("shop", lead_days=6)],
            today=TODAY,
        )

    assert str(refusal.value) == (
        "white is needed by 3 May 2026, and the soonest it can arrive is 7 May 2026, from shop."
    )
    assert refusal.value.least == day(6)


def test_late_is_allowed_on_request_and_marked():
    shop = SupplierTerms("shop", lead_days=6)
    bought = plan(
        [MaterialNeed("white", D(1), day(2))], WHITE, [shop], today=TODAY, allow_late=True
    )

    assert [(line.late, line.needed_by, line.arrives_on) for line in bought.lines] == [
        (True, day(2), day(6))
    ]
    assert bought.lines[0].why.endswith("It arrives on 7 May 2026, after the day it is needed.")


def test_dated_needs_ask_for_today():
    with pytest.raises(PlanProblem, match="from which day"):
        plan([MaterialNeed("white", D(1), day(2))], WHITE, [SupplierTerms("shop")])


@pytest.mark.parametrize(
    ("offer", "supplier", "words"),
    [
        (
            PackOffer("white", "b", "shop", D(0), 100),
            SupplierTerms("shop"),
            "size and a price above zero",
        ),
        (
            PackOffer("white", "b", "shop", D(10), 0),
            SupplierTerms("shop"),
            "size and a price above zero",
        ),
        (WHITE[0], SupplierTerms("shop", minimum_order=-1), "not below zero"),
        (
            WHITE[0],
            SupplierTerms("shop", shipping_fee=100, shipping_tiers=(ShippingTier(50, 200),)),
            "must not cost more",
        ),
    ],
)
def test_offers_and_terms_that_make_no_sense_are_refused(offer, supplier, words):
    with pytest.raises(PlanProblem, match=words):
        plan([MaterialNeed("white", D(1))], [offer], [supplier])


def stand_in(monkeypatch, bound):
    def solve(market, known, most_nodes):
        return Best(known, market.total(known), bound)

    monkeypatch.setattr(planning_module, "solve", solve)


def test_out_of_time_the_basket_found_without_the_solver_stands_in(monkeypatch):
    """As if the solver had found nothing but a bound of 12.00 when its time was up."""
    stand_in(monkeypatch, 1200)
    bought = plan([MaterialNeed("white", D(240))], WHITE, [SupplierTerms("shop")])

    assert [(line.count, line.pack) for line in bought.lines] == [(1, 250)]
    assert not bought.proven
    assert bought.gap == pytest.approx(100 / 1300)


@pytest.mark.parametrize("seed", range(12))
def test_the_basket_found_without_the_solver_keeps_every_term(seed, monkeypatch):
    needs, offers, suppliers = random_market(seed)
    best = plan(needs, offers, suppliers, today=TODAY)
    stand_in(monkeypatch, 0)
    bought = plan(needs, offers, suppliers, today=TODAY)

    assert bought.total >= best.total
    for order in bought.orders:
        terms = next(supplier for supplier in suppliers if supplier.key == order.supplier)
        assert order.goods >= terms.minimum_order
        assert order.shipping == shipping_of(terms, order.goods)
    for material in ("white", "blue"):
        wanted = sum(need.quantity for need in needs if need.material == material)
        assert sum(line.covers for line in bought.lines if line.material == material) >= wanted


def test_more_than_the_last_break_is_bought_where_shipping_falls_by_more():
    """Eight at 4.00 reach 32.00 and ship free; three would do at 5.00, with 20.00 of shipping."""
    offer = PackOffer(
        "white", "b", "shop", D(100), 600, 1, (PriceBreak(3, 500), PriceBreak(5, 400))
    )
    shop = SupplierTerms("shop", shipping_fee=2000, free_over=3200)
    bought = plan([MaterialNeed("white", D(300))], [offer], [shop])

    assert [(line.count, line.unit_price) for line in bought.lines] == [(8, 400)]
    assert bought.total == 3200


def test_a_break_that_does_not_undercut_is_none():
    offer = PackOffer(
        "white", "b", "shop", D(100), 400, 2, (PriceBreak(2, 450), PriceBreak(3, 390))
    )

    assert offer.levels == [(2, 400), (3, 390)]
    assert offer.cost(2) == 800


@pytest.mark.parametrize(
    ("breaks", "terms", "said"),
    [
        ((PriceBreak(3, 300),), {}, "From 3 on each costs 3.00, so 3 cost no more than 2."),
        ((), {"minimum_order": 1300}, "2 would do, but shop takes orders from 13.00 on."),
        (
            (),
            {"shipping_fee": 900, "free_over": 1500},
            "2 would do, but then shipping costs 9.00.",
        ),
    ],
)
def test_a_line_says_what_more_than_is_needed_is_for(breaks, terms, said):
    offer = PackOffer("white", "b", "shop", D(100), 500, price_breaks=breaks)
    bought = plan([MaterialNeed("white", D(200))], [offer], [SupplierTerms("shop", **terms)])

    assert bought.lines[0].count == 3
    assert said in bought.lines[0].why
