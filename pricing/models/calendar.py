"""The studio's own calendar: hours by weekday, days off, racks, and private feeds of it."""

from decimal import Decimal

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils import timezone

from studio.modelfields import DayField, LineField, MomentField, SmallWholeField
from studio.models import Studio, Tracked

# Common practice, no source: a few hours of hands-on work from Monday to Friday.
USUAL_HOURS = (Decimal(4),) * 5 + (Decimal(0),) * 2
USUAL_PLACES = 24


class StudioCalendar(models.Model):
    """What a studio set of its calendar; one that set nothing works the usual hours."""

    studio = models.OneToOneField(Studio, on_delete=models.CASCADE, related_name="calendar")
    rack_places = SmallWholeField(
        "places to dry pieces",
        default=USUAL_PLACES,
        validators=[MinValueValidator(1), MaxValueValidator(2000)],
        help_text="How many pieces can lie level at once, drying or curing.",
    )

    def __str__(self) -> str:
        return f"Calendar of {self.studio}"


class WorkingHours(models.Model):
    """Hours of hands-on work on one weekday."""

    class Weekday(models.IntegerChoices):
        MONDAY = 0, "Monday"
        TUESDAY = 1, "Tuesday"
        WEDNESDAY = 2, "Wednesday"
        THURSDAY = 3, "Thursday"
        FRIDAY = 4, "Friday"
        SATURDAY = 5, "Saturday"
        SUNDAY = 6, "Sunday"

    studio = models.ForeignKey(Studio, on_delete=models.CASCADE, related_name="working_hours")
    weekday = SmallWholeField(choices=Weekday)
    hours = models.DecimalField(
        max_digits=4,
        decimal_places=2,
        validators=[MinValueValidator(Decimal(0)), MaxValueValidator(Decimal(24))],
    )

    class Meta:
        ordering = ["weekday"]
        verbose_name_plural = "working hours"
        constraints = [
            models.UniqueConstraint(fields=["studio", "weekday"], name="working_hours_once_a_day")
        ]

    def __str__(self) -> str:
        return f"{self.get_weekday_display()}: {self.hours:f} h"


class DayOff(Tracked):
    """A day on which nobody works."""

    studio = models.ForeignKey(Studio, on_delete=models.CASCADE, related_name="days_off")
    day = DayField()
    reason = LineField(max_length=80, blank=True)

    class Meta:
        ordering = ["day"]
        constraints = [models.UniqueConstraint(fields=["studio", "day"], name="day_off_once")]
        verbose_name = "day off"
        verbose_name_plural = "days off"

    def __str__(self) -> str:
        return f"{self.day}: {self.reason}" if self.reason else str(self.day)


class CalendarLink(Tracked):
    """The private address of a member's calendar feed. Only a digest of its secret is kept."""

    studio = models.ForeignKey(Studio, on_delete=models.CASCADE, related_name="calendar_links")
    user = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="calendar_links"
    )
    digest = models.CharField(max_length=64, unique=True, editable=False)
    created_at = MomentField(default=timezone.now, editable=False)
    revoked_at = MomentField(null=True, blank=True)

    class Meta:
        ordering = ["-created_at", "-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["studio", "user"],
                condition=Q(revoked_at=None),
                name="calendar_link_one_that_works",
            )
        ]

    def __str__(self) -> str:
        return f"Calendar feed of {self.user}"
