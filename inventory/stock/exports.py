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
from inventory.steps import Steps
from inventory.stock.counts.report import posted_value
from inventory.stock.imports.columns import of_form_field
from inventory.supplies.forms.materials import MaterialForm
from inventory.supplies.forms.steps import StepsField
from inventory.supplies.forms.suppliers import PackForm, SupplierForm
from studio.amounts import Minus
from studio.model_forms import StudioModelForm
from studio.tables import Listed, Listing
from studio.transfer import Part

# In the order in which they can be written back: each after what its rows name.
PARTS = (
    Part(Supplier),
    Part(Material),
    Part(Pack),
    Part(Recipe),
    Part(RecipePart, owner="recipe__studio"),
    Part(Entry),
    Part(CostingChange),
    Part(PurchaseOrder),
    Part(OrderLine, owner="order__studio"),
    Part(Delivery),
    Part(Bottle),
    Part(Work),
    Part(Batch),
    Part(Movement),
    Part(ShelfCount),
    Part(ShelfCountLine, owner="count__studio"),
    Part(Hold),
)


@dataclass(frozen=True, kw_only=True)
class ListedSteps(Listed):
    """A column of prices or fees that fall in steps, as they are written in the form."""

    kind: Steps[Any]

    def shown(self, value: Any, zone: tzinfo) -> str:
        return self.kind.written(value)


def _of_form(form_class: type[StudioModelForm], words: Mapping[str, str]) -> tuple[Listed, ...]:
    """Return the columns of an import, with the look-ups of their values."""
    return tuple(
        ListedSteps(of_form_field(form_class, name).heading, name, kind=field.kind)
        if isinstance(field, StepsField)
        else Listed(
            of_form_field(form_class, name).heading, words.get(name, name), _words(form_class, name)
        )
        for name, field in form_class.base_fields.items()
    )


def _words(form_class: type[StudioModelForm], name: str) -> type[Choices] | None:
    field = form_class._meta.model._meta.get_field(name)
    kinds: dict[str, type[Choices]] = {"kind": Material.Kind, "unit": Material.Unit}
    return kinds[name] if getattr(field, "choices", None) else None


UNIT = Listed("Counted in", "material__unit", Material.Unit)

LISTS = (
    Listing(
        "materials",
        "Materials",
        lambda studio: with_promises(studio.materials.all()).order_by("kind", "name"),
        (
            *_of_form(MaterialForm, {}),
            Listed("On hand", "on_hand"),
            Listed("Held", "held"),
            Listed("Available", "available"),
            Listed("On order", "on_order"),
            Listed("Worth", "value"),
            Listed("Put away", "archived_at"),
        ),
    ),
    Listing(
        "bottles",
        "Bottles",
        lambda studio: studio.bottles.order_by("material__name", "code"),
        (
            Listed("Bottle", "code"),
            Listed("Material", "material__name"),
            UNIT,
            Listed("Left", "remaining"),
            Listed("Holds when full", "capacity"),
            Listed("Worth", "value"),
            Listed("Price paid", "price_paid"),
            Listed("Place", "place"),
            Listed("Contains silicone", "has_silicone"),
            Listed("Received on", "received_on"),
            Listed("Opened on", "opened_on"),
            Listed("Expires on", "expires_on"),
            Listed("Empty bottle (g)", "tare_g"),
            Listed("Density (g/mL)", "density_g_per_ml"),
            Listed("Supplier", "delivery__supplier__name"),
            Listed("Put away", "archived_at"),
        ),
    ),
    Listing(
        "ledger",
        "Ledger",
        lambda studio: studio.movements.order_by("pk"),
        (
            Listed("Entry", "entry_id"),
            Listed("Happened", "entry__happened_at"),
            Listed("Recorded", "entry__recorded_at"),
            Listed("By", "entry__by__username"),
            Listed("What", "kind", Movement.Kind),
            Listed("Bottle", "bottle__code"),
            Listed("Material", "material__name"),
            Listed("Quantity", "quantity"),
            UNIT,
            Listed("Value", "value"),
            Listed("What for", "entry__purpose"),
            Listed("Why", "entry__why"),
            Listed("Undoes entry", "entry__reverses_id"),
        ),
    ),
    Listing(
        "holds",
        "Holds",
        lambda studio: studio.holds.open().annotate(left=Minus("quantity", "used")),
        (
            Listed("For", "label"),
            Listed("Material", "material__name"),
            Listed("Promised", "quantity"),
            Listed("Used of it", "used"),
            Listed("Still held", "left"),
            UNIT,
            Listed("Needed by", "needed_by"),
            Listed("Since", "created_at"),
        ),
    ),
    Listing(
        "suppliers",
        "Suppliers",
        lambda studio: studio.suppliers.order_by("name"),
        (*_of_form(SupplierForm, {}), Listed("Put away", "archived_at")),
    ),
    Listing(
        "packs",
        "Packs and prices",
        lambda studio: studio.packs.order_by("supplier__name", "material__name", "size", "pk"),
        (
            Listed("Supplier", "supplier__name"),
            *_of_form(PackForm, {"material": "material__name"}),
            UNIT,
        ),
    ),
    Listing(
        "orders",
        "Orders",
        lambda studio: studio.purchase_orders.order_by("number", "lines__pk"),
        (
            Listed("Order", "number"),
            Listed("Supplier", "supplier__name"),
            Listed("Status", "status", PurchaseOrder.Status),
            Listed("Sent on", "sent_on"),
            Listed("Expected on", "expected_on"),
            Listed("Material", "lines__pack__material__name"),
            Listed("Pack", "lines__pack__label"),
            Listed("Size", "lines__pack__size"),
            Listed("Packs", "lines__count"),
            Listed("Came", "lines__received_count"),
            Listed("Price of one", "lines__unit_price"),
            Listed("Why", "lines__why"),
            Listed("Needed by", "lines__needed_by"),
        ),
    ),
    Listing(
        "deliveries",
        "Deliveries",
        lambda studio: studio.deliveries.order_by("received_on", "pk"),
        (
            Listed("Received on", "received_on"),
            Listed("Supplier", "supplier__name"),
            Listed("Order", "order__number"),
            Listed("Invoice", "reference"),
            Listed("Discount", "discount"),
            Listed("Freight", "freight"),
            Listed("Duty", "duty"),
            Listed("Currency", "currency"),
            Listed("Exchange rate", "rate"),
            Listed("Entry", "entry_id"),
        ),
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
            Listed("Count", "count__number"),
            Listed("Status", "count__status", ShelfCount.Status),
            Listed("Started", "count__started_at"),
            Listed("Bottle", "bottle__code"),
            Listed("Material", "bottle__material__name"),
            Listed("Counted in", "bottle__material__unit", Material.Unit),
            Listed("Place", "place"),
            Listed("Expected", "expected"),
            Listed("Counted", "counted"),
            Listed("Difference", "difference"),
            Listed("Worth by the books", "expected_value"),
            Listed("Difference in value", "posted"),
            Listed("Scale showed (g)", "gross_g"),
            Listed("Left out because", "left_out"),
            Listed("Entry", "entry_id"),
            Listed("At", "at"),
            Listed("By", "by__username"),
        ),
    ),
    Listing(
        "recipes",
        "Recipes",
        lambda studio: studio.recipes.order_by("name", "parts__position", "parts__pk"),
        (
            Listed("Recipe", "name"),
            Listed("Used as", "role", Recipe.Role),
            Listed("Parts by", "basis", Recipe.Basis),
            Listed("Trace (seconds)", "trace_seconds"),
            Listed("Keeps once mixed (days)", "keeps_days"),
            Listed("Material", "parts__material__name"),
            Listed("Other recipe", "parts__subrecipe__name"),
            Listed("Parts", "parts__parts"),
            Listed("Put away", "archived_at"),
        ),
    ),
    Listing(
        "batches",
        "Batches",
        lambda studio: studio.batches.order_by("made_at", "pk"),
        (
            Listed("Mixed at", "made_at"),
            Listed("Recipe", "recipe__name"),
            Listed("Mixed (mL)", "volume_ml"),
            Listed("Trace (seconds)", "trace_seconds"),
            Listed("Temperature (°C)", "temperature_c"),
            Listed("Bottle of mix", "bottle__code"),
            Listed("Contains silicone", "has_silicone"),
            Listed("Entry", "entry_id"),
            Listed("Undone by entry", "entry__reversed_by"),
            Listed("What for", "purpose"),
            Listed("Notes", "notes"),
        ),
    ),
)
