"""The cheapest cover of one need: equal to counting up, and a bound when time runs out."""

from decimal import Decimal
from itertools import product

from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.buying.reordering import MaterialNeed, PackOffer, SupplierTerms, knapsack, plan
from inventory.buying.reordering.knapsack import CoverPack, cheapest_cover

PACKS = st.lists(st.tuples(st.integers(1, 60), st.integers(1, 99)), min_size=1, max_size=6)


def counted_up(units, packs):
    """The least cost of each amount from nothing up, each from the smaller ones."""
    least = [0]
    for amount in range(1, units + 1):
        least.append(min(p.price + least[max(0, amount - p.size)] for p in packs))
    return least[units]


@given(st.integers(1, 300), PACKS)
@settings(deadline=None)
def test_cheapest_cover_equals_counting_up(units, sizes_and_prices):
    packs = [CoverPack(number, *each) for number, each in enumerate(sizes_and_prices)]
    found = cheapest_cover(units, packs)

    assert found.bound == counted_up(units, packs)
    assert sum(packs[i].size * count for i, count in found.counts.items()) >= units
    assert sum(packs[i].price * count for i, count in found.counts.items()) == found.bound


@given(
    st.integers(1, 25),
    st.integers(0, 20),
    st.lists(st.tuples(st.integers(1, 12), st.integers(1, 9), st.integers(0, 1)), max_size=2),
)
@settings(deadline=None)
def test_the_cheapest_in_time_for_two_dates_equals_trying_all(sooner, later, rows):
    """Each pack up to as often as covers all by itself; of equal costs, what holds least."""
    packs = [CoverPack(number, *each) for number, each in enumerate([(5, 4, 0), *rows])]
    units, ways = sooner + later, []
    for counts in product(*(range(-(-units // pack.size) + 1) for pack in packs)):
        bought = list(zip(counts, packs, strict=True))
        held = sum(count * pack.size for count, pack in bought)
        in_time = sum(count * pack.size for count, pack in bought if pack.first == 0)
        if in_time >= sooner and held >= units:
            ways.append((sum(count * pack.price for count, pack in bought), held))
    found = cheapest_cover(units, packs, [sooner])
    held = sum(packs[i].size * count for i, count in found.counts.items())

    assert (found.bound, held) == min(ways)


@given(st.integers(1, 300), PACKS)
@settings(deadline=None)
def test_a_search_cut_short_still_gives_a_bound(units, sizes_and_prices):
    packs = [CoverPack(number, *each) for number, each in enumerate(sizes_and_prices)]
    whole, knapsack.MOST_STEPS = knapsack.MOST_STEPS, 2
    try:
        found = cheapest_cover(units, packs)
    finally:
        knapsack.MOST_STEPS = whole

    assert found.bound <= counted_up(units, packs)


def test_sizes_without_a_common_measure_are_proved_too():
    """US bottles in mL (8, 16 and 32 fl oz of 29.5735 mL) and metric ones side by side."""
    sizes = ["236.5882", "473.1765", "946.3529", "250", "500", "1000"]
    prices = [1150, 2080, 3790, 1190, 2210, 3990]
    offers = [
        PackOffer("white", size, "shop", Decimal(size), price)
        for size, price in zip(sizes, prices, strict=True)
    ]
    packs = [CoverPack(i, int(Decimal(size) * 10**4), prices[i]) for i, size in enumerate(sizes)]
    need = Decimal("3333.3333")
    bought = plan([MaterialNeed("white", need)], offers, [SupplierTerms("shop")])

    assert bought.proven
    assert bought.total == cheapest_cover(int(need * 10**4), packs).bound
    assert sum(line.covers for line in bought.lines) >= need
