"""Shelf counts: every bottle of a place weighed or counted, one after the other."""

from typing import Any, Self

from django.conf import settings
from django.contrib.auth.models import User
from django.db import models
from django.db.models import Q
from django.utils import timezone

from inventory.models.bottle import Bottle
from inventory.models.fields import quantity_field, value_field
from inventory.models.movement import Entry
from inventory.models.supply import Material
from studio.amounts import AmountField
from studio.modelfields import JSONField, LineField, MomentField, WholeField
from studio.models import Studio, Tracked, Tracking
from studio.shapes import list_of, one_of


def validate_kinds(kinds: Any) -> None:
    """Refuse what is no list of kinds of material."""
    list_of(one_of(Material.Kind.values))(kinds, "")


def _person() -> "models.ForeignKey[User | None, User | None]":
    return models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )


class ShelfCount(Tracked):
    """One walk along the shelf; each line posts its difference when it is weighed."""

    class Status(models.TextChoices):
        OPEN = "open", "Open"
        FINISHED = "finished", "Finished"
        CANCELLED = "cancelled", "Cancelled"

    studio = models.ForeignKey(Studio, on_delete=models.CASCADE, related_name="shelf_counts")
    number = WholeField()
    place = LineField(max_length=60, blank=True, help_text="Empty for every place.")
    kinds = JSONField(
        "kinds of material",
        default=list,
        blank=True,
        validators=[validate_kinds],
        help_text="Empty for every kind.",
    )
    status = models.CharField(max_length=10, choices=Status, default=Status.OPEN)
    started_at = MomentField(default=timezone.now)
    started_by = _person()
    ended_at = MomentField("finished or cancelled at", null=True, blank=True)
    ended_by = _person()

    class Meta:
        ordering = ["-number"]
        constraints = [
            models.UniqueConstraint(fields=["studio", "number"], name="count_number_once"),
            models.UniqueConstraint(
                fields=["studio", "place"],
                condition=Q(status="open"),
                name="count_open_once_a_place",
            ),
            models.CheckConstraint(
                condition=Q(status="open", ended_at=None)
                | (~Q(status="open") & Q(ended_at__isnull=False)),
                name="count_ends_when_it_is_over",
            ),
        ]

    def __str__(self) -> str:
        return f"Shelf count {self.number}"

    @property
    def is_open(self) -> bool:
        return self.status == self.Status.OPEN

    @property
    def scope(self) -> str:
        """What is counted, in words: ``shelf 2, only paint, resin (part A)``."""
        where = self.place or "every place"
        labels = [Material.Kind(kind).label for kind in self.kinds]
        kinds = [label[0].lower() + label[1:] for label in labels]
        return f"{where}, only {', '.join(kinds)}" if kinds else where


class ShelfCountLineQuerySet(Tracking, models.QuerySet["ShelfCountLine"]):
    def live(self) -> Self:
        """Leave out lines that were put back to be weighed anew."""
        return self.filter(undone_at=None)

    def waiting(self) -> Self:
        """Lines that are neither weighed nor left out."""
        return self.live().filter(at=None)

    def counted(self) -> Self:
        """Lines that were weighed or counted."""
        return self.live().exclude(counted=None)


class ShelfCountLine(Tracked):
    """One bottle of a count: waiting, then weighed or counted, or left out with a reason.

    What the books expected is of the moment it was weighed, so that what others used meanwhile is
    no difference. A line put back stays on record, and a new one takes its position.
    """

    part_of = "count"

    count = models.ForeignKey(ShelfCount, on_delete=models.CASCADE, related_name="lines")
    bottle = models.ForeignKey(Bottle, on_delete=models.PROTECT, related_name="count_lines")
    position = WholeField(help_text="Its turn on the walk along the shelf.")
    place = LineField(max_length=60, blank=True)
    expected = quantity_field(verbose_name="the books said", null=True, blank=True)
    expected_value = value_field(verbose_name="worth by the books", null=True, blank=True)
    gross_g = AmountField(
        "the scale showed (g)", max_digits=11, decimal_places=4, null=True, blank=True
    )
    counted = quantity_field(verbose_name="found", null=True, blank=True)
    entry = models.OneToOneField(
        Entry, on_delete=models.PROTECT, related_name="count_line", null=True, blank=True
    )
    left_out = LineField("why it was left out", max_length=200, blank=True)
    by = _person()
    at = MomentField("weighed, counted or left out at", null=True, blank=True)
    undone_at = MomentField("put back at", null=True, blank=True)
    undone_by = _person()

    objects = ShelfCountLineQuerySet.as_manager()  # type: ignore[misc, assignment]  # a manager of its own, where the stubs want the base's

    class Meta:
        ordering = ["position", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["count", "bottle"],
                condition=Q(undone_at=None),
                name="count_line_once_a_bottle",
            ),
            models.CheckConstraint(
                condition=Q(at=None, counted=None, left_out="", entry=None)
                | Q(at__isnull=False, counted__isnull=False, expected__isnull=False, left_out="")
                | (Q(at__isnull=False, counted=None, entry=None) & ~Q(left_out="")),
                name="count_line_waits_or_is_counted_or_left_out",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.bottle.code} of count {self.count.number}"

    @property
    def is_waiting(self) -> bool:
        return self.at is None
