"""The studio: whose rows these are, and how it measures, costs and prices."""

import zoneinfo
from datetime import date
from decimal import Decimal

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils import timezone

from studio.amounts import AmountField, Given
from studio.modelfields import (
    DayField,
    EmailField,
    LineField,
    LinesField,
    MomentField,
    SmallWholeField,
    WholeField,
)
from studio.money import MINOR_UNITS, minor_unit
from studio.units import temperature_unit
from studio.validators import validate_currency, validate_locale, validate_time_zone


def fraction(
    default: str, help_text: str, *, highest: str = "0.95"
) -> "models.DecimalField[Given, Decimal]":
    """A share of one, stored as a decimal such as 0.35 for 35 %."""
    return models.DecimalField(
        max_digits=6,
        decimal_places=4,
        default=Decimal(default),
        validators=[MinValueValidator(Decimal(0)), MaxValueValidator(Decimal(highest))],
        help_text=help_text,
    )


def amount(default: str, help_text: str) -> "models.DecimalField[Given, Decimal]":
    """A non-negative amount in the studio's currency."""
    return AmountField(
        decimal_places=3,
        default=Decimal(default),
        validators=[MinValueValidator(Decimal(0))],
        help_text=help_text,
    )


class Studio(models.Model):
    """One small business. Every other row belongs to one."""

    class Measures(models.TextChoices):
        US = "us", "US customary (tablespoon 14.8 mL, cup 237 mL)"
        METRIC = "metric", "Metric (tablespoon 15 mL, cup 250 mL)"
        AU = "au", "Australian (tablespoon 20 mL, cup 250 mL)"
        IMPERIAL = "imperial", "Imperial (tablespoon 17.8 mL, cup 284 mL)"

    class Costing(models.TextChoices):
        FIFO = "fifo", "First in, first out (FIFO)"
        MOVING_AVERAGE = "moving_average", "Moving average"

    class Lengths(models.TextChoices):
        INCH = "in", "Inches"
        CM = "cm", "Centimetres"

    class PriceBy(models.TextChoices):
        MARGIN = "margin", "A margin, a share of the price"
        MARKUP = "markup", "A markup, a share on top of the cost"

    class RunOffValue(models.TextChoices):
        BASE = "base", "What the base mix it replaces costs"
        NOTHING = "nothing", "Nothing"

    class Month(models.IntegerChoices):
        JANUARY = 1
        FEBRUARY = 2
        MARCH = 3
        APRIL = 4
        MAY = 5
        JUNE = 6
        JULY = 7
        AUGUST = 8
        SEPTEMBER = 9
        OCTOBER = 10
        NOVEMBER = 11
        DECEMBER = 12

    name = LineField(max_length=120)
    address = LinesField(blank=True, help_text="As it should stand on quotes.")
    email = EmailField(blank=True)
    phone = LineField(max_length=40, blank=True)
    created_at = MomentField(default=timezone.now, editable=False)

    currency = LineField(max_length=3, default="USD", validators=[validate_currency])
    locale = LineField(max_length=12, default="en_US", validators=[validate_locale])
    measures = models.CharField(max_length=8, choices=Measures, default=Measures.US)
    lengths = models.CharField(max_length=2, choices=Lengths, default=Lengths.INCH)
    time_zone = LineField(max_length=64, default="UTC", validators=[validate_time_zone])

    year_begins = SmallWholeField(
        "first month of the year",
        choices=Month,
        default=Month.JANUARY,
        help_text="Of the year that your books are kept by.",
    )

    # The last day of the last month that is closed, cached of the studio's closings, so that no act
    # has to ask for those.
    closed_up_to = DayField(null=True, blank=True, editable=False)

    labour_rate = amount("18", "For one hour of hands-on work.")
    overhead_rate = amount("4", "Rent, power, insurance and tools for one hour of work.")
    monthly_costs = amount(
        "0", "Rent, insurance, power and the like for a month, however much is sold."
    )
    price_by = models.CharField(max_length=6, choices=PriceBy, default=PriceBy.MARGIN)
    margin = fraction("0.30", "Share of the price before tax that is left as profit.")
    markup = fraction("0.50", "Share of the cost that is put on top as profit.", highest="10")
    tax_rate = fraction("0", "Sales tax or VAT on what is sold.", highest="0.9")
    tax_inclusive = models.BooleanField(
        default=False, help_text="Prices are shown with the tax in them."
    )
    tax_number = LineField(max_length=40, blank=True)
    rounding_step = AmountField(
        max_digits=8,
        decimal_places=3,
        default=Decimal("1"),
        validators=[MinValueValidator(Decimal("0.001"))],
        help_text="Prices are rounded up to a multiple of this.",
    )
    minimum_charge = amount("0", "No quote is below this.")
    deposit = fraction("0.50", "Share of a quote asked for on acceptance.", highest="1")
    quote_days = SmallWholeField(
        default=30, validators=[MinValueValidator(1), MaxValueValidator(365)]
    )
    quote_terms = LinesField(blank=True, help_text="Printed at the foot of every quote.")

    invoice_days = SmallWholeField(
        default=14, validators=[MaxValueValidator(365)], help_text="From the day it is issued."
    )
    how_to_pay = LinesField(
        blank=True, help_text="Printed on every invoice, such as the account to pay into."
    )

    # The method, and the one that follows it from a day on. They are cached of the studio's costing
    # changes, so that no act on the stock has to ask for those.
    costing = models.CharField(max_length=14, choices=Costing, default=Costing.FIFO)
    costing_next = models.CharField(max_length=14, choices=Costing, blank=True)
    costing_next_from = DayField(null=True, blank=True)
    run_off_value = models.CharField(max_length=8, choices=RunOffValue, default=RunOffValue.NOTHING)
    service_level = models.DecimalField(
        max_digits=5,
        decimal_places=4,
        default=Decimal("0.95"),
        validators=[MinValueValidator(Decimal("0.5")), MaxValueValidator(Decimal("0.999"))],
        help_text="Chance of not running out while an order is on its way.",
    )
    review_days = SmallWholeField(
        default=30,
        validators=[MinValueValidator(1), MaxValueValidator(365)],
        help_text="An order should last until this many days after it arrives.",
    )
    mix_confidence = models.DecimalField(
        max_digits=5,
        decimal_places=4,
        default=Decimal("0.90"),
        validators=[MinValueValidator(Decimal("0.5")), MaxValueValidator(Decimal("0.99"))],
        help_text="Chance that what is mixed is enough for the piece.",
    )
    cup_loss = fraction("0.05", "Share of a mix that stays in cups and on tools.", highest="0.5")
    room_temperature_c = models.DecimalField(
        max_digits=4,
        decimal_places=1,
        default=Decimal("22"),
        validators=[MinValueValidator(Decimal("5")), MaxValueValidator(Decimal("40"))],
    )

    # An example beside a person's own studio, which may be removed whole; nothing else may.
    is_example = models.BooleanField(default=False, editable=False)
    # When its owner sent the list of first steps away.
    first_steps_left_at = MomentField(null=True, blank=True, editable=False)

    # Of earlier days it is not known what was promised, or what pieces had cost by then.
    days_kept_from = DayField(null=True, blank=True, editable=False)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name

    def clean(self) -> None:
        """Refuse a rounding step that the currency has no coin for: no price could be made."""
        if self.currency not in MINOR_UNITS:  # its own field says so
            return
        coin = minor_unit(self.currency)
        if self.rounding_step % coin:
            sentence = (
                f"Prices in {self.currency} are a multiple of {coin}: give a step that is, too."
            )
            raise ValidationError({"rounding_step": ValidationError(sentence, code="coin")})

    @property
    def temperature_unit(self) -> str:
        """``f`` or ``c``: the unit in which temperatures are typed and shown."""
        return temperature_unit(self.measures)

    def today(self) -> date:
        """Return today's date on the studio's own wall clock."""
        return timezone.now().astimezone(self.zone).date()

    @property
    def zone(self) -> zoneinfo.ZoneInfo:
        """The studio's own time zone."""
        return zoneinfo.ZoneInfo(self.time_zone)

    @property
    def costing_is_due(self) -> bool:
        """Whether a change of the costing method has reached its day and waits to take effect."""
        return self.costing_next_from is not None and self.costing_next_from <= self.today()

    @property
    def costing_in_force(self) -> str:
        """The costing method of today."""
        return self.costing_next if self.costing_is_due else self.costing


class NumberSeries(models.Model):
    """The last number given out, so that quotes and invoices are numbered without gaps."""

    studio = models.ForeignKey(Studio, on_delete=models.CASCADE, related_name="number_series")
    name = LineField(max_length=20)
    last = WholeField(default=0)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["studio", "name"], name="number_series_one_per_studio")
        ]

    def __str__(self) -> str:
        return f"{self.name} {self.last}"


class Restoring(models.Model):
    """The mark of a studio that an archive is being written into, and that nobody belongs to yet.

    Whatever goes over all studios leaves out the rows of these.
    """

    studio = models.OneToOneField(Studio, on_delete=models.CASCADE, related_name="restoring")
    seen_at = MomentField(
        default=timezone.now, help_text="When whoever writes it last gave a sign of life."
    )
    is_given_up = models.BooleanField(default=False)

    def __str__(self) -> str:
        return f"{self.studio}, being restored"
