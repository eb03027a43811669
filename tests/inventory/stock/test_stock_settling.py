"""Weighing, counting, throwing away, sending back, keeping run-off."""

from datetime import date, timedelta
from decimal import Decimal

import pytest

from inventory.errors import BadAmount, NotInBottle, NotWeighable
from inventory.models import Bottle, Movement
from inventory.stock import ledger as stock
from tests.factories.inventory import BottleFactory, MaterialFactory
from tests.inventory.stock.shelves import keep_run_off, receive, shelf, use

D = Decimal
pytestmark = pytest.mark.django_db


@pytest.fixture
def white(studio):
    return MaterialFactory(studio=studio, name="White", density_g_per_ml=D("1.25"), tare_g=D(40))


def weigh(bottle, gross_g):
    return stock.weigh_in(studio=bottle.studio, by=None, bottle=bottle, gross_g=D(gross_g))


def test_weight_says_what_is_left(white):
    (bottle,) = receive(white, (500, 20))

    entry = weigh(bottle, 540)  # (540 - 40) / 1.25 = 400 mL

    assert shelf(bottle) == (D(400), D(16))
    assert shelf(white) == (D(400), D(16))
    move = entry.movements.get()
    assert (move.kind, move.quantity, move.value) == ("weigh_in", D(-100), D(-4))


def test_a_gain_is_worth_what_the_bottle_is(white):
    (bottle,) = receive(white, (100, 20))
    use(white, 50)

    weigh(bottle, 115)  # (115 - 40) / 1.25 = 60 mL, 10 more than the books say

    assert shelf(bottle) == (D(60), D(12))


def test_a_gain_in_an_empty_bottle_is_worth_the_average(white):
    empty, _ = receive(white, (10, 99), (100, 20))
    use(white, 10)

    weigh(empty, "52.5")

    assert shelf(empty) == (D(10), D(2))


def test_a_gain_with_nothing_on_hand_is_worth_what_the_bottle_cost(white):
    (bottle,) = receive(white, (100, 20))
    use(white, 100)
    bottle.refresh_from_db()
    assert bottle.archived_at is not None

    weigh(bottle, 65)

    assert shelf(bottle) == (D(20), D(4))
    bottle.refresh_from_db()
    assert bottle.archived_at is None


def test_the_only_one_there_ever_was_is_worth_what_it_cost(studio):
    tile = MaterialFactory(studio=studio, unit="each")
    (box,) = receive(tile, (1, 3))
    use(tile, 1)

    stock.recount(studio=studio, by=None, bottle=box, quantity=D(1))

    assert shelf(box) == (D(1), D(3))


def test_what_is_found_in_a_bottle_that_nothing_came_into_is_worth_nothing(white):
    """An archive may bring such a bottle."""
    bottle = BottleFactory(material=white, studio=white.studio, tare_g=D(40))

    weigh(bottle, 65)

    assert shelf(bottle) == (D(20), D(0))


def test_under_the_average_too_it_is_worth_what_the_bottle_cost(studio, white):
    studio.costing = "moving_average"
    studio.save()
    first, _ = receive(white, (100, 10), (100, 30))  # 0.20 an mL on average
    stock.waste(studio=studio, by=None, bottle=first, quantity=D(100))
    use(white, 100)

    weigh(first, 65)

    assert shelf(first) == (D(20), D(2))


def test_grams_need_no_density(studio):
    powder = MaterialFactory(studio=studio, unit="g", tare_g=D(10))
    (bottle,) = receive(powder, (200, 10))

    weigh(bottle, 110)

    assert shelf(bottle) == (D(100), D(5))


def test_a_bottles_own_tare_and_density_come_first(white):
    (bottle,) = receive(white, (100, 10))
    Bottle.objects.filter(pk=bottle.pk).update(tare_g=D(50), density_g_per_ml=D(1))

    weigh(bottle, 110)

    assert shelf(bottle)[0] == D(60)


def test_a_weight_that_agrees_posts_nothing(white):
    (bottle,) = receive(white, (100, 10))
    before = Movement.objects.count()

    assert weigh(bottle, 165) is None
    assert Movement.objects.count() == before


def test_what_a_scale_cannot_tell_is_said(studio, white):
    (bottle,) = receive(white, (100, 10))
    (tiles,) = receive(MaterialFactory(studio=studio, name="Tile", unit="each"), (4, 8))
    (plain,) = receive(MaterialFactory(studio=studio, name="Blue", tare_g=D(1)), (4, 8))
    (bare,) = receive(MaterialFactory(studio=studio, name="Red"), (4, 8))

    with pytest.raises(NotWeighable, match="39 g is less than the empty bottle B0001, 40 g"):
        weigh(bottle, 39)
    with pytest.raises(NotWeighable, match="Tile is counted in items"):
        weigh(tiles, 39)
    with pytest.raises(NotWeighable, match="The density of Blue is not known"):
        weigh(plain, 39)
    with pytest.raises(NotWeighable, match="empty bottle B0004 is not known"):
        weigh(bare, 39)
    with pytest.raises(BadAmount, match="number of grams"):
        weigh(bottle, "NaN")
    with pytest.raises(BadAmount, match="from 0 to 1,000,000"):
        weigh(bottle, 1_000_001)
    assert shelf(bottle) == (D(100), D(10))


def test_recount_sets_what_is_there(studio):
    tile = MaterialFactory(studio=studio, unit="each")
    (box,) = receive(tile, (12, 24))

    stock.recount(studio=studio, by=None, bottle=box, quantity=D(9))

    assert shelf(box) == (D(9), D(18))
    with pytest.raises(BadAmount, match="whole items"):
        stock.recount(studio=studio, by=None, bottle=box, quantity=D("8.5"))


@pytest.mark.parametrize(("act", "kind"), [(stock.waste, "waste"), (stock.send_back, "return")])
def test_waste_and_returns_take_from_their_own_bottle(studio, white, act, kind):
    _, second = receive(white, (10, 1), (10, 50))

    entry = act(studio=studio, by=None, bottle=second, quantity=D(4), why="Skinned over")

    move = entry.movements.get()
    assert (move.kind, move.bottle, move.quantity, move.value) == (kind, second, D(-4), D(-20))
    with pytest.raises(NotInBottle):
        act(studio=studio, by=None, bottle=second, quantity=D(7), why="")
    with pytest.raises(BadAmount):
        act(studio=studio, by=None, bottle=second, quantity=D(0), why="")


@pytest.mark.parametrize(("choice", "worth"), [("base", "1.5"), ("nothing", "0")])
def test_run_off_is_worth_what_the_studio_chose(studio, choice, worth):
    studio.run_off_value = choice
    studio.save()
    pot = MaterialFactory(studio=studio, kind="mix")

    bottle = keep_run_off(pot, 30, 9, replaces=D("1.5"))

    assert shelf(bottle) == (D(30), D(worth))


def test_run_off_is_kept_as_mixed_paint_only(studio, white):
    with pytest.raises(BadAmount, match="which White is not"):
        keep_run_off(white, 30, 0)
    pot = MaterialFactory(studio=studio, name="Pot", kind="mix")
    with pytest.raises(BadAmount, match="Give an amount of Pot above zero"):
        kept = stock.StockMove("reclaim", pot, D(0), new_bottle=stock.Receipt(pot, D(0), D(0)))
        stock.post(studio=studio, by=None, moves=[kept])


def test_run_off_of_which_nothing_is_known_is_worth_nothing(studio):
    studio.run_off_value = "base"
    studio.save()
    pot = MaterialFactory(studio=studio, kind="mix")

    kept = stock.StockMove("reclaim", pot, D(30), new_bottle=stock.Receipt(pot, D(30), D(9)))
    entry = stock.post(studio=studio, by=None, moves=[kept])

    assert shelf(entry.movements.get().bottle) == (D(30), D(0))


def test_opening_a_bottle_shortens_what_it_keeps_and_never_lengthens_it(studio, white):
    white.opened_life_days = 30
    white.save()
    first, second = receive(white, (10, 1), (10, 1), received_on=date(2026, 1, 1))
    Bottle.objects.filter(pk=second.pk).update(expires_on=date(2026, 1, 20))

    assert stock.open_bottle(bottle=first, day=date(2026, 1, 5)).expires_on == date(2026, 2, 4)
    assert stock.open_bottle(bottle=second, day=date(2026, 1, 5)).expires_on == date(2026, 1, 20)
    with pytest.raises(BadAmount, match="came in later"):
        stock.open_bottle(bottle=first, day=date(2026, 1, 1) - timedelta(days=1))


@pytest.mark.parametrize(
    "empty",
    (
        lambda white, bottle: use(white, 10),
        lambda white, bottle: weigh(bottle, 40),
        lambda white, bottle: stock.waste(
            studio=white.studio, by=None, bottle=bottle, quantity=D(10)
        ),
    ),
    ids=("use", "weigh", "waste"),
)
def test_what_empties_a_bottle_puts_it_away(white, empty):
    (bottle,) = receive(white, (10, 1))
    receive(white, (5, 1))

    entry = empty(white, bottle)

    bottle.refresh_from_db()
    assert bottle.archived_at == entry.recorded_at
    assert white.studio.bottles.on_shelf().count() == 1
