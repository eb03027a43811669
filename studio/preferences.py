"""How a studio measures, costs and prices: sensible beginnings, and changing them."""

import zoneinfo
from decimal import Decimal
from functools import cache
from typing import Any

from babel import Locale
from babel.core import get_global
from babel.localedata import exists
from babel.numbers import get_territory_currencies
from django.db import transaction

from studio.models import Studio
from studio.money import MINOR_UNITS
from studio.signals import settings_changed

# What is usual where; every choice can be changed later. Measures: the Australian tablespoon is
# 20 mL, the metric one 15 mL.
PLACES = {
    "us": ("United States", "USD", "en_US", "us", "in", "America/New_York"),
    "ca": ("Canada", "CAD", "en_CA", "metric", "in", "America/Toronto"),
    "uk": ("United Kingdom", "GBP", "en_GB", "metric", "cm", "Europe/London"),
    "ie": ("Ireland", "EUR", "en_IE", "metric", "cm", "Europe/Dublin"),
    "eu": ("Elsewhere in the euro area", "EUR", "en_IE", "metric", "cm", "Europe/Berlin"),
    "au": ("Australia", "AUD", "en_AU", "au", "cm", "Australia/Sydney"),
    "nz": ("New Zealand", "NZD", "en_NZ", "metric", "cm", "Pacific/Auckland"),
    "za": ("South Africa", "ZAR", "en_ZA", "metric", "cm", "Africa/Johannesburg"),
    "in": ("India", "INR", "en_IN", "metric", "in", "Asia/Kolkata"),
    "other": ("Somewhere else", "USD", "en_US", "metric", "cm", "UTC"),
}
# Where the clocks of most people of a country with several zones go by, as far as it is not above:
# those of its largest city.
LARGEST_CITY = {
    "AR": "America/Argentina/Buenos_Aires",
    "BR": "America/Sao_Paulo",
    "CD": "Africa/Kinshasa",
    "CL": "America/Santiago",
    "CN": "Asia/Shanghai",
    "CY": "Asia/Nicosia",
    "DE": "Europe/Berlin",
    "EC": "America/Guayaquil",
    "ES": "Europe/Madrid",
    "FM": "Pacific/Pohnpei",
    "GL": "America/Nuuk",
    "ID": "Asia/Jakarta",
    "KI": "Pacific/Tarawa",
    "KZ": "Asia/Almaty",
    "MH": "Pacific/Majuro",
    "MN": "Asia/Ulaanbaatar",
    "MX": "America/Mexico_City",
    "MY": "Asia/Kuala_Lumpur",
    "PF": "Pacific/Tahiti",
    "PG": "Pacific/Port_Moresby",
    "PS": "Asia/Hebron",
    "PT": "Europe/Lisbon",
    "RU": "Europe/Moscow",
    "UA": "Europe/Kyiv",
    "UZ": "Asia/Tashkent",
}
# Inches and US cups are usual here and nowhere else: CLDR, measurementData. Myanmar goes over to
# metric measures.
INCHES = {"US", "LR", "PR"}
_FIELDS = ("currency", "locale", "measures", "lengths", "time_zone")


def beginnings(place: str) -> dict[str, str | Decimal]:
    """Return the fields a new studio starts with in ``place``.

    ``place`` is a key of :data:`PLACES`, or the code of one of `countries` in small letters.
    """
    usual = PLACES[place][1:] if place in PLACES else _usual_in(place.upper())
    return dict(zip(_FIELDS, usual, strict=True)) | {"rounding_step": Decimal(1)}


@cache
def countries() -> tuple[tuple[str, str], ...]:
    """Return (code, English name) of each country whose money and clocks are known, by name.

    The codes are those of ISO 3166-1 in small letters; names and money are CLDR's.
    """
    names = {str(code): str(name) for code, name in Locale("en").territories.items()}
    codes = [code for code in names if len(code) == 2 and _zone(code) and _currency(code)]
    return tuple(sorted(((code.lower(), names[code]) for code in codes), key=lambda one: one[1]))


def _usual_in(code: str) -> tuple[str, ...]:
    locale = f"en_{code}" if exists(f"en_{code}") else "en_001"
    lengths, measures = ("in", "us") if code in INCHES else ("cm", "metric")
    return (_currency(code), locale, measures, lengths, _zone(code))


def _currency(code: str) -> str:
    """Return what is paid with in a country today, empty where that is not known."""
    return next((one for one in get_territory_currencies(code) if one in MINOR_UNITS), "")


def _zone(code: str) -> str:
    """Return the time zone of a country's largest city, empty where that is not known."""
    named = (LARGEST_CITY.get(code), *get_global("territory_zones").get(code, ()))
    return next((one for one in named if one in _zones()), "")


@cache
def _zones() -> frozenset[str]:
    return frozenset(zoneinfo.available_timezones())


@transaction.atomic
def change_settings(*, studio: Studio, **changes: Any) -> Studio:
    """Save the settings named, and only those, after checking the studio as a whole."""
    studio = Studio.objects.select_for_update(no_key=True).get(pk=studio.pk)
    changed = {name for name, value in changes.items() if getattr(studio, name) != value}
    for name, value in changes.items():
        setattr(studio, name, value)
    studio.full_clean(exclude={f.name for f in Studio._meta.fields} - set(changes))
    studio.save(update_fields=list(changes))
    settings_changed.send(sender=Studio, studio=studio, changed=changed)
    return studio
