"""Receiving and using: what moves, what it costs, and what is refused."""

from datetime import date, datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest
from django.utils import timezone

from inventory.errors import BadAmount, NotInBottle, NotInStudio, StockShortfall
from inventory.models import Bottle, Entry, Movement
from inventory.stock import holds
from inventory.stock import ledger as stock
from inventory.stock.costing import Scraped
from tests.factories.inventory import BottleFactory, MaterialFactory, PackFactory, WorkFactory
from tests.factories.studio import UserFactory
from tests.inventory.stock.shelves import receive, shelf, use

D = Decimal
pytestmark = pytest.mark.django_db


@pytest.fixture
def white(studio):
    return MaterialFactory(studio=studio, name="White")


@pytest.fixture
def blue(studio):
    return MaterialFactory(studio=studio, name="Blue")


def test_receive_makes_a_bottle_for_each_receipt(studio, white):
    by = UserFactory()
    moment = datetime(2026, 5, 1, 23, 30, tzinfo=ZoneInfo("UTC"))
    studio.time_zone = "Australia/Perth"

    entry = stock.receive(
        studio=studio,
        by=by,
        receipts=[stock.Receipt(white, D(500), D("12.34"), place="Shelf 2")] * 2,
        happened_at=moment,
        why="Bought",
    )

    first, second = studio.bottles.order_by("pk")
    assert (first.code, second.code) == ("B0001", "B0002")
    assert (first.remaining, first.value, first.capacity) == (D(500), D("12.34"), D(500))
    assert (first.place, first.received_on) == ("Shelf 2", date(2026, 5, 2))
    assert (entry.by, entry.happened_at, entry.why) == (by, moment, "Bought")
    white.refresh_from_db()
    assert (white.on_hand, white.value) == (D(1000), D("24.68"))


def test_receive_knows_how_long_it_keeps_and_what_the_bottle_weighs(studio, white):
    white.shelf_life_days = 365
    white.save()
    pack = PackFactory(studio=studio, material=white, tare_g=D(42))

    stock.receive(
        studio=studio,
        by=None,
        receipts=[stock.Receipt(white, D(500), D(10), pack=pack)],
        received_on=date(2026, 1, 1),
    )

    bottle = studio.bottles.get()
    assert (bottle.expires_on, bottle.tare_g) == (date(2027, 1, 1), D(42))


def test_receive_steps_over_codes_written_by_hand(studio, white):
    BottleFactory(studio=studio, code="B0002")

    made = receive(white, (1, 1), (1, 1), (1, 1))

    assert [bottle.code for bottle in made] == ["B0001", "B0003", "B0004"]
    (next_one,) = receive(white, (1, 1))
    assert next_one.code == "B0005"  # no number is drawn that no bottle gets


@pytest.mark.parametrize("quantity", [0, D("0.00001"), -1])
def test_receive_refuses_a_bottle_of_nothing(studio, white, quantity):
    receipts = [stock.Receipt(white, D(quantity), D(1), capacity=D(500))]

    with pytest.raises(BadAmount):
        stock.receive(studio=studio, by=None, receipts=receipts)

    assert Entry.objects.count() == 0


def test_a_code_of_its_own_uses_no_number_up(studio, white):
    receipts = [stock.Receipt(white, D(1), D(1), code=code) for code in ("JAR1", None)]
    stock.receive(studio=studio, by=None, receipts=receipts)
    receive(white, (1, 1))

    codes = studio.bottles.order_by("pk").values_list("code", flat=True)
    assert list(codes) == ["JAR1", "B0001", "B0002"]


def test_receive_refuses_a_code_that_is_on_another_bottle(studio, white):
    BottleFactory(studio=studio, code="JAR1")

    with pytest.raises(BadAmount, match="JAR1 cannot be used"):
        stock.receive(
            studio=studio, by=None, receipts=[stock.Receipt(white, D(1), D(1), code="JAR1")]
        )

    assert Entry.objects.count() == 0


@pytest.mark.parametrize("codes", [("jar1", "JAR1"), ("Jar1", "jar1")])
def test_a_code_is_the_same_in_capitals_or_not(studio, white, codes):
    first, second = (stock.Receipt(white, D(1), D(1), code=code) for code in codes)

    stock.receive(studio=studio, by=None, receipts=[first])

    assert studio.bottles.get().code == "JAR1"
    with pytest.raises(BadAmount, match="JAR1 cannot be used"):
        stock.receive(studio=studio, by=None, receipts=[second])


def test_use_takes_first_expiring_then_first_received(white):
    late, soon, plain = receive(white, (10, 100), (10, 50), (10, 10))
    Bottle.objects.filter(pk=late.pk).update(expires_on=date(2027, 2, 1))
    Bottle.objects.filter(pk=soon.pk).update(expires_on=date(2027, 1, 1))

    entry = use(white, 24)

    taken = [(move.bottle, move.quantity, move.value) for move in entry.movements.all()]
    assert taken == [(soon, D(-10), D(-50)), (late, D(-10), D(-100)), (plain, D(-4), D(-4))]


def test_use_that_empties_a_bottle_takes_all_its_value(white):
    (bottle,) = receive(white, (3, "1.00"))

    values = [use(white, 1).movements.get().value for _ in range(3)]

    assert values == [D("-0.333333"), D("-0.333334"), D("-0.333333")]
    assert sum(values) == D(-1)
    bottle.refresh_from_db()
    assert (bottle.remaining, bottle.value) == (D(0), D(0))


def test_use_takes_from_the_bottles_named_first(white):
    first, second = receive(white, (10, 10), (10, 30))

    entry = use(white, 12, bottles={white: [second]})

    assert [(m.bottle, m.quantity) for m in entry.movements.all()] == [(second, -10), (first, -2)]


def test_use_names_every_material_that_is_short_and_takes_nothing(studio, white, blue):
    receive(white, (50, 10))
    receive(blue, (20, 10))
    holds.hold(work=WorkFactory(studio=studio), label="Commission 1", needs={white: D(20)})
    before = Movement.objects.count()

    with pytest.raises(StockShortfall) as refused:
        stock.use(studio=studio, by=None, amounts={white: D("42.5"), blue: D(25)})

    assert str(refused.value) == (
        "White is 12.5 mL short: 42.5 mL is wanted and 50 mL is on hand, of which 20 mL is "
        "promised to Commission 1. Blue is 5 mL short: 25 mL is wanted and 20 mL is on hand."
    )
    assert [short.missing for short in refused.value.shortages] == [D("12.5"), D(5)]
    assert Movement.objects.count() == before


def test_use_that_leaves_no_promise_alone_says_what_is_not_there(studio, white):
    receive(white, (20, 10))
    holds.hold(work=WorkFactory(studio=studio), label="Commission 1", needs={white: D(20)})

    with pytest.raises(StockShortfall) as refused:
        use(white, 25, ignore_holds=True)

    (short,) = refused.value.shortages
    assert (short.quantity, short.on_hand, short.missing) == (25, 20, 5)


def test_use_for_a_work_draws_its_own_hold_down(studio, white):
    receive(white, (100, 10))
    (mine,) = holds.hold(work=WorkFactory(studio=studio), label="Mine", needs={white: D(60)})
    (theirs,) = holds.hold(work=WorkFactory(studio=studio), label="Theirs", needs={white: D(30)})

    use(white, 70, work=mine.work)

    mine.refresh_from_db()
    theirs.refresh_from_db()
    assert (mine.used, mine.outstanding, theirs.used) == (D(60), D(0), D(0))
    with pytest.raises(StockShortfall, match="30 mL is promised to Theirs"):
        use(white, 1)
    use(white, 30, ignore_holds=True)


def test_what_is_always_there_needs_no_stock(studio, white):
    water = MaterialFactory(studio=studio, name="Tap water", is_stocked=False)
    receive(white, (10, 1))

    entry = stock.use(studio=studio, by=None, amounts={water: D(500), white: D(10)})

    assert [move.material for move in entry.movements.all()] == [white]
    with pytest.raises(BadAmount, match="always there"):
        receive(water, (1, 0))


def test_first_use_opens_a_bottle_and_shortens_what_it_keeps(studio, white):
    white.opened_life_days = 90
    white.save()
    (bottle,) = receive(white, (10, 1))

    use(white, 1, happened_at=datetime(2026, 5, 1, 12, tzinfo=ZoneInfo("UTC")))

    bottle.refresh_from_db()
    assert (bottle.opened_on, bottle.expires_on) == (date(2026, 5, 1), date(2026, 7, 30))


def test_post_moves_a_whole_pour_in_one_entry(studio, white):
    studio.run_off_value = "base"
    studio.save()
    mix = MaterialFactory(studio=studio, name="Reclaimed paint", kind="mix")
    (bottle,) = receive(white, (100, 20))

    entry = stock.post(
        studio=studio,
        by=None,
        moves=[
            stock.StockMove("use", white, D(-40), layers={"base": D(40)}),
            stock.StockMove("waste", white, D(-10), bottle=bottle),
            stock.StockMove(
                "reclaim",
                mix,
                D(8),
                new_bottle=stock.Receipt(mix, D(8), D("1.6")),
                run_off={"base": Scraped(D(8), D(40))},
            ),
        ],
    )

    moved = [(m.kind, m.material, m.quantity, m.value) for m in entry.movements.all()]
    assert moved == [
        ("use", white, D(-40), D(-8)),
        ("waste", white, D(-10), D(-2)),
        ("reclaim", mix, D(8), D("1.6")),
    ]


def test_post_refuses_more_from_one_bottle_than_it_holds(white):
    first, _ = receive(white, (5, 1), (5, 1))

    with pytest.raises(NotInBottle, match=f"{first.code} White holds 5 mL, and 6 mL"):
        stock.post(
            studio=white.studio, by=None, moves=[stock.StockMove("use", white, D(-6), bottle=first)]
        )


def test_moving_average_brings_every_bottle_to_the_average(studio, white):
    studio.costing = "moving_average"
    studio.save()
    first, second = receive(white, (10, 80))[0], receive(white, (10, 85))[0]

    issue = use(white, 10)

    assert issue.movements.get().value == D("-82.5")
    levelled = Movement.objects.filter(kind="respread").values_list("bottle", "value")
    assert list(levelled) == [(first.pk, D("2.5")), (second.pk, D("-2.5"))]


@pytest.mark.parametrize("quantity", ["NaN", "Infinity", "10000000", "-1"])
def test_amounts_that_cannot_be_are_refused(white, quantity):
    with pytest.raises(BadAmount):
        receive(white, (quantity, 1))

    assert Bottle.objects.count() == 0


def test_items_are_counted_whole(studio):
    tile = MaterialFactory(studio=studio, name="Tile", unit="each", kind="surface")
    receive(tile, (12, 24))

    with pytest.raises(BadAmount, match="Tile is counted in whole items"):
        use(tile, "1.5")


def test_what_has_not_happened_yet_is_refused(white):
    with pytest.raises(BadAmount, match="not in the future"):
        receive(white, (1, 1), happened_at=timezone.now() + timezone.timedelta(days=2))


def test_another_studios_material_and_bottle_are_not_there(studio, white):
    foreign = MaterialFactory(name="Foreign")
    (bottle,) = receive(foreign, (10, 1))
    receive(white, (10, 1))

    with pytest.raises(NotInStudio):
        stock.use(studio=studio, by=None, amounts={foreign: D(1)})
    with pytest.raises(NotInStudio):
        stock.use(studio=studio, by=None, amounts={white: D(1)}, bottles={white: [bottle]})
    with pytest.raises(NotInStudio):
        stock.waste(studio=studio, by=None, bottle=bottle, quantity=D(1), why="")
    bottle.refresh_from_db()
    assert bottle.remaining == D(10)


@pytest.mark.parametrize("bottles", (1, 3))
def test_use_asks_the_same_number_of_questions_for_any_number_of_bottles(
    white, django_assert_num_queries, bottles
):
    receive(white, *[(10, 1)] * bottles)
    # savepoint, material, studio, bottles, holds, entry, movements, bottles, material, day, and out
    with django_assert_num_queries(12):
        use(white, 10 * bottles)


def test_use_asks_the_same_number_of_questions_for_any_number_of_materials(
    studio, django_assert_num_queries
):
    materials = [MaterialFactory(studio=studio) for _ in range(3)]
    for material in materials:
        receive(material, (10, 1), (10, 1))
    # as above
    with django_assert_num_queries(12):
        stock.use(studio=studio, by=None, amounts={material: D(15) for material in materials})
    assert [shelf(material)[0] for material in materials] == [D(5)] * 3


def test_what_expires_first_goes_first_of_hundreds_and_after_those_named(white):
    today = date(2026, 6, 1)
    receive(white, *[(1, 1)] * 200)
    bottles = list(white.bottles.order_by("pk"))
    for place, bottle in enumerate(bottles[100:103]):
        bottle.expires_on = today - timedelta(days=place)
        bottle.save()
    named = bottles[150]

    stock.use(studio=white.studio, by=None, amounts={white: D(5)}, bottles={white: [named]})

    gone = Movement.objects.filter(kind="use").values_list("bottle", flat=True)
    first = [named, bottles[102], bottles[101], bottles[100], bottles[0]]
    assert list(gone) == [bottle.pk for bottle in first]


def test_the_ledger_is_not_edited(white):
    receive(white, (10, 1))
    movement = Movement.objects.get()
    movement.quantity = D(5)

    for act in (movement.save, movement.delete, Movement.objects.all().delete):
        with pytest.raises(TypeError, match="taken back"):
            act()
    with pytest.raises(TypeError, match="taken back"):
        Movement.objects.update(quantity=1)


def test_saving_a_row_read_earlier_leaves_its_stock_alone(white):
    (bottle,) = receive(white, (10, 1))
    stale_bottle, stale = Bottle.objects.get(pk=bottle.pk), type(white).objects.get(pk=white.pk)
    use(white, 4)

    stale.name, stale_bottle.place = "Titanium white", "Shelf 2"
    stale.save()
    stale_bottle.save()

    assert (shelf(white)[0], shelf(bottle)[0]) == (D(6), D(6))
    stale.refresh_from_db()
    assert stale.name == "Titanium white"


def test_a_use_opens_a_bottle_and_no_box_of_pieces(studio):
    (bottle,) = receive(MaterialFactory(studio=studio), (100, 10))
    (box,) = receive(MaterialFactory(studio=studio, kind="surface", unit="each"), (12, 6))

    use(bottle.material, 5)
    use(box.material, 2)

    bottle.refresh_from_db()
    box.refresh_from_db()
    assert (bottle.opened_on, box.opened_on) == (studio.today(), None)


def test_nothing_is_no_receipt(studio):
    with pytest.raises(BadAmount, match=r"an amount of .* above zero"):
        receive(MaterialFactory(studio=studio), (0, 10))
