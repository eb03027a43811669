"""What run-off is worth: the arithmetic, and what the ledger makes of it."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from inventory.stock import ledger as stock
from inventory.stock.costing import CostingError, Scraped, run_off_value
from tests.factories.inventory import MaterialFactory
from tests.inventory.stock.histories import METHODS
from tests.inventory.stock.shelves import receive, shelf

D = Decimal
# Whatever else the machine has to do meanwhile.
in_its_own_time = settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])
MICRO = Fraction(1, 10**6)
LAYERS = ("base", "colours", "activator")
MILLILITRES = st.decimals(D("0.001"), D(5000), places=3)
VALUES = st.decimals(D(0), D(900_000), places=6)


@st.composite
def layers(draw):
    """{layer: (kept, mixed, value taken)}; half of them keep something."""
    names = draw(st.lists(st.sampled_from(LAYERS), min_size=1, unique=True))
    found = {}
    for name in names:
        mixed = draw(MILLILITRES)
        kept = draw(st.one_of(st.just(D(0)), st.just(mixed), st.decimals(D(0), mixed, places=3)))
        found[name] = (kept, mixed, draw(VALUES))
    return found


def by_hand(layers, replaces):
    """The same, an mL at a time: what an mL cost, or what an mL of the mix it replaces costs."""
    kept_ml = sum(Fraction(kept) for kept, _, _ in layers.values())
    total = Fraction(0)
    for kept, mixed, took in layers.values():
        cost_of_one = Fraction(took) / Fraction(mixed)
        if replaces is not None and kept_ml:
            cost_of_one = min(cost_of_one, Fraction(replaces) / kept_ml)
        total += cost_of_one * Fraction(kept)
    return total


def worth(layers, replaces):
    kept = {name: Scraped(kept, mixed) for name, (kept, mixed, _) in layers.items()}
    took = {name: value for name, (_, _, value) in layers.items()}
    return run_off_value(kept, took, replaces)


@in_its_own_time
@given(layers(), st.one_of(st.none(), VALUES))
def test_run_off_is_worth_what_it_cost_or_what_it_replaces_whichever_is_less(layers, replaces):
    value = worth(layers, replaces)

    assert 0 <= by_hand(layers, replaces) - Fraction(value) < MICRO
    assert value == value.quantize(D("0.000001"))


@in_its_own_time
@given(layers(), st.one_of(st.none(), VALUES))
def test_what_is_not_kept_is_paid(layers, replaces):
    left = sum(
        Fraction(took) * (1 - Fraction(kept) / Fraction(mixed))
        for kept, mixed, took in layers.values()
    )

    cost = sum(took for _, _, took in layers.values()) - worth(layers, replaces)

    assert Fraction(cost) >= left >= 0


@in_its_own_time
@given(layers(), VALUES, VALUES)
def test_a_dearer_tin_never_makes_it_worth_less(layers, one, other):
    low, high = sorted((one, other))

    assert worth(layers, low) <= worth(layers, high) <= worth(layers, None)


def test_more_than_was_mixed_is_no_run_off():
    with pytest.raises(CostingError, match="No more of a layer can be kept"):
        run_off_value({"base": Scraped(D(11), D(10))}, {"base": D(1)})


@pytest.fixture
def pot(studio):
    studio.run_off_value = "base"
    studio.save()
    return MaterialFactory(studio=studio, name="Pot", kind="mix")


def keep(pot, *taken, run_off, value=None):
    """Post takes of (material, {layer: amount}), and run-off of {layer: (kept, mixed)}."""
    kept_ml = sum(D(kept) for kept, _ in run_off.values())
    moves = [
        stock.StockMove("use", material, D(-sum(layers.values())), layers=layers)
        for material, layers in taken
    ]
    kept = stock.StockMove(
        "reclaim",
        pot,
        kept_ml,
        value=value,
        new_bottle=stock.Receipt(pot, kept_ml, None),
        run_off={name: Scraped(D(kept), D(mixed)) for name, (kept, mixed) in run_off.items()},
    )
    return stock.post(studio=pot.studio, by=None, moves=[*moves, kept])


def kept_in(entry):
    return entry.movements.get(kind="reclaim").value


def test_what_little_comes_back_is_not_there_to_be_taken(studio, pot):
    """10 mL are in one bottle but for the last 0.2, and half of one goes back into the pot."""
    receive(pot, ("9.8", 98), (10, 10))

    entry = keep(pot, (pot, {"base": 10}), run_off={"base": ("0.5", 10)}, value=D("0.01"))

    used = entry.movements.filter(kind="use").values_list("quantity", "value")
    assert list(used) == [(D("-9.8"), D(-98)), (D("-0.2"), D("-0.2"))]


def test_a_material_is_shared_by_the_layers_that_took_it(studio, pot):
    """60 mL come out of a bottle at 1 and one at 4, so 120; a third of it is the colours'."""
    white = MaterialFactory(studio=studio)
    receive(white, (40, 40), (40, 160))

    entry = keep(pot, (white, {"base": D(40), "colours": D(20)}), run_off={"colours": (5, 50)})

    assert entry.took == {"base": D(80), "colours": D(40)}
    assert kept_in(entry) == 4  # a tenth of the colours


def test_a_layer_that_cost_nothing_gives_nothing_back(studio, pot):
    free, dear = MaterialFactory(studio=studio), MaterialFactory(studio=studio)
    receive(free, (100, 0))
    receive(dear, (100, 500))

    entry = keep(
        pot,
        (free, {"base": D(100)}),
        (dear, {"colours": D(100)}),
        run_off={"base": (90, 100), "colours": (0, 100)},
        value=D(450),
    )

    assert kept_in(entry) == 0


@pytest.mark.parametrize("method", METHODS)
def test_what_was_not_for_a_layer_is_no_part_of_its_run_off(studio, pot, method):
    studio.costing = method
    studio.save()
    white, tile = MaterialFactory(studio=studio), MaterialFactory(studio=studio, unit="each")
    receive(white, (100, 10))
    receive(tile, (1, 900))

    entry = keep(pot, (white, {"base": D(100)}), run_off={"base": (50, 100)})
    stock.use(studio=studio, by=None, amounts={tile: D(1)})

    assert kept_in(entry) == 5
    assert shelf(pot) == (D(50), D(5))


def test_run_off_that_comes_in_before_anything_went_out_is_worth_nothing(studio, pot):
    white = MaterialFactory(studio=studio)
    receive(white, (100, 10))
    kept = stock.StockMove(
        "reclaim",
        pot,
        D(50),
        value=D(9),
        new_bottle=stock.Receipt(pot, D(50), None),
        run_off={"base": Scraped(D(50), D(100))},
    )
    used = stock.StockMove("use", white, D(-100), layers={"base": D(100)})

    entry = stock.post(studio=studio, by=None, moves=[kept, used])

    assert kept_in(entry) == 0
