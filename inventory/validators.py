"""Checks of amounts, shared by forms, serializers and services."""

from collections.abc import Callable
from datetime import datetime, timedelta
from decimal import ROUND_HALF_UP, Decimal

from django.core.exceptions import ValidationError
from django.utils import timezone

from inventory.errors import BadAmount
from inventory.models import Material, Pack
from studio.money import VALUE_PLACES
from studio.units import QUANTITY_PLACES

PRICE_PLACES = Decimal("0.001")
# Fifteen digits in all, which every database keeps exactly.
LARGEST_QUANTITY = Decimal(10_000_000)
LARGEST_VALUE = Decimal(100_000_000)


def validate_quantity(material: Material, quantity: Decimal) -> None:
    """Refuse an amount of a material that stock cannot have: no number, negative, absurd, or half
    an item."""
    _validate_number(quantity, LARGEST_QUANTITY, f"An amount of {material}")
    if material.unit == "each" and quantity != quantity.to_integral_value():
        raise ValidationError(f"{material} is counted in whole items.", code="whole")


def validate_value(value: Decimal) -> None:
    """Refuse a value that stock cannot have."""
    _validate_number(value, LARGEST_VALUE, "A value")


def validate_unit_change(material: Material | None, unit: str) -> None:
    """Refuse to count a material in another unit once some of it is counted in this one."""
    if material and material.pk and unit != material.unit and material.bottles.exists():
        raise ValidationError(
            "Some of it is already counted in this unit. Add a new material to count it otherwise.",
            code="unit_in_use",
        )


def validate_size_change(pack: Pack | None, size: Decimal) -> None:
    """Refuse another size for a pack of items of which some came: a lot counts its packs by it."""
    is_of_items = pack is not None and pack.pk and pack.material.unit == Material.Unit.EACH
    if pack is not None and is_of_items and size != pack.size and pack.bottles.exists():
        raise ValidationError(
            "Some of this pack came already, so its size stays. Add another pack instead.",
            code="size_in_use",
        )


def validate_kind_change(material: Material | None, kind: str) -> None:
    """Refuse to call a part of resin what goes into a recipe of paint."""
    resin = (Material.Kind.RESIN, Material.Kind.HARDENER)
    if material and material.pk and kind in resin and material.recipe_parts.exists():
        raise ValidationError(
            "It goes into a recipe, and parts of resin are never mixed into paint. Take it out of "
            "its recipes first.",
            code="kind_in_recipe",
        )


def _validate_number(number: object, largest: Decimal, what: str) -> None:
    if not isinstance(number, Decimal) or not number.is_finite():
        raise ValidationError(f"{what} is a plain number.", code="number")
    if not 0 <= number < largest:
        raise ValidationError(f"{what} is from 0 to below {largest:,}.", code="range")


def checked_quantity(material: Material, quantity: Decimal, *, above_zero: bool = False) -> Decimal:
    """Return an amount of a material rounded to four places, or refuse it in words."""
    _refuse(validate_quantity, material, quantity)
    quantity = quantity.quantize(QUANTITY_PLACES, ROUND_HALF_UP)
    if above_zero and not quantity:
        raise BadAmount(f"Give an amount of {material} above zero.")
    return quantity


def checked_value(value: Decimal) -> Decimal:
    """Return a value rounded to six places, or refuse it in words."""
    _refuse(validate_value, value)
    return value.quantize(VALUE_PLACES, ROUND_HALF_UP)


def checked_price(price: Decimal) -> Decimal:
    """Return a price rounded to three places, as invoices have them, or refuse it in words."""
    _refuse(validate_value, price)
    return price.quantize(PRICE_PLACES, ROUND_HALF_UP)


def _refuse(validate: Callable[..., None], *what: object) -> None:
    try:
        validate(*what)
    except ValidationError as error:
        raise BadAmount(str(error.message)) from error


def checked_time(happened_at: datetime | None) -> datetime:
    """Return when something happened, now if not said; what is still to come is refused."""
    now = timezone.now()
    if happened_at is None:
        return now
    if timezone.is_naive(happened_at):
        raise TypeError("happened_at needs a time zone.")
    if happened_at > now + timedelta(days=1):
        raise BadAmount("Stock moves when it has moved: give a date that is not in the future.")
    return happened_at
