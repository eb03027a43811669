"""What a frozen quote and a frozen invoice look like, as `pricing.quoting` writes them.

Checked where they come from somewhere else. Names are spelt out: what is stored outlives the code.
"""

from decimal import Decimal
from typing import Any

from django.core.exceptions import ValidationError

from inventory.models import Material
from inventory.models.shapes import MIX
from studio.models import Studio
from studio.money import minor_places
from studio.shapes import (
    above_zero,
    checked_by,
    day,
    either,
    list_of,
    no_text,
    not_negative,
    null,
    number,
    one_of,
    record,
    row_of,
    text,
    whole,
    yes_or_no,
)
from studio.validators import validate_currency, validate_locale

MOST_COUNT = 32_767  # as many as a line may have
KINDS = (
    *("material", "surface", "prepared", "failures", "labour", "overhead"),
    *("finished", "packaging", "shipping"),
)
LAYERS = ("base", "colours", "activator", "topcoat")
USES = ("", "hot", "food", "look")

KEY = either(null, whole(1))  # of a row; empty where the archive did not have it
COUNT = whole(1, MOST_COUNT)
STUDIO = record(
    dict.fromkeys(("name", "address", "email", "phone", "tax_number"), text)
    | {"currency": checked_by(validate_currency), "locale": checked_by(validate_locale)}
)
CUSTOMER = record(dict.fromkeys(("name", "address", "email"), text))
NEEDS = list_of(row_of(KEY, not_negative))

SETTINGS = dict.fromkeys(
    ("margin", "tax_rate", "minimum_charge", "deposit", "labour_rate", "overhead_rate"),
    not_negative,
) | {
    "tax_inclusive": yes_or_no,
    "rounding_step": above_zero,
    "measures": one_of(Studio.Measures.values),
    "mix_confidence": not_negative,
    "cup_loss": not_negative,
    "costing": one_of(Studio.Costing.values),
}
PRICE = {
    "material_id": KEY,
    "material": text,
    "unit": one_of(Material.Unit.labels),
    "quantity": not_negative,
    "cautious_quantity": not_negative,
    "unit_price": not_negative,
    "cost": not_negative,
    "source": text,
}
LAYER = dict.fromkeys(("low_ml", "median_ml", "high_ml", "to_mix_ml"), not_negative) | {
    "layer": one_of(LAYERS),
    "name": text,
    "measure": text,
}
COST_LINE = {"kind": one_of(KINDS), "label": text} | dict.fromkeys(
    ("amount", "cautious", "minutes"), number
)
# Not in what was frozen before it was kept.
MORE_OF_SETTINGS = {"price_by": one_of(Studio.PriceBy.values), "markup": not_negative}
MORE_OF_TERMS = {"markup": not_negative}
MORE_OF_COST = {"made_of": list_of(row_of(text, number), 200), "is_coat": yes_or_no}
MORE_OF_PRICE = {"again": number}
MORE_OF_ASKING = dict.fromkeys(("unknown", "left_out"), list_of(text, 200)) | {
    "unknown_share": not_negative
}
MORE_OF_LINE = {"coat_success": above_zero, "guess": text, "use": one_of(USES)} | dict.fromkeys(
    ("is_test", "is_free"), yes_or_no
)
PRICE_EACH = {"tax_inclusive": yes_or_no} | dict.fromkeys(
    (
        *("cost", "net_for_margin", "rush", "discount", "raised_to_minimum", "net_unrounded"),
        *("gross_unrounded", "rounding", "net", "tax", "gross", "percent_fees", "fixed_fees"),
        *("profit", "margin", "cautious_profit", "cautious_margin"),
    ),
    number,
)
TERMS = {"tax_inclusive": yes_or_no, "fee_on_shipping": yes_or_no} | dict.fromkeys(
    (
        *("margin", "tax_rate", "rounding_step", "minor_unit", "minimum_charge", "rush"),
        *("discount", "percent_fee", "fixed_fee", "listing_fee", "shipping"),
    ),
    not_negative,
)
LINE = {
    "line_id": KEY,
    **dict.fromkeys(("description", "surface", "technique", "palette"), text),
    "quantity": COUNT,
    "pieces": whole(1),
    "success_rate": above_zero,
    "layers": list_of(record(LAYER), 20),
    "outside_measured": yes_or_no,
    "cost_lines": list_of(record(COST_LINE, MORE_OF_COST), 200),
    "cost": number,
    "cautious_cost": number,
    "minutes": not_negative,
    "unit": record(PRICE_EACH),
    "unit_steps": list_of(row_of(text, number), 50),
    "unit_price": not_negative,
    "amount": not_negative,
    "needs": record(dict.fromkeys(("pour", "coat", "pack"), NEEDS)),
}
TOTALS = dict.fromkeys(
    (
        *("supplement", "shipping", "tax", "gross", "fees", "cost", "profit", "cautious_profit"),
        *("margin", "cautious_margin"),
    ),
    number,
) | {"net": above_zero, "shipping_gross": not_negative, "deposit": not_negative}
ASKING = dict.fromkeys(("cost", "profit", "margin", "markup"), number) | {
    "prices": list_of(record(PRICE)),
    "lines": list_of(
        record(
            {
                "cost_lines": list_of(record(COST_LINE, MORE_OF_COST), 200),
                "cost": number,
                "cautious_cost": number,
            }
        )
    ),
}
QUOTE = record(
    {
        "studio": STUDIO,
        "customer": CUSTOMER,
        "commission": record({"number": whole(1), "title": text, "due_on": either(no_text, day)}),
        "settings": record(SETTINGS, MORE_OF_SETTINGS),
        "terms": record(TERMS, MORE_OF_TERMS),
        "channel": text,
        "prices": list_of(record(PRICE, MORE_OF_PRICE)),
        "lines": list_of(record(LINE, MORE_OF_LINE)),
        "totals": record(TOTALS),
        "cautions": list_of(text),
        "words": text,
        "advice": list_of(text),
    },
    {
        "asking": record(ASKING, MORE_OF_ASKING),
        "risk": record(dict.fromkeys(("allowed", "chance_over", "chance_of_loss"), not_negative)),
        "paper": record({"label": text, "sent_on": day, "valid_until": day}, {"ready_by": day}),
    },
)
INVOICE = record(
    {
        "studio": STUDIO,
        "how_to_pay": text,
        "customer": CUSTOMER,
        "commission": record({"number": whole(1), "title": text}),
        "quote": text,
        "lines": list_of(row_of(text, COUNT, number, number)),
        "tax_rate": not_negative,
        "tax_inclusive": yes_or_no,
        "payments": list_of(row_of(day, text, number)),
        "paid": number,
        "owed": number,
        "paper": record({"label": text, "issued_on": day, "due_on": day}),
    },
    {"credits": text, "why": text, "cautions": list_of(text)},
)

# One mix of a layer: how much of it, out of which bottle if out of one, the trace measured of it,
# and its parts of the palette's colours; no mix where it was run-off of earlier pours.
POURED_MIX = {
    "ml": above_zero,
    "parts": either(null, above_zero),
    "bottle": text,
    "trace_seconds": either(null, above_zero),
    "mix": either(null, MIX),
}
POURED_MIXES = list_of(record(POURED_MIX), 200)

COST = dict.fromkeys(("materials", "labour", "overhead"), number) | {"minutes": not_negative}
# What it had cost stood there too, until sales had postings.
BOOKED = record(dict.fromkeys(("size", "technique", "palette"), text) | {"pieces": whole(0)}, COST)


def validate_booked(frozen: Any) -> None:
    """Refuse what a refunded set is never booked as."""
    BOOKED(frozen, "")


def validate_poured(mixes: Any) -> None:
    """Refuse what no layer was poured of."""
    POURED_MIXES(mixes, "")


def validate_quote(frozen: Any) -> None:
    """Refuse what no quote is frozen as."""
    QUOTE(frozen, "")
    lines = frozen["lines"]
    if any(line["pieces"] % line["quantity"] for line in lines):
        raise ValidationError("Each line has so many pieces for each of its sets.", code="shape")
    sold = [line for line in lines if not line.get("is_test")]
    if not any(Decimal(line["unit_price"]) for line in sold):
        raise ValidationError("At least one line has a price above 0.", code="shape")
    if any(line["quantity"] != 1 for line in lines if line.get("is_test")):
        raise ValidationError("There is one of each test tile.", code="shape")
    places = minor_places(frozen["studio"]["currency"])
    for name in ("gross", "shipping_gross", "deposit"):
        amount = Decimal(frozen["totals"][name])
        if amount != round(amount, places):
            raise ValidationError(f"totals, {name} cannot be paid: it is no coin.", code="shape")


def validate_invoice(frozen: Any) -> None:
    """Refuse what no invoice is frozen as."""
    INVOICE(frozen, "")
