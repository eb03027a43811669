"""What a material has cost, delivery by delivery: from the deliveries and their bottles alone."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import Count

from inventory.models import Material, Movement
from studio.amounts import Total
from studio.charts import Chart, prices_over_time
from studio.models import Studio
from studio.money import format_money
from studio.tables import table_bytes

HEADINGS = ("Received on", "Supplier", "Pack", "Packs", "Price of one", "Unit price", "Landed")
NOBODY = "no supplier named"


@dataclass(frozen=True)
class Paid:
    """Equal packs of one delivery: what the invoice asked and what they cost landed, by the unit.

    ``size`` is what one brought, [the material's unit]; ``unit_price`` and ``unit_landed`` are in
    [currency/unit], the second with its share of freight and duty less discount.
    """

    received_on: date
    supplier: str
    pack: str
    size: Decimal
    bottles: int
    price: Decimal
    unit_price: Decimal
    unit_landed: Decimal


def price_history(material: Material) -> list[Paid]:
    """Return the `Paid` of a material, oldest first, in one query.

    Deliveries that were undone are no history, and neither is opening stock, whose day is unknown.
    """
    rows = (
        material.movements.filter(
            kind=Movement.Kind.RECEIPT,
            bottle__price_paid__gt=0,
            entry__delivery__isnull=False,
            entry__reversed_by=None,
        )
        .order_by(
            "entry__delivery__received_on", "entry__delivery", "quantity", "bottle__price_paid"
        )
        .values_list(
            "entry__delivery__received_on",
            "entry__delivery",
            "entry__delivery__supplier__name",
            "bottle__pack__label",
            "quantity",
            "bottle__price_paid",
            "bottle__pack__size",
        )
        .annotate(Count("pk"), Total("value"))
    )
    history = []
    for day, _, supplier, label, quantity, price, pack_size, rows_alike, value in rows:
        packs = _packs_in(material, quantity, pack_size)
        size = quantity / packs
        history.append(
            Paid(
                received_on=day,
                supplier=supplier or NOBODY,
                pack=label or f"{size.normalize():f} {material.get_unit_display()}",
                size=size,
                bottles=rows_alike * packs,
                price=price / packs,
                unit_price=price / quantity,
                unit_landed=value / (rows_alike * quantity),
            )
        )
    return history


def _packs_in(material: Material, quantity: Decimal, pack_size: Decimal | None) -> int:
    """Return how many packs came as one: several of whole items are one lot."""
    if material.unit != Material.Unit.EACH or not pack_size:
        return 1
    return max(int(quantity / pack_size), 1)


def price_chart(studio: Studio, material: Material, history: Sequence[Paid]) -> Chart | None:
    """Return the history of prices as a `Chart`; None without any."""
    if not history:
        return None
    unit = "each" if material.unit == "each" else f"per {material.get_unit_display()}"

    def money(amount: Decimal, **options: int) -> str:
        return format_money(amount, studio.currency, studio.locale, **options)

    rows = [
        (
            f"{paid.received_on:%Y-%m-%d}",
            paid.supplier,
            paid.pack,
            paid.bottles,
            money(paid.price),
            money(paid.unit_price, places=4),
            money(paid.unit_landed, places=4),
        )
        for paid in history
    ]
    return prices_over_time(
        [(paid.received_on, paid.supplier, paid.unit_price, paid.unit_landed) for paid in history],
        y_title=f"{studio.currency} {unit}",
        caption=f"What {material} has cost: the price, and dashed with shipping and all.",
        table=(HEADINGS, rows),
    )


def price_file(material: Material, extension: str) -> bytes:
    """Return the history of prices as the bytes of a file."""
    rows = [
        (
            paid.received_on,
            paid.supplier,
            paid.pack,
            paid.bottles,
            paid.price,
            round(paid.unit_price, 6),
            round(paid.unit_landed, 6),
        )
        for paid in price_history(material)
    ]
    return table_bytes(extension, HEADINGS, rows, f"Prices of {material}")
