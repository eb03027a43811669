"""Number fields shared by this app's models."""

from decimal import Decimal

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models

from studio.amounts import AmountField
from studio.money import ZERO


def length_field(*args, **options):
    """A length in mm, to a hundredth."""
    return models.DecimalField(
        *args, max_digits=8, decimal_places=2, validators=[MinValueValidator(ZERO)], **options
    )


def volume_field(*args, **options):
    """A volume in mL."""
    return AmountField(*args, decimal_places=3, validators=[MinValueValidator(ZERO)], **options)


def minutes_field(*args, **options):
    """Hands-on minutes."""
    return AmountField(
        *args, max_digits=8, decimal_places=2, validators=[MinValueValidator(ZERO)], **options
    )


def money_field(*args, **options):
    """An amount that has been, or will be, paid."""
    return AmountField(*args, decimal_places=3, **options)


def fraction_field(*args, highest="1", **options):
    """A share of one."""
    return models.DecimalField(
        *args,
        max_digits=6,
        decimal_places=4,
        validators=[MinValueValidator(ZERO), MaxValueValidator(Decimal(highest))],
        **options,
    )


class Worked(models.Model):
    """Hands-on time, and what an hour was worth when it was worked, so that the past stays put."""

    minutes = minutes_field("hands-on minutes", default=ZERO)
    labour_rate = money_field("labour for an hour", default=ZERO)
    overhead_rate = money_field("overhead for an hour", default=ZERO)

    class Meta:
        abstract = True
