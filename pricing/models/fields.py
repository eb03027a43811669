"""Number fields shared by this app's models."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Unpack

from django.core.validators import BaseValidator, MaxValueValidator, MinValueValidator
from django.db import models

from studio.amounts import AmountField, Given, Nullable, Options, column
from studio.models import Studio
from studio.money import ZERO

# A room that somebody works in.
LEAST_ROOM_C, MOST_ROOM_C = Decimal(0), Decimal(50)


@column
def length_field(
    verbose_name: str | None = None, **options: Unpack[Nullable]
) -> models.DecimalField:
    """A length in mm, to a hundredth."""
    return models.DecimalField(
        verbose_name,
        max_digits=8,
        decimal_places=2,
        validators=[MinValueValidator(ZERO)],
        **options,
    )


@column
def volume_field(
    verbose_name: str | None = None, **options: Unpack[Nullable]
) -> models.DecimalField:
    """A volume in mL."""
    return AmountField(
        verbose_name, decimal_places=3, validators=[MinValueValidator(ZERO)], **options
    )


@column
def minutes_field(
    verbose_name: str | None = None, **options: Unpack[Nullable]
) -> models.DecimalField:
    """Hands-on minutes."""
    return AmountField(
        verbose_name,
        max_digits=8,
        decimal_places=2,
        validators=[MinValueValidator(ZERO)],
        **options,
    )


@column
def money_field(
    verbose_name: str | None = None,
    *,
    validators: Sequence[BaseValidator] = (),
    **options: Unpack[Nullable],
) -> models.DecimalField:
    """An amount that has been, or will be, paid."""
    return AmountField(verbose_name, decimal_places=3, validators=validators, **options)


def fraction_field(
    verbose_name: str | None = None, *, highest: str = "1", **options: Unpack[Options]
) -> "models.DecimalField[Given, Decimal]":
    """A share of one."""
    return models.DecimalField(
        verbose_name,
        max_digits=6,
        decimal_places=4,
        validators=[MinValueValidator(ZERO), MaxValueValidator(Decimal(highest))],
        **options,
    )


class InRoom(models.Model):
    """Done in a room of some temperature and humidity; empty where nobody noted it."""

    room_c = models.DecimalField(
        "room (°C)",
        max_digits=4,
        decimal_places=1,
        validators=[MinValueValidator(LEAST_ROOM_C), MaxValueValidator(MOST_ROOM_C)],
        null=True,
        blank=True,
    )
    humidity_percent = models.DecimalField(
        "humidity (%)",
        max_digits=4,
        decimal_places=1,
        validators=[MinValueValidator(ZERO), MaxValueValidator(Decimal(100))],
        null=True,
        blank=True,
    )

    class Meta:
        abstract = True


class InCurrency:
    """A row whose amounts are in a ``currency`` of its own, whatever the studio's is now.

    So it can be handed to whatever writes money of a studio: to the filter ``money``, for one.
    """

    studio: Studio

    @property
    def locale(self) -> str:
        """The locale that its amounts are written in: its studio's."""
        return self.studio.locale


class Worked(models.Model):
    """Hands-on time, and what an hour was worth when it was worked, so that the past stays put."""

    minutes = minutes_field("hands-on minutes", default=ZERO)
    labour_rate = money_field("labour for an hour", default=ZERO)
    overhead_rate = money_field("overhead for an hour", default=ZERO)

    class Meta:
        abstract = True
