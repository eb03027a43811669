"""What of the stock room goes out: lists for a spreadsheet, and its tables of a whole studio.

The lists of materials, suppliers and packs have the headings of their import, so that a list that
was changed in a spreadsheet can be brought back in.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import tzinfo
from typing import Any

from django.db.models import Choices

from inventory.models import (
    Batch,
    Bottle,
    CostingChange,
    Delivery,
    Entry,
    Hold,
    HoldChange,
    KnownSheet,
    Material,
    Movement,
    OrderLine,
    Pack,
    PurchaseOrder,
    Recipe,
    RecipePart,
    ShelfCount,
    ShelfCountLine,
    Supplier,
    Work,
    with_promises,
)
from inventory.models.shapes import of_new_keys
from inventory.steps import Steps
from inventory.stock.counts.report import posted_value
from inventory.stock.imports.columns import of_form_field
from inventory.supplies.forms.materials import MaterialForm
from inventory.supplies.forms.steps import StepsField
from inventory.supplies.forms.suppliers import PackForm, SupplierForm
from studio.amounts import Minus
from studio.model_forms import StudioModelForm
from studio.sight import COSTS
from studio.tables import ListColumn, Listing
from studio.transfer import ArchivePart
from studio.transfer.parts import Keys


def _batch_of_new_keys(batch: Batch, keys: Keys) -> None:
    """Let what a batch was made of name its recipes and materials by their new keys."""
    if batch.made_of:
        of_new_keys(batch.made_of, keys[Recipe], keys[Material])


# In the order in which they can be written back: each after what its rows name.
PARTS = (
    ArchivePart(Supplier),
    ArchivePart(Material),
    ArchivePart(Pack),
    ArchivePart(Recipe),
    ArchivePart(RecipePart, owner="recipe__studio"),
    ArchivePart(Entry),
    ArchivePart(CostingChange),
    ArchivePart(PurchaseOrder),
    ArchivePart(OrderLine, owner="order__studio"),
    ArchivePart(Delivery),
    ArchivePart(Bottle),
    ArchivePart(Work),
    ArchivePart(Batch, adapt=_batch_of_new_keys),
    ArchivePart(Movement),
    ArchivePart(ShelfCount),
    ArchivePart(ShelfCountLine, owner="count__studio"),
    ArchivePart(Hold),
    ArchivePart(HoldChange),
    ArchivePart(KnownSheet),
)


@dataclass(frozen=True, kw_only=True)
class StepsColumn(ListColumn):
    """A column of prices or fees that fall in steps, as they are written in the form."""

    kind: Steps[Any]

    def cell(self, value: Any, zone: tzinfo) -> str:
        return self.kind.written(value)


def _of_form(form_class: type[StudioModelForm], words: Mapping[str, str]) -> tuple[ListColumn, ...]:
    """Return the columns of an import, with the look-ups of their values."""
    return tuple(
        StepsColumn(
            of_form_field(form_class, name).heading,
            name,
            sight=form_class.sights.get(name),
            kind=field.kind,
        )
        if isinstance(field, StepsField)
        else ListColumn(
            of_form_field(form_class, name).heading,
            words.get(name, name),
            _words(form_class, name),
            form_class.sights.get(name),
        )
        for name, field in form_class.base_fields.items()
    )


def _words(form_class: type[StudioModelForm], name: str) -> type[Choices] | None:
    field = form_class._meta.model._meta.get_field(name)
    kinds: dict[str, type[Choices]] = {
        "kind": Material.Kind,
        "unit": Material.Unit,
        "medium": Material.Medium,
    }
    return kinds[name] if getattr(field, "choices", None) else None


UNIT = ListColumn("Counted in", "material__unit", Material.Unit)

LISTS = (
    Listing(
        "materials",
        "Materials",
        lambda studio: with_promises(studio.materials.all()).order_by("kind", "name"),
        (
            *_of_form(MaterialForm, {}),
            ListColumn("On hand", "on_hand"),
            ListColumn("Held", "held"),
            ListColumn("Available", "available"),
            ListColumn("On order", "on_order"),
            ListColumn("Worth", "value", sight=COSTS),
            ListColumn("Archived", "archived_at"),
        ),
    ),
    Listing(
        "bottles",
        "Bottles",
        lambda studio: studio.bottles.order_by("material__name", "code"),
        (
            ListColumn("Bottle", "code"),
            ListColumn("Material", "material__name"),
            UNIT,
            ListColumn("Left", "remaining"),
            ListColumn("Holds when full", "capacity"),
            ListColumn("Worth", "value", sight=COSTS),
            ListColumn("Price paid", "price_paid", sight=COSTS),
            ListColumn("Place", "place"),
            ListColumn("Contains silicone", "has_silicone"),
            ListColumn("Colours", "colours"),
            ListColumn("Received on", "received_on"),
            ListColumn("Opened on", "opened_on"),
            ListColumn("Expires on", "expires_on"),
            ListColumn("Empty bottle (g)", "tare_g"),
            ListColumn("Density (g/mL)", "density_g_per_ml"),
            ListColumn("Supplier", "delivery__supplier__name"),
            ListColumn("Archived", "archived_at"),
        ),
    ),
    Listing(
        "ledger",
        "Ledger",
        lambda studio: studio.movements.order_by("pk"),
        (
            ListColumn("Entry", "entry_id"),
            ListColumn("Booked on", "entry__booked_on"),
            ListColumn("Happened", "entry__happened_at"),
            ListColumn("Recorded", "entry__recorded_at"),
            ListColumn("By", "entry__by__username"),
            ListColumn("What", "kind", Movement.Kind),
            ListColumn("Bottle", "bottle__code"),
            ListColumn("Material", "material__name"),
            ListColumn("Quantity", "quantity"),
            UNIT,
            ListColumn("Value", "value", sight=COSTS),
            ListColumn("What for", "entry__purpose"),
            ListColumn("Why", "entry__why"),
            ListColumn("Undoes entry", "entry__reverses_id"),
        ),
        dated_by="entry__booked_on",
    ),
    Listing(
        "holds",
        "Holds",
        lambda studio: studio.holds.open().annotate(left=Minus("quantity", "used")),
        (
            ListColumn("For", "label"),
            ListColumn("Material", "material__name"),
            ListColumn("Promised", "quantity"),
            ListColumn("Used of it", "used"),
            ListColumn("Still held", "left"),
            UNIT,
            ListColumn("Needed by", "needed_by"),
            ListColumn("Since", "created_at"),
        ),
        dated_by="created_at",
    ),
    Listing(
        "suppliers",
        "Suppliers",
        lambda studio: studio.suppliers.order_by("name"),
        (*_of_form(SupplierForm, {}), ListColumn("Archived", "archived_at")),
    ),
    Listing(
        "packs",
        "Packs and prices",
        lambda studio: studio.packs.order_by("supplier__name", "material__name", "size", "pk"),
        (
            ListColumn("Supplier", "supplier__name"),
            *_of_form(PackForm, {"material": "material__name"}),
            UNIT,
        ),
    ),
    Listing(
        "orders",
        "Orders",
        lambda studio: studio.purchase_orders.order_by("number", "lines__pk"),
        (
            ListColumn("Order", "number"),
            ListColumn("Supplier", "supplier__name"),
            ListColumn("Status", "status", PurchaseOrder.Status),
            ListColumn("Sent on", "sent_on"),
            ListColumn("Expected on", "expected_on"),
            ListColumn("Material", "lines__pack__material__name"),
            ListColumn("Pack", "lines__pack__label"),
            ListColumn("Size", "lines__pack__size"),
            ListColumn("Packs", "lines__count"),
            ListColumn("Came", "lines__received_count"),
            ListColumn("Price of one", "lines__unit_price", sight=COSTS),
            ListColumn("Why", "lines__why", sight=COSTS),
            ListColumn("Needed by", "lines__needed_by"),
        ),
        dated_by="created_at",
    ),
    Listing(
        "deliveries",
        "Deliveries",
        lambda studio: studio.deliveries.order_by("received_on", "pk"),
        (
            ListColumn("Booked on", "entry__booked_on"),
            ListColumn("Received on", "received_on"),
            ListColumn("Supplier", "supplier__name"),
            ListColumn("Order", "order__number"),
            ListColumn("Invoice", "reference"),
            ListColumn("Discount", "discount", sight=COSTS),
            ListColumn("Freight", "freight", sight=COSTS),
            ListColumn("Duty", "duty", sight=COSTS),
            ListColumn("Currency", "currency", sight=COSTS),
            ListColumn("Exchange rate", "rate", sight=COSTS),
            ListColumn("Entry", "entry_id"),
        ),
        dated_by="entry__booked_on",
    ),
    Listing(
        "shelf-counts",
        "Shelf counts",
        lambda studio: (
            ShelfCountLine.objects.live()
            .filter(count__studio=studio)
            .annotate(difference=Minus("counted", "expected"), posted=posted_value())
            .order_by("count__number", "position", "pk")
        ),
        (
            ListColumn("Count", "count__number"),
            ListColumn("Status", "count__status", ShelfCount.Status),
            ListColumn("Started", "count__started_at"),
            ListColumn("Bottle", "bottle__code"),
            ListColumn("Material", "bottle__material__name"),
            ListColumn("Counted in", "bottle__material__unit", Material.Unit),
            ListColumn("Place", "place"),
            ListColumn("Expected", "expected"),
            ListColumn("Counted", "counted"),
            ListColumn("Difference", "difference"),
            ListColumn("Worth by the books", "expected_value", sight=COSTS),
            ListColumn("Difference in value", "posted", sight=COSTS),
            ListColumn("Scale showed (g)", "gross_g"),
            ListColumn("Left out because", "left_out"),
            ListColumn("Entry", "entry_id"),
            ListColumn("At", "at"),
            ListColumn("By", "by__username"),
        ),
        dated_by="count__started_at",
    ),
    Listing(
        "recipes",
        "Recipes",
        lambda studio: studio.recipes.order_by("name", "parts__position", "parts__pk"),
        (
            ListColumn("Recipe", "name"),
            ListColumn("Used as", "role", Recipe.Role),
            ListColumn("Parts by", "basis", Recipe.Basis),
            ListColumn("Trace (seconds)", "trace_seconds"),
            ListColumn("Keeps once mixed (days)", "keeps_days"),
            ListColumn("Material", "parts__material__name"),
            ListColumn("Other recipe", "parts__subrecipe__name"),
            ListColumn("Parts", "parts__parts"),
            ListColumn("Archived", "archived_at"),
        ),
    ),
    Listing(
        "batches",
        "Batches",
        lambda studio: studio.batches.order_by("made_at", "pk"),
        (
            ListColumn("Mixed at", "made_at"),
            ListColumn("Recipe", "recipe__name"),
            ListColumn("Mixed (mL)", "volume_ml"),
            ListColumn("Trace (seconds)", "trace_seconds"),
            ListColumn("Temperature (°C)", "temperature_c"),
            ListColumn("Bottle of mix", "bottle__code"),
            ListColumn("Contains silicone", "has_silicone"),
            ListColumn("Entry", "entry_id"),
            ListColumn("Undone by entry", "entry__reversed_by"),
            ListColumn("What for", "purpose"),
            ListColumn("Notes", "notes"),
        ),
        dated_by="made_at",
    ),
)
