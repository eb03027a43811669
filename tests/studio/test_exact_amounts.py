"""What the database works out of amounts is exact to the last digit."""

import json
import random
from decimal import Decimal as D

import pytest
from django.core.exceptions import FieldError
from django.db import connection, transaction
from django.db.models import F, OuterRef, Q, Subquery

from inventory.models import DayUse, Hold, Material, Movement, OrderLine
from inventory.stock import ledger as stock
from inventory.stock.locks import lock_materials
from inventory.stock.shelf.rows import first_to_go
from studio.amounts import (
    AmountTooLarge,
    Minus,
    OrZero,
    Plus,
    Times,
    Total,
    WholeStepsField,
    to_steps,
)
from tests.exactness import Inexact
from tests.factories.inventory import (
    BottleFactory,
    EntryFactory,
    HoldFactory,
    MaterialFactory,
    OrderLineFactory,
)

pytestmark = pytest.mark.django_db

MANY = 400_000
# All in one statement: the rows go in as one text, and from there as a form's text would.
INSERT = {
    "sqlite": """
INSERT INTO inventory_movement (studio_id, entry_id, bottle_id, material_id, kind, quantity, value)
SELECT %s, %s, %s, %s, 'weigh_in', value ->> 0, value ->> 1 FROM json_each(%s)
""",
    "postgresql": """
INSERT INTO inventory_movement (studio_id, entry_id, bottle_id, material_id, kind, quantity, value)
SELECT %s, %s, %s, %s, 'weigh_in', CAST(value ->> 0 AS NUMERIC), CAST(value ->> 1 AS NUMERIC)
FROM json_array_elements(CAST(%s AS JSON))
""",
}


def awkward(rnd, digits):
    """Return a number of steps of at most so many digits: short, long, all nines, or thirds."""
    size = rnd.choice([1, 2, 5, 9, digits])
    steps = rnd.choice([10**size - 1, rnd.randrange(10**size), 10**size // 3])
    return rnd.choice([steps, -steps])


def test_four_hundred_thousand_awkward_amounts_add_up_to_the_last_digit():
    """Added by the database, and as whole numbers by Python."""
    bottle = BottleFactory()
    entry = EntryFactory(studio=bottle.studio)
    rnd = random.Random(20261128)
    steps = [(awkward(rnd, 13), awkward(rnd, 15)) for _ in range(MANY)]
    rows = [(str(D(small).scaleb(-4)), str(D(large).scaleb(-6))) for small, large in steps]
    owner = (bottle.studio_id, entry.pk, bottle.pk, bottle.material_id)
    with connection.cursor() as cursor:
        cursor.execute(INSERT[connection.vendor], (*owner, json.dumps(rows)))

    moves = Movement.objects.filter(bottle=bottle)
    found = moves.aggregate(quantity=Total("quantity"), value=Total("value"))
    came = moves.aggregate(total=Total("quantity", filter=Q(quantity__gt=0)))["total"]

    assert str(found["quantity"]) == str(D(sum(small for small, _ in steps)).scaleb(-4))
    assert str(found["value"]) == str(D(sum(large for _, large in steps)).scaleb(-6))
    assert came == D(sum(small for small, _ in steps if small > 0)).scaleb(-4)


@pytest.mark.parametrize("text", ["0.1", "999999999.9999", "-999999999.9999", "0.0001", "300"])
def test_an_amount_comes_back_with_its_own_places(text):
    hold = HoldFactory(quantity=D(text) if D(text) > 0 else 0, used=0)
    rows = Hold.objects.filter(pk=hold.pk).annotate(same=Plus("quantity"), left=Minus("quantity"))

    (row,) = rows

    assert str(row.same) == str(row.left) == f"{max(D(text), D(0)):.4f}"


def test_amounts_of_other_places_are_counted_in_the_smallest_steps():
    """0.1000 mL and 0.100000 of value are both a tenth; 0.3 as fractions is not 0.1 and 0.2."""
    material = MaterialFactory(on_hand=D("0.1"), value=D("0.2"))

    (row,) = Material.objects.filter(pk=material.pk).annotate(
        sum=Plus("on_hand", "value"),
        again=Minus(F("sum"), "value", "on_hand"),
        twice=Plus(F("sum"), "on_hand"),
    )

    assert [str(one) for one in (row.sum, row.again, row.twice)] == [
        "0.300000",
        "0.000000",
        "0.400000",
    ]


def test_a_whole_number_of_times_an_amount():
    line = OrderLineFactory(count=3, unit_price=D("0.1"))

    (row,) = OrderLine.objects.filter(pk=line.pk).annotate(amount=Times("count", "unit_price"))

    assert str(row.amount) == "0.300"
    with pytest.raises(FieldError, match="whole number"):
        list(OrderLine.objects.annotate(amount=Times("unit_price", "unit_price")))


def test_nothing_adds_up_to_zero_with_its_places():
    nobody = Movement.objects.none()

    assert str(nobody.aggregate(total=Total("value"))["total"]) == "0.000000"
    assert str(Movement.objects.aggregate(total=Total("value"))["total"]) == "0.000000"
    missing = Subquery(Movement.objects.filter(material=OuterRef("pk")).values("value")[:1])
    MaterialFactory()
    assert str(Material.objects.annotate(found=OrZero(missing)).get().found) == "0.000000"


def test_what_is_worked_out_may_be_compared_with_a_number():
    """0.3 - 0.1 - 0.2 is 0 and not 5.6e-17."""
    hold = HoldFactory(quantity=D("0.3"), used=D("0.1"))
    rows = Hold.objects.filter(pk=hold.pk).annotate(left=Minus("quantity", "used"))

    assert rows.filter(left=D("0.2")).exists()
    assert not rows.filter(left__gt=D("0.2")).exists()
    with pytest.raises(ValueError, match="more than 4 places"):
        rows.filter(left=D("0.20001")).exists()


def test_what_is_no_amount_is_refused():
    with pytest.raises(FieldError, match="is no amount"):
        list(Material.objects.annotate(wrong=Plus("on_hand", "pk")))


def test_steps_do_not_mix_with_stored_amounts():
    MaterialFactory()
    rows = Material.objects.annotate(same=Plus("on_hand"))

    mixed = rows.annotate(wrong=F("same") + F("on_hand")).query.annotations["wrong"]

    with pytest.raises(FieldError):
        _ = mixed.output_field
    with pytest.raises(Inexact):
        list(rows.filter(on_hand=F("same")))


@pytest.mark.parametrize("places, amount, steps", [(4, "0.3", 3000), (6, "-1.000001", -1_000_001)])
def test_steps_are_whole(places, amount, steps):
    assert to_steps(D(amount), places) == steps
    assert WholeStepsField(places).from_db_value(steps, None, None) == D(amount)


def test_a_day_of_use_is_added_to_in_place():
    """0.1 and 0.2 are 0.3; the row is stored as 0.3 itself would be."""
    material = MaterialFactory()
    receipt = stock.Receipt(material=material, quantity=D(10), value=D(1))
    stock.receive(studio=material.studio, by=None, receipts=[receipt])
    for part in ("0.1", "0.2"):
        stock.use(studio=material.studio, by=None, amounts={material: D(part)})

    assert DayUse.objects.filter(material=material, quantity=D("0.3")).count() == 1


def test_what_is_used_comes_out_of_no_more_bottles_than_hold_it():
    """0.1 and 0.2 give the 0.3 that is wanted, so the third bottle is left alone."""
    material = MaterialFactory()
    parts = (D("0.1"), D("0.2"), D(1))
    receipts = [stock.Receipt(material=material, quantity=part, value=D(1)) for part in parts]
    stock.receive(studio=material.studio, by=None, receipts=receipts)

    with transaction.atomic():
        lock_materials(material.studio, [material.pk])
        found = [bottle.remaining for bottle in first_to_go({material.pk: D("0.3")})]

    assert found == [D("0.1"), D("0.2")]


def test_an_amount_is_stored_with_its_own_places_rounded_half_up():
    """On SQLite too, where a column would keep all the places it is given."""
    hold = HoldFactory(quantity=D("0.00005"), used=0)

    hold.refresh_from_db()

    assert str(hold.quantity) == "0.0001"
    assert Hold.objects.filter(quantity=D("0.0001")).exists()


@pytest.mark.parametrize("amount", ["1000000000", "999999999.99995", "-1000000000"])
def test_more_than_nine_whole_digits_are_refused_in_words(amount):
    with pytest.raises(AmountTooLarge, match="only amounts below 1,000,000,000 can be kept"):
        MaterialFactory(value=D(amount) if "." not in amount else 0, on_hand=D(amount))


def test_what_comes_in_may_not_pass_what_can_be_kept():
    """Twice as much as may come in at once, on top of 990,000,000: the first time it just fits."""
    material = MaterialFactory(on_hand=D(990_000_000))
    receipt = stock.Receipt(material=material, quantity=D(9_999_999), value=D(1))
    stock.receive(studio=material.studio, by=None, receipts=[receipt])

    with pytest.raises(AmountTooLarge, match="on hand 1,009,999,998"):
        stock.receive(studio=material.studio, by=None, receipts=[receipt])

    material.refresh_from_db()
    assert (material.on_hand, material.bottles.count()) == (D(999_999_999), 1)
