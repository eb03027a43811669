"""Each day's use, proved against the ledger, and counted anew when the days are other days."""

from collections.abc import Collection, Iterator
from datetime import date
from decimal import Decimal
from itertools import groupby
from operator import itemgetter
from typing import Any

from django.db.models import F
from django.dispatch import receiver

from inventory.models import DayUse, Material
from inventory.stock.books import Finding
from inventory.stock.shelf import day_uses
from studio.amounts import Total
from studio.models import Studio
from studio.signals import settings_changed
from studio.units.numerals import trimmed


@receiver(settings_changed)
def count_days_anew(sender: Any, studio: Studio, changed: Collection[str], **kwargs: Any) -> None:
    """Count each day's use anew on the calendar of the new time zone."""
    if "time_zone" in changed:
        day_uses.rebuild(studio)


def days_agree(studio: Studio | None) -> Iterator[Finding]:
    """Each day's use is what the ledger says was consumed on it and not undone."""
    studios = (
        Studio.objects.filter(restoring=None)
        if studio is None
        else Studio.objects.filter(pk=studio.pk)
    )
    for zone in list(studios.values_list("time_zone", flat=True).distinct().order_by("time_zone")):
        studios_in_zone = studios.filter(time_zone=zone)
        moved = day_uses.consumed(zone).filter(studio__in=studios_in_zone)
        stored_uses = (
            DayUse.objects.filter(studio__in=studios_in_zone)
            .order_by()
            .values("material", date=F("day"))
        )
        total = Total("quantity")
        rows = moved.annotate(total=total).union(stored_uses.annotate(total=total), all=True)
        sums = rows.order_by("material", "date").iterator()
        for (material, day), pair in groupby(sums, key=itemgetter("material", "date")):
            left = sum(row["total"] for row in pair)
            if left:
                yield _finding(material, day, left)


def _finding(material: int, day: date, more: Decimal) -> Finding:
    row = Material.objects.select_related("studio").get(pk=material)
    return Finding(
        "days",
        row.studio.name,
        f"Material {row.name}",
        f"its use on {day} is kept as {trimmed(more)} more than its movements add up to.",
    )
