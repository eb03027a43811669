"""Amounts as text, in the studio's own currency and measures.

Each filter writes a dash for nothing, so that a page need not ask.
"""

from decimal import ROUND_HALF_UP, Decimal
from typing import Any, Protocol

from django import template
from django.template.defaultfilters import length as count_of

from studio.models import Studio
from studio.money import format_money
from studio.units import (
    both,
    format_length,
    format_mass,
    format_temperature,
    format_volume,
    kitchen_measure,
)
from studio.units.formats import signed
from studio.units.materials import Counted
from studio.units.numerals import trimmed

register = template.Library()

NOTHING = "–"
Amount = Decimal | float


class InMoney(Protocol):
    """Whose money is written: a studio, or a row that keeps a currency of its own."""

    @property
    def currency(self) -> str:
        """ISO 4217 code."""

    @property
    def locale(self) -> str:
        """CLDR locale."""


def _blank(value: object) -> bool:
    return value is None or value == ""


@register.filter
def money(amount: Decimal, whose: InMoney) -> str:
    """Write an amount in the currency of a studio, or of a row such as a sale: ``$41.99``."""
    return NOTHING if _blank(amount) else format_money(amount, whose.currency, whose.locale)


@register.filter
def stored_money(text: str, studio: Studio) -> str:
    """Write an amount that was stored as text, as in JSON."""
    return money(Decimal(text), studio)


@register.filter
def fine_money(amount: Decimal, studio: Studio) -> str:
    """Write the cost of a millilitre, a gram or a minute, with four decimals: ``$0.0213``."""
    if _blank(amount):
        return NOTHING
    return format_money(amount, studio.currency, studio.locale, places=4)


@register.filter
def volume(volume_ml: Amount, studio: Studio) -> str:
    """Write a volume both ways: ``22 mL (1½ tbsp)``."""
    return NOTHING if _blank(volume_ml) else both(volume_ml, studio.measures)


@register.filter
def kitchen(volume_ml: Amount, studio: Studio) -> str:
    """Write a volume in spoons and cups only: ``1½ tbsp``."""
    return NOTHING if _blank(volume_ml) else kitchen_measure(volume_ml, studio.measures)


@register.filter
def millilitres(volume_ml: Amount) -> str:
    """Write a volume in millilitres or litres only: ``22 mL``."""
    return NOTHING if _blank(volume_ml) else format_volume(volume_ml)


@register.filter
def to_millilitres(low_ml: Amount, high_ml: Amount) -> str:
    """Write a range with its unit once: ``334–558 mL``."""
    if _blank(low_ml) or _blank(high_ml):
        return NOTHING
    low, high = format_volume(low_ml), format_volume(high_ml)
    number, _, unit = low.rpartition(" ")
    return f"{number if high.endswith(f' {unit}') else low}–{high}"


@register.filter
def grams(mass_g: Amount) -> str:
    """Write a weight in grams or kilograms: ``44 g``."""
    return NOTHING if _blank(mass_g) else format_mass(mass_g)


@register.filter
def temperature(temperature_c: Amount, studio: Studio) -> str:
    """Write a temperature in the studio's unit: ``70 °F``; a whole °C of a guideline whole."""
    if _blank(temperature_c):
        return NOTHING
    if isinstance(temperature_c, int) and studio.temperature_unit == "f":
        return format_temperature(round(temperature_c * 1.8) / Decimal("1.8"), "f")
    return format_temperature(temperature_c, studio.temperature_unit)


@register.filter
def hours(number: Amount) -> str:
    """Write a wait, in days from the third on: ``24 hours``, ``7 days``."""
    if _blank(number):
        return NOTHING
    number = Decimal(number)
    if number < 72:
        return f"{trimmed(number)} hours"
    return f"{trimmed((number / 24).quantize(Decimal('0.1'), ROUND_HALF_UP))} days"


@register.filter
def duration(minutes: Amount) -> str:
    """Write minutes of work as a person says them: ``45 min``, ``7 h 30 min``."""
    if _blank(minutes):
        return NOTHING
    whole = int(Decimal(minutes).quantize(Decimal(1), ROUND_HALF_UP))
    spent = [
        f"{number} {unit}"
        for number, unit in zip(divmod(whole, 60), ("h", "min"), strict=True)
        if number
    ]
    return " ".join(spent) or "0 min"


@register.filter
def quantity(amount: Amount, material: Counted) -> str:
    """Write an amount of a material in the unit it is counted in: ``250 mL``, ``450 g``, ``12``."""
    if _blank(amount):
        return NOTHING
    writers = {"ml": format_volume, "g": format_mass}
    return writers.get(material.unit, count)(amount)


@register.filter
def exactly(amount: Decimal, material: Counted) -> str:
    """Write an amount of a material to a hundredth, as a count has it: ``83.64 mL``, ``−1``."""
    if _blank(amount):
        return NOTHING
    number = signed(amount.quantize(Decimal("0.01"), ROUND_HALF_UP), trimmed)
    return number if material.unit == "each" else f"{number} {material.get_unit_display()}"


@register.filter
def count(number: Amount) -> str:
    """Write a number of items without needless decimals: ``12``."""
    return NOTHING if _blank(number) else signed(Decimal(number), trimmed)


@register.filter
def percent(share: Amount) -> str:
    """Write a share of one as a percentage: ``35%``, ``7.25%``, and a third as ``33.3%``.

    What was typed, to a hundredth of a percent, is written in full; the rest to a tenth.
    """
    if _blank(share):
        return NOTHING
    number = Decimal(str(share)) * 100
    if number != number.quantize(Decimal("0.01")):
        number = number.quantize(Decimal("0.1"), ROUND_HALF_UP)
    return signed(number, trimmed) + "%"


@register.filter
def whole_percent(share: Amount) -> str:
    """Write a share of one that is only an estimate, without decimals: ``41%``."""
    if _blank(share):
        return NOTHING
    number = (Decimal(str(share)) * 100).quantize(Decimal(1), ROUND_HALF_UP)
    return signed(number, trimmed) + "%"


@register.filter
def length(value: Any, studio: Studio | None = None) -> str | int:
    """Write a length in the studio's inches or centimetres: ``1½ in``.

    Without a studio this is Django's own filter of that name, which its admin pages use.
    """
    if studio is None:
        return count_of(value)
    return NOTHING if _blank(value) else format_length(value, studio.lengths)


@register.filter
def chance(share: Decimal | float) -> str:
    """Write a chance as whole per cent; one that is almost nothing or certain is said so."""
    if share < Decimal("0.01"):
        return "under 1%"
    if share > Decimal("0.99"):
        return "over 99%"
    return whole_percent(share)
