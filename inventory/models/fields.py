"""The kinds of number the stock room is made of."""

from collections.abc import Sequence
from typing import Unpack

from django.core.validators import BaseValidator, MinValueValidator

from studio.amounts import AmountField, Nullable, column
from studio.money import ZERO


@column
def quantity_field(
    verbose_name: str | None = None,
    *,
    validators: Sequence[BaseValidator] = (),
    **options: Unpack[Nullable],
) -> AmountField:
    """An amount of a material in its own unit (mL, g or items), to four places."""
    return AmountField(verbose_name, decimal_places=4, validators=validators, **options)


@column
def value_field(verbose_name: str | None = None, **options: Unpack[Nullable]) -> AmountField:
    """What stock is worth, to a millionth of the currency, so that shares add up exactly."""
    return AmountField(verbose_name, decimal_places=6, **options)


@column
def money_field(verbose_name: str | None = None, **options: Unpack[Nullable]) -> AmountField:
    """A price or a fee, not negative, in the studio's currency."""
    return AmountField(
        verbose_name, decimal_places=3, validators=[MinValueValidator(ZERO)], **options
    )
