"""Techniques: how often they succeed and how long their steps take."""

from django.db import models

from pricing.models.fields import fraction_field, minutes_field
from pricing.techniques import BASES, COAT_SUCCESS, TECHNIQUES
from studio.modelfields import LineField
from studio.models import Studio, Tracked
from studio.money import ZERO

BASE_CHOICES = [(one, one.capitalize()) for one in BASES]


class Technique(Tracked):
    """One way of pouring, as this studio does it."""

    # What is known of an Enum's types leaves out those that are made of a list.
    Slug: type[models.TextChoices] = models.TextChoices(  # type: ignore[call-overload]  # the stubs know literal choices only
        "Slug",
        [(facts.slug.replace("-", "_").upper(), (facts.slug, facts.name)) for facts in TECHNIQUES],
    )

    studio = models.ForeignKey(Studio, on_delete=models.CASCADE, related_name="techniques")
    slug = models.CharField(max_length=13, choices=Slug)
    success_rate = fraction_field(
        default="0.90", help_text="Share of poured pieces that come out fit to sell, or to coat."
    )
    coat_success_rate = fraction_field(
        default=COAT_SUCCESS, help_text="Share of coated pieces that come out fit to sell."
    )
    learns = models.BooleanField(
        "learn from what is logged",
        default=True,
        help_text="The studio's own pours correct these figures as they are logged.",
    )
    is_offered = models.BooleanField(default=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["studio", "slug"], name="technique_once"),
            models.CheckConstraint(
                condition=models.Q(success_rate__gt=0), name="technique_succeeds_sometimes"
            ),
            models.CheckConstraint(
                condition=models.Q(coat_success_rate__gt=0),
                name="technique_is_coated_well_sometimes",
            ),
        ]

    def __str__(self) -> str:
        return self.get_slug_display()

    @property
    def name(self) -> str:
        return self.get_slug_display()

    def over(self, base: str) -> str:
        """Its name, and the base it is poured over where that is told."""
        return f"{self.name} over a {base} base" if base else self.name


def base_field() -> "models.CharField[str, str]":
    """Return the column of what is poured over: empty where it is not told, or has no choice."""
    return models.CharField("base", max_length=7, choices=BASE_CHOICES, blank=True)


class LabourStep(Tracked):
    """Hands-on minutes of one step: once a session, and again for each piece."""

    part_of = "technique"

    class Step(models.TextChoices):
        """The steps of the craft, in the order in which they are done."""

        PREPARE = "prepare", "Prepare surfaces"
        SCUFF = "scuff", "Degrease or scuff"
        PRIME = "prime", "Prime"
        TAPE = "tape", "Tape backs and edges"
        OWN = "own", "A step of your own before the pour"
        SET_UP = "set_up", "Set up and mix"
        LEVEL = "level", "Level"
        POUR = "pour", "Pour"
        CLEAN = "clean", "Clean edges and backs"
        SEAL = "seal", "Seal"
        TOPCOAT = "topcoat", "Topcoat"
        VARNISH = "varnish", "Varnish"
        FEET = "feet", "Fit feet or cork"
        OWN_LAST = "own_last", "A step of your own before packing"
        PACK = "pack", "Pack"
        PHOTOGRAPH = "photo", "Photograph"
        CUSTOMER = "customer", "Talk to the customer"

    OWN_STEPS = (Step.OWN, Step.OWN_LAST)

    technique = models.ForeignKey(Technique, on_delete=models.CASCADE, related_name="steps")
    step = models.CharField(max_length=8, choices=Step)
    fixed_minutes = minutes_field(default=ZERO)
    minutes_each = minutes_field(default=ZERO)
    name = LineField(
        max_length=60, blank=True, help_text="What a step of the studio's own is called."
    )

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["technique", "step"], name="labour_step_once")
        ]

    def __str__(self) -> str:
        return self.name or self.get_step_display()

    @property
    def place(self) -> int:
        """Where it stands among the steps of the craft."""
        return list(self.Step).index(self.Step(self.step))

    @property
    def is_done(self) -> bool:
        """Whether the studio does it: a step that takes no time is left out."""
        return bool(self.fixed_minutes or self.minutes_each)
