"""The kinds of number the stock room is made of."""

from django.core.validators import MinValueValidator

from studio.amounts import AmountField
from studio.money import ZERO


def quantity_field(**options):
    """An amount of a material in its own unit (mL, g or items), to four places."""
    return AmountField(decimal_places=4, **options)


def value_field(**options):
    """What stock is worth, to a millionth of the currency, so that shares add up exactly."""
    return AmountField(decimal_places=6, **options)


def money_field(**options):
    """A price or a fee, not negative, in the studio's currency."""
    return AmountField(decimal_places=3, validators=[MinValueValidator(ZERO)], **options)
