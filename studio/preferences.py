"""How a studio measures, costs and prices: sensible beginnings, and changing them."""

from decimal import Decimal
from typing import Any

from django.db import transaction

from studio.models import Studio
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
_FIELDS = ("currency", "locale", "measures", "lengths", "time_zone")


def beginnings(place: str) -> dict[str, str | Decimal]:
    """Return the fields a new studio starts with in ``place``, a key of :data:`PLACES`."""
    return dict(zip(_FIELDS, PLACES[place][1:], strict=True)) | {"rounding_step": Decimal(1)}


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
