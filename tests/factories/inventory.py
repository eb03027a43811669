"""Supplies and what is bought. Bottles are empty: only inventory.stock.ledger puts something in."""

from datetime import date
from decimal import Decimal

import factory
from django.utils import timezone
from factory.django import DjangoModelFactory

from inventory.models import (
    Bottle,
    CostingChange,
    Delivery,
    Entry,
    Hold,
    HoldChange,
    KnownSheet,
    Material,
    OrderLine,
    Pack,
    PurchaseOrder,
    Recipe,
    RecipePart,
    ShelfCount,
    ShelfCountLine,
    Supplier,
    Work,
)
from tests.factories.studio import StudioFactory

SAME_STUDIO = factory.SelfAttribute("..studio")
A_DAY = date(2026, 3, 2)


class MaterialFactory(DjangoModelFactory):
    class Meta:
        model = Material

    studio = factory.SubFactory(StudioFactory)
    name = factory.Sequence(lambda n: f"Material {n}")
    kind = Material.Kind.PAINT


class SupplierFactory(DjangoModelFactory):
    class Meta:
        model = Supplier

    studio = factory.SubFactory(StudioFactory)
    name = factory.Sequence(lambda n: f"Supplier {n}")


class PackFactory(DjangoModelFactory):
    class Meta:
        model = Pack

    studio = factory.SubFactory(StudioFactory)
    supplier = factory.SubFactory(SupplierFactory, studio=SAME_STUDIO)
    material = factory.SubFactory(MaterialFactory, studio=SAME_STUDIO)
    size = Decimal(500)
    price = Decimal(10)


class BottleFactory(DjangoModelFactory):
    class Meta:
        model = Bottle

    studio = factory.SubFactory(StudioFactory)
    material = factory.SubFactory(MaterialFactory, studio=SAME_STUDIO)
    code = factory.Sequence(lambda n: f"B{n:05}")
    capacity = Decimal(500)
    received_on = A_DAY


class EntryFactory(DjangoModelFactory):
    class Meta:
        model = Entry

    studio = factory.SubFactory(StudioFactory)
    happened_at = factory.LazyFunction(timezone.now)
    booked_on = factory.LazyAttribute(lambda entry: entry.happened_at.date())


class WorkFactory(DjangoModelFactory):
    class Meta:
        model = Work

    studio = factory.SubFactory(StudioFactory)


class HoldFactory(DjangoModelFactory):
    class Meta:
        model = Hold
        skip_postgeneration_save = True

    studio = factory.SubFactory(StudioFactory)
    material = factory.SubFactory(MaterialFactory, studio=SAME_STUDIO)
    work = factory.SubFactory(WorkFactory, studio=SAME_STUDIO)
    label = factory.Sequence(lambda n: f"Work {n}")
    quantity = Decimal(100)

    @factory.post_generation
    def told(hold, create, extracted, **kwargs):
        """Write down that it was made, as `inventory.stock.holds` does."""
        if create:
            facts = {"quantity": hold.quantity, "used": hold.used, "label": hold.label}
            HoldChange.objects.create(
                studio=hold.studio, hold=hold, kind="made", needed_by=hold.needed_by, **facts
            )


class PurchaseOrderFactory(DjangoModelFactory):
    class Meta:
        model = PurchaseOrder

    studio = factory.SubFactory(StudioFactory)
    supplier = factory.SubFactory(SupplierFactory, studio=SAME_STUDIO)
    number = factory.Sequence(lambda n: n + 1)


class OrderLineFactory(DjangoModelFactory):
    class Meta:
        model = OrderLine

    order = factory.SubFactory(PurchaseOrderFactory)
    pack = factory.SubFactory(
        PackFactory,
        studio=factory.SelfAttribute("..order.studio"),
        supplier=factory.SelfAttribute("..order.supplier"),
    )
    count = 1
    unit_price = factory.SelfAttribute("pack.price")


class DeliveryFactory(DjangoModelFactory):
    class Meta:
        model = Delivery

    studio = factory.SubFactory(StudioFactory)
    entry = factory.SubFactory(EntryFactory, studio=SAME_STUDIO)
    received_on = A_DAY
    currency = factory.SelfAttribute("studio.currency")


class KnownSheetFactory(DjangoModelFactory):
    class Meta:
        model = KnownSheet

    studio = factory.SubFactory(StudioFactory)
    digest = factory.Sequence(lambda n: f"{n:064x}")
    headings = ["item", "size", "price"]
    columns = {"0": "name", "1": "pack", "2": "price"}
    answers = {"ounces": "volume"}


class CostingChangeFactory(DjangoModelFactory):
    """A change that was withdrawn, so that the studio stays as it is."""

    class Meta:
        model = CostingChange

    studio = factory.SubFactory(StudioFactory)
    before = "fifo"
    method = "moving_average"
    from_day = A_DAY
    withdrawn_at = factory.LazyFunction(timezone.now)


class RecipeFactory(DjangoModelFactory):
    class Meta:
        model = Recipe

    studio = factory.SubFactory(StudioFactory)
    name = factory.Sequence(lambda n: f"Mix {n}")


class RecipePartFactory(DjangoModelFactory):
    class Meta:
        model = RecipePart

    recipe = factory.SubFactory(RecipeFactory)
    material = factory.SubFactory(MaterialFactory, studio=factory.SelfAttribute("..recipe.studio"))
    parts = Decimal(1)


class ShelfCountFactory(DjangoModelFactory):
    class Meta:
        model = ShelfCount

    studio = factory.SubFactory(StudioFactory)
    number = factory.Sequence(lambda n: n + 1)
    place = factory.Sequence(lambda n: f"Shelf {n}")


class ShelfCountLineFactory(DjangoModelFactory):
    class Meta:
        model = ShelfCountLine

    count = factory.SubFactory(ShelfCountFactory)
    bottle = factory.SubFactory(BottleFactory, studio=factory.SelfAttribute("..count.studio"))
    position = factory.Sequence(lambda n: n + 1)
