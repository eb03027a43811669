"""Checks shared by models, forms and serializers."""

import zoneinfo

from babel import Locale, UnknownLocaleError
from django.core.exceptions import ValidationError

from studio.money import MINOR_UNITS


def validate_time_zone(name: str) -> None:
    """Refuse a time zone that the IANA database does not know."""
    if name not in zoneinfo.available_timezones():
        raise ValidationError(
            "“%(name)s” is not a time zone. Use a name such as Europe/Dublin or Australia/Perth.",
            code="time_zone",
            params={"name": name},
        )


def validate_currency(code: str) -> None:
    """Refuse a currency without a minor unit in ISO 4217."""
    if code not in MINOR_UNITS:
        raise ValidationError(
            "“%(code)s” is not a currency. Use three letters of ISO 4217, such as EUR or USD.",
            code="currency",
            params={"code": code},
        )


def validate_locale(name: str) -> None:
    """Refuse a locale that CLDR does not know."""
    try:
        Locale.parse(name)
    except (UnknownLocaleError, ValueError, TypeError):
        raise ValidationError(
            "“%(name)s” is not a locale. Use a name such as en_GB or de_DE.",
            code="locale",
            params={"name": name},
        ) from None
