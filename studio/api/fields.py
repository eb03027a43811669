"""Serializer fields that read amounts as a person or a program writes them.

A number, or text that is only a number, is in the storage unit (mL, g, mm); anything else is read
in the studio's own measures, as in the forms.
"""

import re
from datetime import UTC, datetime
from decimal import Decimal, InvalidOperation
from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from studio.dates import validate_day
from studio.models import Studio
from studio.money import MINOR_UNITS, MoneyError, parse_money
from studio.units import (
    UnitsError,
    format_size,
    parse_amount,
    parse_length,
    parse_mass,
    parse_size,
    parse_volume,
)
from studio.units.materials import Counted
from studio.units.sizes import ParsedSize

LONGEST = 60
PLAIN_DECIMAL = re.compile(r"[0-9]+\.[0-9]+")


class DayField(serializers.DateField):
    """A date within the years that a studio's work can lie in."""

    def __init__(self, **options: Any) -> None:
        super().__init__(validators=[validate_day], **options)


class MomentField(serializers.DateTimeField):
    """A moment within those years."""

    def __init__(self, **options: Any) -> None:
        super().__init__(validators=[validate_day], **options)

    def to_representation(self, value: Any) -> Any:
        """Write a moment in UTC, whatever clock the studio goes by."""
        return super().to_representation(value and value.astimezone(UTC))

    def enforce_timezone(self, value: datetime) -> datetime:
        """Read a moment without an offset on the studio's own clock; leave what has one."""
        return value if value.tzinfo else super().enforce_timezone(value)


def _either(example: str, unit: str) -> dict[str, Any]:
    return {
        "oneOf": [{"type": "string", "maxLength": LONGEST}, {"type": "number"}],
        "description": f"A number of {unit}, or text such as “{example}”.",
        "example": example,
    }


class ReadField(serializers.Field):
    """Text or a number, read by :meth:`read`; what it refuses is said in its own sentence.

    Nothing at all, a plain 0, is read only where ``allow_zero`` says so.
    """

    unit = ""

    def __init__(self, *, allow_zero: bool = False, **options: Any) -> None:
        super().__init__(**options)
        self.allow_zero = allow_zero

    def to_internal_value(self, value: Any) -> Any:
        text = self.text(value)
        if self.allow_zero and _is_number(str(value)) and not Decimal(str(value)):
            return Decimal(0)
        try:
            return self.read(text)
        except (UnitsError, MoneyError) as error:
            raise serializers.ValidationError(str(error), code="unreadable") from error

    def text(self, value: object) -> str:
        """Return ``value`` as text with its unit, or refuse what is neither text nor a number."""
        if isinstance(value, bool) or not isinstance(value, str | int | float | Decimal):
            raise serializers.ValidationError("Give a number or text.", code="unreadable")
        text = str(value).strip()
        if len(text) > LONGEST:
            raise serializers.ValidationError(
                f"That is too long; {LONGEST} characters are enough.", code="unreadable"
            )
        return f"{text} {self.unit}" if self.unit and _is_number(text) else text

    def read(self, text: str) -> Any:
        """Return what ``text`` means."""
        raise NotImplementedError  # each kind of amount reads in its own way, below

    def to_representation(self, value: Any) -> str:
        return f"{value:f}"

    @property
    def studio(self) -> Studio:
        return self.context["request"].studio


def _is_number(text: str) -> bool:
    try:
        Decimal(text)
    except InvalidOperation:
        return False
    return True


@extend_schema_field(_either("1 1/2 tbsp", "mL"))
class VolumeField(ReadField):
    """A volume in mL."""

    unit = "mL"

    def read(self, text: str) -> Decimal:
        return parse_volume(text, measures=self.studio.measures)


@extend_schema_field(_either("450 g", "g"))
class MassField(ReadField):
    """A weight in g."""

    unit = "g"

    def read(self, text: str) -> Decimal:
        return parse_mass(text)


@extend_schema_field(_either("4 1/4 in", "mm"))
class LengthField(ReadField):
    """A length in mm."""

    unit = "mm"

    def read(self, text: str) -> Decimal:
        return parse_length(text)


@extend_schema_field({"type": "string", "maxLength": LONGEST, "example": "8 x 8 x 1.5 in"})
class SizeField(ReadField):
    """A size as text, read to a ``ParsedSize`` in mm."""

    def read(self, text: str) -> ParsedSize:
        return parse_size(text)

    def to_representation(self, value: Any) -> str:
        return format_size(value, self.studio.lengths)


@extend_schema_field(_either("41.99", "the studio's currency"))
class MoneyField(ReadField):
    """An amount in the studio's currency.

    A point is the decimal point here, and zeros at the end say nothing: amounts are read back as
    they were written out, such as 6.000.
    """

    def read(self, text: str) -> Decimal:
        if PLAIN_DECIMAL.fullmatch(text):
            text = text.rstrip("0").rstrip(".")
        return parse_money(text, self.currency)

    @property
    def currency(self) -> str:
        return self.studio.currency


@extend_schema_field(_either("41.99", "the currency of what it is about"))
class OwnMoneyField(MoneyField):
    """An amount in the currency of the row that is acted on, such as a sale that is refunded."""

    @property
    def currency(self) -> str:
        acted_on = self.context.get("acted_on")
        return self.studio.currency if acted_on is None else acted_on.currency


class InvoiceMoneyField(MoneyField):
    """An amount in the ``currency`` that the same request names, or else in the studio's."""

    @property
    def currency(self) -> str:
        sent = getattr(self.root, "initial_data", None)
        named = sent.get("currency") if isinstance(sent, dict) else None
        return named if isinstance(named, str) and named in MINOR_UNITS else self.studio.currency


@extend_schema_field(_either("1 1/2 tbsp", "the material's unit"))
class AmountField(ReadField):
    """An amount of a material known only once the rest is read: see :func:`read_amount`."""

    def read(self, text: str) -> str:
        return text


def read_amount(text: str, material: Counted, studio: Studio, field: str = "quantity") -> Decimal:
    """Read what an :class:`AmountField` kept, in the unit the material is counted in."""
    plain_units = {"ml": "mL", "g": "g"}
    if _is_number(text) and material.unit in plain_units:
        text = f"{text} {plain_units[material.unit]}"
    try:
        return parse_amount(
            text, unit=material.unit, measures=studio.measures, density=material.density_g_per_ml
        )
    except UnitsError as error:
        raise serializers.ValidationError({field: [str(error)]}, code="unreadable") from error
