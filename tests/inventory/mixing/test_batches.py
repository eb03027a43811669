"""Batches: ingredients leave their bottles, and a bottle of mix holds just what they were worth.

By hand, from the shelf below: white costs 0.02 an mL and medium 0.01, so 100 mL of base (three
parts of white, one of medium, one of tap water) take 60 and 20 mL, and are worth 1.20 + 0.20.
"""

from datetime import timedelta
from decimal import Decimal as D

import pytest
from django.utils import timezone

from inventory.buying.demand import levels
from inventory.buying.purchasing.needs import needs
from inventory.errors import BatchRefused, CannotReverse, NotInStudio, RecipeRefused, StockShortfall
from inventory.mixing.batches import mix_batch, undo_batch
from inventory.mixing.mix_book import mix_book
from inventory.mixing.mixes import mixes_on_hand
from inventory.mixing.recipes import save_recipe
from inventory.models import Batch, Bottle, Entry, Material, Movement
from inventory.stock import books, holds
from inventory.stock import ledger as stock
from tests.factories.inventory import MaterialFactory, RecipeFactory, RecipePartFactory, WorkFactory
from tests.inventory.stock.shelves import receive, shelf

pytestmark = pytest.mark.django_db


@pytest.fixture
def white(studio):
    white = MaterialFactory(studio=studio, name="White", density_g_per_ml=D("1.4"))
    receive(white, (50, 1), (500, 10))
    return white


@pytest.fixture
def medium(studio):
    medium = MaterialFactory(studio=studio, name="Medium", density_g_per_ml=D(1))
    receive(medium, (400, 4))
    return medium


@pytest.fixture
def base(studio, white, medium):
    water = MaterialFactory(
        studio=studio, name="Tap water", is_stocked=False, density_g_per_ml=D(1)
    )
    return recipe_of(studio, "White base", (white, 3), (medium, 1), (water, 1), keeps_days=10)


def recipe_of(studio, name, *parts, **fields):
    recipe = RecipeFactory(studio=studio, name=name, **fields)
    for position, (thing, number) in enumerate(parts):
        kind = "material" if isinstance(thing, Material) else "subrecipe"
        RecipePartFactory(
            recipe=recipe, parts=D(number), position=position, **{"material": None, kind: thing}
        )
    return recipe


def mix(recipe, volume_ml=100, **more):
    return mix_batch(studio=recipe.studio, by=None, recipe=recipe, volume_ml=D(volume_ml), **more)


def taken(batch):
    """Return [(bottle, quantity, value)] of what a batch took, what came in left out."""
    moves = batch.entry.movements.filter(quantity__lt=0, kind="mix").order_by("pk")
    return [(move.bottle, -move.quantity, -move.value) for move in moves]


def test_ingredients_leave_their_bottles_and_a_bottle_of_mix_is_made(studio, base, white, medium):
    before = timezone.now()
    small, large = white.bottles.order_by("pk")

    batch = mix(
        base, trace_seconds=D("4.5"), temperature_c=D("19.5"), purpose="Tiles", place="Shelf 1"
    )

    assert taken(batch) == [
        (small, D(50), D(1)),
        (large, D(10), D("0.2")),
        (medium.bottles.get(), D(20), D("0.2")),
    ]
    assert shelf(batch.bottle) == (D(100), D("1.4"))
    assert (batch.volume_ml, batch.trace_seconds, batch.temperature_c) == (100, D("4.5"), D("19.5"))
    assert (batch.bottle.material.name, batch.bottle.material.kind) == ("White base", "mix")
    assert (batch.bottle.place, batch.bottle.received_on) == ("Shelf 1", studio.today())
    assert batch.bottle.expires_on == studio.today() + timedelta(days=10)
    # (3 × 1.4 + 1 + 1) / 5 g/mL, so that the bottle can be weighed.
    assert batch.bottle.density == D("1.24")
    assert (batch.entry.purpose, batch.entry.why) == ("Batch of White base", "Tiles")
    assert before <= batch.made_at <= timezone.now()
    assert str(batch) == "Batch of White base"
    assert books.check(studio) == []


def test_value_goes_over_to_the_last_place(studio):
    """A third of an odd value: nothing is lost to rounding, however it falls."""
    paint = MaterialFactory(studio=studio)
    receive(paint, ("7", "0.000010"), ("33.3333", "9.999999"))
    recipe = recipe_of(studio, "Thirds", (paint, 1))

    first, second = mix(recipe, "13.333"), mix(recipe, "27")

    assert first.bottle.value == sum(value for _, _, value in taken(first))
    assert paint.value + first.bottle.value + second.bottle.value <= D("10.000009")
    on_hand = Material.objects.get(pk=paint.pk).value
    assert on_hand + shelf(first.bottle)[1] + shelf(second.bottle)[1] == D("10.000009")


def test_under_the_moving_average_bottles_of_a_mix_are_levelled(studio, base, white):
    """The second 100 mL is dearer; together the bottles are worth what went into both."""
    studio.costing = "moving_average"
    studio.save()
    first = mix(base)
    receive(white, (10, "20"))
    before = Material.objects.get(pk=white.pk).value

    second = mix(base)

    went = before - Material.objects.get(pk=white.pk).value + D("0.2")
    assert -sum(m.value for m in second.entry.movements.filter(kind="mix", quantity__lt=0)) == went
    both = D("1.4") + went
    halves = [shelf(first.bottle)[1], shelf(second.bottle)[1]]
    assert sum(halves) == both
    assert abs(halves[0] - halves[1]) <= D("0.000001")
    assert books.check(studio) == []


def test_bottles_that_are_named_are_used_first(base, white):
    small, large = white.bottles.order_by("pk")

    batch = mix(base, bottles=[large])

    assert taken(batch)[0] == (large, D(60), D("1.2"))
    assert shelf(small)[0] == 50


def test_leftovers_of_a_mix_in_the_mix_are_used_up(studio, base, white):
    """200 mL of tint are 100 of base and 100 of blue: 40 are there, 60 are mixed (36 of white)."""
    blue = MaterialFactory(studio=studio, name="Blue")
    receive(blue, (300, 12))
    tint = recipe_of(studio, "Tint", (base, 1), (blue, 1), keeps_days=30)
    left_over = mix(base, 40).bottle
    white_before = shelf(white)[0]

    batch = mix(tint, 200, bottles=[left_over])

    assert (left_over, D(40), D("0.56")) in taken(batch)
    assert white_before - shelf(white)[0] == 36
    # 0.56 of leftovers, 36 white (0.72), 12 medium (0.12), 100 blue (4.00).
    assert shelf(batch.bottle) == (D(200), D("5.4"))
    assert batch.bottle.expires_on == left_over.expires_on  # ten days, not thirty
    assert shelf(left_over) == (0, 0)


def test_more_of_a_leftover_than_is_needed_stays(studio, base):
    tint = recipe_of(studio, "Tint", (base, 1))
    left_over = mix(base, 40).bottle

    mix(tint, 30, bottles=[left_over])

    assert shelf(left_over) == (10, D("0.14"))


def test_a_bottle_of_something_else_is_refused(studio, base):
    other = receive(MaterialFactory(studio=studio, name="Gold"), (10, 1))[0]
    own = mix(base, 10).bottle

    for bottle in (other, own):
        with pytest.raises(BatchRefused, match=f"{bottle.code} .* does not go into White base"):
            mix(base, bottles=[bottle])


def test_everything_that_is_short_is_named_and_nothing_happens(studio, base):
    before = Movement.objects.count()

    with pytest.raises(StockShortfall) as refused:
        mix(base, 3000)

    assert [short.material.name for short in refused.value.shortages] == ["White", "Medium"]
    assert "White is 1250 mL short" in str(refused.value)
    assert (Movement.objects.count(), Batch.objects.count()) == (before, 0)
    assert not Bottle.objects.filter(material__name="White base").exists()


def test_what_others_are_promised_is_left_alone_and_own_holds_are_drawn_down(studio, base, white):
    work = WorkFactory(studio=studio)
    holds.hold(work=work, label="Work 1", needs={white: D(500)})

    with pytest.raises(StockShortfall, match="500 mL is promised to Work 1"):
        mix(base)
    batch = mix(base, work=work)

    assert studio.holds.get().outstanding == 440
    assert batch.work == work


def test_silicone_is_handed_on_through_mixes_in_mixes_and_run_off(studio, base):
    oil = MaterialFactory(studio=studio, name="Cell oil", has_silicone=True)
    receive(oil, (50, 5))
    cells = recipe_of(studio, "Cells", (base, 99), (oil, 1))
    tint = recipe_of(studio, "Tint", (cells, 1), (base, 1))
    plain, with_oil = mix(base), mix(cells, 10)
    again = mix(tint, 20, bottles=[with_oil.bottle])

    pot = MaterialFactory(studio=studio, kind="mix")
    kept = stock.StockMove("reclaim", pot, D(3), new_bottle=stock.Receipt(pot, D(3), D(0)))
    used = stock.StockMove("use", again.bottle.material, D(-5), bottle=again.bottle)
    entry = stock.post(studio=studio, by=None, moves=[used, kept])

    assert [one.has_silicone for one in (plain, with_oil, again)] == [False, True, True]
    assert entry.movements.get(kind="reclaim").bottle.holds_silicone


def test_silicone_goes_into_the_mix_and_not_back_into_what_it_was_mixed_with(studio, base, white):
    oil = MaterialFactory(studio=studio, name="Cell oil", has_silicone=True)
    receive(oil, (50, 5))

    made = mix(recipe_of(studio, "Cells", (base, 99), (oil, 1)), "0.5").bottle

    assert list(studio.bottles.filter(has_silicone=True)) == [made]


def test_silicone_that_came_in_beside_it_is_not_in_the_run_off(studio, white):
    oil = MaterialFactory(studio=studio, name="Cell oil", has_silicone=True)
    pot = MaterialFactory(studio=studio, kind="mix")
    moves = [
        stock.StockMove("use", white, D(-5)),
        stock.StockMove("receipt", oil, D("0.5"), new_bottle=stock.Receipt(oil, D("0.5"), D(1))),
        stock.StockMove("reclaim", pot, D(3), new_bottle=stock.Receipt(pot, D(3), D(0))),
    ]

    entry = stock.post(studio=studio, by=None, moves=moves)

    assert not entry.movements.get(kind="reclaim").bottle.has_silicone


def test_silicone_that_is_not_counted_is_handed_on_too(studio, base):
    drops = MaterialFactory(studio=studio, is_stocked=False, has_silicone=True)

    assert mix(recipe_of(studio, "Cells", (base, 99), (drops, 1))).bottle.holds_silicone


def test_a_mix_however_little_is_made_and_not_used(studio, base, white):
    made = mix(base, "0.5").bottle.material

    assert list(made.day_uses.all()) == []
    assert white.day_uses.get().quantity == D("0.3")  # three of five parts


def test_undoing_puts_everything_back_and_the_mix_never_was(studio, base, white, medium):
    before = [shelf(one) for one in (*white.bottles.all(), medium)]
    batch = mix(base)

    undo_batch(batch=batch, by=None, why="Wrong recipe")

    assert [shelf(one) for one in (*white.bottles.all(), medium)] == before
    batch.bottle.refresh_from_db()
    assert (batch.bottle.remaining, batch.bottle.archived_at is None) == (0, False)
    assert (list(studio.batches.standing()), list(studio.batches.all())) == ([], [batch])
    assert books.check(studio) == []


def test_a_batch_that_was_poured_from_is_not_undone(studio, base):
    batch = mix(base)
    stock.use(studio=studio, by=None, amounts={batch.bottle.material: D(30)})

    with pytest.raises(CannotReverse, match=r"70 mL left of the 100 mL .* Undo what used it first"):
        undo_batch(batch=batch, by=None)


def test_a_batch_from_before_mixing_moved_stock_is_taken_off_the_list(studio, base):
    old = Batch.objects.create(studio=studio, recipe=base, volume_ml=D(10), made_at=timezone.now())
    assert list(studio.batches.standing()) == [old]

    undo_batch(batch=old, by=None)

    assert not Batch.objects.exists()


def test_the_mix_is_called_as_its_recipe_and_follows_it(studio, base, white):
    MaterialFactory(studio=studio, name="Old white")
    assert mix(base, 10).bottle.material == mix(base, 10).bottle.material
    renamed = {"role": "base", "basis": "volume", "parts": [(white, D(1))], "recipe": base}

    save_recipe(studio=studio, name="Pillow", **renamed)
    assert Material.objects.get(recipe=base).name == "Pillow"
    save_recipe(studio=studio, name="Old white", **renamed)
    assert Material.objects.get(recipe=base).name == "Old white (mixed)"


def test_a_mix_is_put_into_a_recipe_as_its_recipe(studio, base):
    made = mix(base, 10).bottle.material

    with pytest.raises(RecipeRefused, match="choose its recipe instead"):
        save_recipe(studio=studio, name="Tint", role="colour", basis="volume", parts=[(made, D(1))])


def test_a_mix_is_nothing_to_buy_and_its_ingredients_are(studio, base, white):
    """Mixing is use: 60 of white on one day. The mix itself has no reorder point and no need."""
    batch = mix(base)
    stock.use(studio=studio, by=None, amounts={batch.bottle.material: D(100)})
    short = {batch.bottle.material: D(5), white: D(5000)}
    holds.hold(work=WorkFactory(studio=studio), label="W", needs=short)

    by_name = {level.material.name: level for level in levels(studio)}

    assert by_name["White"].demand.uses == (60.0,)
    assert not by_name["White base"].is_kept
    assert {need.material for need in needs(studio, {})} == {white.pk}


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        ({"volume_ml": D(0)}, "from 0.1 mL to 100 L"),
        ({"volume_ml": D(100_001)}, "from 0.1 mL to 100 L"),
        ({"volume_ml": D("NaN")}, "from 0.1 mL to 100 L"),
        ({"volume_ml": 250.0}, "from 0.1 mL to 100 L"),
        ({"trace_seconds": D(0)}, "from 0.1 to 600 seconds"),
        ({"trace_seconds": D("Infinity")}, "from 0.1 to 600 seconds"),
        ({"temperature_c": D(61)}, "from −10 to 60 °C"),
        ({"purpose": "x" * 121}, "120 characters"),
        ({"made_at": timezone.now() + timedelta(hours=1)}, "has passed"),
    ],
)
def test_what_cannot_have_been_mixed_is_refused(studio, base, wrong, sentence):
    wanted = {"volume_ml": D(10), **wrong}

    with pytest.raises(BatchRefused, match=sentence):
        mix_batch(studio=studio, by=None, recipe=base, **wanted)

    assert not Batch.objects.exists()


def test_another_studios_recipe_or_bottle_is_refused(studio, base):
    theirs = RecipeFactory()
    bottle = receive(MaterialFactory(studio=theirs.studio), (10, 1))[0]

    with pytest.raises(NotInStudio):
        mix_batch(studio=studio, by=None, recipe=theirs, volume_ml=D(10))
    with pytest.raises(NotInStudio):
        mix(base, bottles=[bottle])

    assert not Batch.objects.exists()


def test_mixes_on_hand_come_in_the_order_of_use(studio, base):
    late, soon = mix(base, 10).bottle, mix(base, 10).bottle
    empty = mix(base, 10).bottle
    Bottle.objects.filter(pk=soon.pk).update(expires_on=studio.today())
    stock.waste(studio=studio, by=None, bottle=empty, quantity=D(10))

    assert list(mixes_on_hand(studio)) == [soon, late]
    assert list(mixes_on_hand(studio, [RecipeFactory(studio=studio).pk])) == []
    assert mix_book(studio).recipes[base.pk].mix == late.material


def test_a_batch_is_mixed_read_and_undone_through_the_api(maker):
    paint = MaterialFactory(studio=maker.studio, name="White")
    bottle = receive(paint, (500, 10))[0]
    recipe = recipe_of(maker.studio, "White base coat", (paint, 1))
    wanted = {"recipe": recipe.pk, "volume_ml": "1 cup", "trace_seconds": "5.5"}

    made = maker.api.post("/api/v1/batches/", wanted | {"bottles": [bottle.code]}, format="json")
    row = made.json()
    listed = maker.api.get("/api/v1/batches/").json()["results"]
    found = maker.api.get(f"/api/v1/bottles/?recipe={recipe.pk}").json()["results"]
    read = maker.api.get(f"/api/v1/batches/{row['id']}/").json()
    gone = maker.api.post(f"/api/v1/batches/{row['id']}/undo/", {"why": "Wrong"})

    # One US customary cup is 236.588 mL (NIST Handbook 44, app. C).
    assert (made.status_code, row["volume_ml"]) == (201, "236.588")
    assert [(one["recipe"]["name"], one["trace_seconds"]) for one in listed] == [
        ("White base coat", "5.5")
    ]
    assert [(one["code"], one["remaining"]) for one in found] == [(row["bottle"], "236.5880")]
    assert [(one["bottle"], one["quantity"]) for one in read["movements"]] == [
        (bottle.code, "-236.5880"),
        (row["bottle"], "236.5880"),
    ]
    assert listed == [read] == [row]
    assert (gone.status_code, gone.json()["id"]) == (200, row["id"])
    assert Entry.objects.get(reverses=row["entry"])
    assert maker.api.get(f"/api/v1/batches/{row['id']}/").json()["undone_by"]
