"""Amounts of money and work as they are written out, and work as it comes in."""

from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from rest_framework import serializers


def value(**options: Any) -> serializers.DecimalField:
    """What something cost, to a millionth of the currency, so that parts add up."""
    return serializers.DecimalField(18, 6, rounding=ROUND_HALF_UP, **options)


def money(**options: Any) -> serializers.DecimalField:
    """An amount that is asked for or paid."""
    return serializers.DecimalField(12, 3, read_only=True, **options)


def minutes(**options: Any) -> serializers.DecimalField:
    """Hands-on minutes."""
    return serializers.DecimalField(12, 2, rounding=ROUND_HALF_UP, **options)


def minutes_in(**options: Any) -> serializers.DecimalField:
    """Hands-on minutes of one act, up to a day."""
    return serializers.DecimalField(8, 2, min_value=Decimal(0), max_value=Decimal(1440), **options)


class SpentOut(serializers.Serializer):
    """What something took: materials at their bottles' cost, labour and overhead."""

    materials, labour, overhead, total = value(), value(), value(), value()
    minutes = minutes()
