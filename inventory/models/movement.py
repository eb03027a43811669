"""The ledger: entries made of movements, added and never edited."""

from decimal import Decimal
from typing import Self

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone

from inventory.models.bottle import Bottle
from inventory.models.fields import quantity_field, value_field
from inventory.models.supply import Material
from studio.modelfields import DayField, LineField, MomentField
from studio.models import AppendOnly, AppendOnlyQuerySet, Studio


class EntryQuerySet(AppendOnlyQuerySet):
    def with_movements(self) -> Self:
        """Fetch what each entry moved along with it, each with its bottle and material.

        These are joined: fetched on their own, more than a thousand bottles on a page, as one
        sheet of opening stock has, are more alternatives than SQLite takes in one question.
        """
        moved = Movement.objects.select_related("material", "bottle")
        return self.prefetch_related(models.Prefetch("movements", moved))


class Entry(AppendOnly):
    """One act on the stock (a delivery, a pour, a weighing) and all it moved."""

    studio = models.ForeignKey(Studio, on_delete=models.CASCADE, related_name="entries")
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    happened_at = MomentField()
    booked_on = DayField(help_text="The day that it counts on in the books.")
    recorded_at = MomentField(default=timezone.now, db_index=True)
    why = LineField(max_length=200, blank=True)
    purpose = LineField(max_length=80, blank=True, help_text="What it was for, such as “Pour 12”.")
    was_past = models.BooleanField(
        "thrown away past its day",
        null=True,
        blank=True,
        help_text="Not known of entries recorded before this was kept.",
    )
    reverses = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="reversed_by"
    )

    # What each layer of a pour took of it, {layer: value}, [currency]; of an entry just posted.
    took: dict[str, Decimal]

    objects = EntryQuerySet.as_manager()  # type: ignore[misc]  # in place of the one that AppendOnly has

    class Meta:
        ordering = ["-pk"]
        indexes = [
            models.Index(fields=["studio", "happened_at"]),
            models.Index(fields=["studio", "booked_on"]),
            models.Index(fields=["studio", "-id"]),  # the list of the ledger, a page at a time
        ]
        verbose_name_plural = "entries"

    def __str__(self) -> str:
        return self.purpose or self.why or f"Entry {self.pk}"


# What is so of which kinds of movement: a new kind has its place in each of these, or not.
BRINGS_IN = ["opening", "receipt", "reclaim", "recover"]
TAKES_OUT = ["use", "waste", "return"]
EITHER_WAY = ["mix", "weigh_in"]
# What work takes: it leaves alone what is promised to other work.
FOR_WORK = ["use", "mix"]
# What counts against a work's own holds.
DRAWS_DOWN = ["use", "mix", "waste"]
# What comes in as part of what the same entry took.
MADE_OF_WHAT_WENT = ["mix", "reclaim"]
# What leaves for good, as it was logged or as the scale found it; weighed gains make up for losses.
# A mix is both: what it takes leaves, what it makes comes.
LEAVES = ["use", "waste", "weigh_in"]


class Movement(AppendOnly):
    """One signed change of one bottle, in quantity and in value."""

    class Kind(models.TextChoices):
        OPENING = "opening", "Opening stock"
        RECEIPT = "receipt", "Received"
        USE = "use", "Used"
        RECLAIM = "reclaim", "Run-off kept"
        RECOVER = "recover", "Recovered"
        MIX = "mix", "Mixed"
        DECANT = "decant", "Decanted"
        WEIGH_IN = "weigh_in", "Weighed in"
        WASTE = "waste", "Thrown away"
        RETURN = "return", "Sent back"
        RESPREAD = "respread", "Average cost brought level"
        REVERSAL = "reversal", "Reversed"

    studio = models.ForeignKey(Studio, on_delete=models.CASCADE, related_name="movements")
    entry = models.ForeignKey(Entry, on_delete=models.PROTECT, related_name="movements")
    bottle = models.ForeignKey(Bottle, on_delete=models.PROTECT, related_name="movements")
    material = models.ForeignKey(Material, on_delete=models.PROTECT, related_name="movements")
    kind = models.CharField(max_length=8, choices=Kind)
    quantity = quantity_field()
    value = value_field()

    class Meta:
        ordering = ["pk"]
        indexes = [
            models.Index(fields=["studio", "-id"]),
            models.Index(fields=["material", "kind"]),
        ]
        constraints = [
            models.CheckConstraint(
                name="movement_in_brings_in",
                condition=~Q(kind__in=BRINGS_IN) | Q(quantity__gt=0, value__gte=0),
            ),
            models.CheckConstraint(
                name="movement_out_takes_out",
                condition=~Q(kind__in=TAKES_OUT) | Q(quantity__lt=0, value__lte=0),
            ),
            models.CheckConstraint(
                name="movement_decant_takes_its_value_along",
                condition=~Q(kind="decant")
                | Q(quantity__gt=0, value__gte=0)
                | Q(quantity__lt=0, value__lte=0),
            ),
            models.CheckConstraint(
                name="movement_respread_moves_value_only",
                condition=~Q(kind="respread") | Q(quantity=0),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.quantity} {self.bottle.code}"
