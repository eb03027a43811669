"""The settings form: every choice of a studio, grouped and in plain words."""

import zoneinfo
from collections.abc import Iterator
from decimal import Decimal
from typing import Any

from babel import Locale
from babel.numbers import format_decimal, get_currency_name
from django import forms
from django.core.validators import BaseValidator

from studio.formfields import PercentField, temperature_field
from studio.models import Studio
from studio.money import MINOR_UNITS

PERCENTAGES = (
    *("margin", "markup", "tax_rate", "deposit"),
    *("service_level", "mix_confidence", "cup_loss"),
)
LOCALES = ("en_US", "en_CA", "en_GB", "en_IE", "en_AU", "en_NZ", "en_ZA", "en_IN", "de_DE", "fr_FR")
PARTS = (
    ("Name and address", ("name", "address", "email", "phone")),
    (
        "Money and measures",
        ("currency", "locale", "measures", "lengths", "time_zone", "year_begins"),
    ),
    ("What work and the studio cost", ("labour_rate", "overhead_rate", "monthly_costs")),
    (
        "Prices",
        (
            *("price_by", "margin", "markup", "tax_rate", "tax_inclusive", "tax_number"),
            *("rounding_step", "minimum_charge"),
        ),
    ),
    ("Quotes", ("deposit", "quote_days", "quote_terms")),
    ("Invoices", ("invoice_days", "how_to_pay")),
    ("Mixing", ("mix_confidence", "cup_loss", "room_temperature_c")),
    ("Stock and buying", ("run_off_value", "service_level", "review_days")),
)
LABELS = {
    "name": "Name of the studio",
    "email": "E-mail address",
    "locale": "How numbers are written",
    "measures": "Spoons and cups",
    "lengths": "Sizes are shown in",
    "year_begins": "Your year begins in",
    "labour_rate": "Your work",
    "overhead_rate": "Running the studio",
    "monthly_costs": "Fixed costs of a month",
    "price_by": "The profit to aim for is",
    "margin": "Margin",
    "markup": "Markup",
    "tax_rate": "Sales tax or VAT",
    "tax_inclusive": "Show prices with the tax in them",
    "tax_number": "Tax number",
    "rounding_step": "Round prices up to a multiple of",
    "minimum_charge": "Smallest price",
    "deposit": "Deposit",
    "quote_days": "A quote is open for",
    "quote_terms": "Terms",
    "invoice_days": "An invoice is to be paid within",
    "how_to_pay": "How to pay",
    "mix_confidence": "How sure to be that a mix is enough",
    "cup_loss": "Left in cups and on tools",
    "room_temperature_c": "Usual room temperature",
    "run_off_value": "What kept run-off is worth",
    "service_level": "How sure to be of not running out",
    "review_days": "An order should last",
}
HINTS = {
    "currency": "What is already recorded is not converted.",
    "locale": "Choose what a thousand and a half looks like.",
    "measures": "A tablespoon is not the same everywhere. With US ones temperatures are in °F.",
    "tax_rate": "",
    "tax_inclusive": "",
    "rounding_step": "",
    "minimum_charge": "",
    "price_by": "Only the one chosen here makes prices; both are shown beside them.",
    "margin": "Share of the price before tax that is left once everything is paid.",
    "markup": "Share of what a piece costs that is left on top of it, once fees are paid.",
    "review_days": "Counted from the day it arrives.",
    "mix_confidence": "The higher, the more is mixed and the more is left over.",
    "run_off_value": "Never more than its share of what the layer took that it is kept of.",
    "service_level": "While an order is on its way. The higher, the more is kept in stock.",
    "room_temperature_c": "Resin sets faster in a warm room.",
}
UNITS = {
    "quote_days": "days",
    "invoice_days": "days",
    "review_days": "days",
    **dict.fromkeys(PERCENTAGES, "%"),
}


def _percent_field(name: str) -> PercentField:
    """Build a percentage with the limits that the model sets on the share."""
    model_field = next(field for field in Studio._meta.concrete_fields if field.name == name)
    limits = {
        v.code: v.limit_value * 100 for v in model_field.validators if isinstance(v, BaseValidator)
    }
    return PercentField(
        min_value=limits.get("min_value"),
        max_value=limits.get("max_value"),
        help_text=model_field.help_text,
    )


def currencies() -> list[tuple[str, str]]:
    """Return every currency as a choice, by its name."""
    english = Locale("en")
    return sorted(
        ((code, f"{get_currency_name(code, locale=english)} ({code})") for code in MINOR_UNITS),
        key=lambda choice: choice[1],
    )


def _locales(current: str) -> list[tuple[str, str]]:
    codes = LOCALES if current in LOCALES else (*LOCALES, current)
    sample = Decimal("1000.5")
    locales = ((code, Locale.parse(code)) for code in codes)
    return [
        (
            code,
            f"{format_decimal(sample, '#,##0.00', locale=locale)} – {locale.english_name}",
        )
        for code, locale in locales
    ]


def _time_zones(current: str) -> list[tuple[str, str]]:
    zones = {z for z in zoneinfo.available_timezones() if "/" in z and not z.startswith("Etc/")}
    return [(zone, zone.replace("_", " ")) for zone in sorted(zones | {"UTC", current})]


class StudioSettings(forms.ModelForm):
    """Every choice of the studio; :meth:`parts` gives the fields group by group."""

    class Meta:
        model = Studio
        fields = [name for _, names in PARTS for name in names]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        studio = self.instance
        for name in PERCENTAGES:
            self.fields[name] = _percent_field(name)
        choices = {
            "currency": currencies(),
            "locale": _locales(studio.locale),
            "time_zone": _time_zones(studio.time_zone),
        }
        for name, offered in choices.items():
            self.fields[name] = forms.ChoiceField(choices=offered)
        self.fields["room_temperature_c"] = temperature_field(studio, least=5, most=40)
        for name, field in self.fields.items():
            field.label = LABELS.get(name, field.label or name.replace("_", " ").capitalize())
            field.help_text = HINTS.get(name, field.help_text)
            field.widget.unit = UNITS.get(name, "")
        for name in ("labour_rate", "overhead_rate"):
            self.fields[name].widget.unit = f"{studio.currency} an hour"
        for name in ("rounding_step", "minimum_charge", "monthly_costs"):
            self.fields[name].widget.unit = studio.currency
        for name in ("address", "quote_terms", "how_to_pay"):
            self.fields[name].widget.attrs["rows"] = 4

    def get_initial_for_field(self, field: forms.Field, field_name: str) -> Any:
        value = super().get_initial_for_field(field, field_name)
        if isinstance(value, Decimal) and field_name not in (*PERCENTAGES, "room_temperature_c"):
            return f"{value.normalize():f}"
        return value

    def parts(self) -> Iterator[tuple[str, list[forms.BoundField]]]:
        """Yield each group's name and its bound fields."""
        for name, fields in PARTS:
            yield name, [self[field] for field in fields]

    def changes(self) -> dict[str, Any]:
        """Return the settings that were changed, by name."""
        return {name: self.cleaned_data[name] for name in self.changed_data}
