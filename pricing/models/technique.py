"""Techniques: how often they succeed and how long their steps take."""

from typing import Literal

from django.db import models
from django.db.models import Q

from inventory.models import Material
from inventory.models.fields import quantity_field
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
    """Hands-on minutes of one step: once a session, and again for each piece.

    It may use a material: ``amount`` of it, in its own unit, for each piece or for a square metre
    of each face.
    """

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

    class Per(models.TextChoices):
        """What an amount of a material is for."""

        PIECE = "piece", "Each piece"
        FACE = "m2", "A square metre of face"

    class Pieces(models.TextChoices):
        """The pieces that a step is done with."""

        ALL = "", "Every piece"
        COATED = "coated", "Pieces that get resin"
        BARE = "bare", "Pieces without resin"

    OWN_STEPS = (Step.OWN, Step.OWN_LAST)
    BEFORE = (
        *(Step.PREPARE, Step.SCUFF, Step.PRIME, Step.TAPE, Step.OWN),
        *(Step.SET_UP, Step.LEVEL),
    )
    # Paint, resin and packaging are told elsewhere.
    MAY_USE = (
        *(Step.PREPARE, Step.SCUFF, Step.PRIME, Step.TAPE, Step.OWN, Step.LEVEL),
        *(Step.SEAL, Step.VARNISH, Step.FEET, Step.OWN_LAST),
    )
    USABLE = (
        *(Material.Kind.PAINT, Material.Kind.MEDIUM, Material.Kind.CONDITIONER),
        *(Material.Kind.ADDITIVE, Material.Kind.OTHER),
    )

    technique = models.ForeignKey(Technique, on_delete=models.CASCADE, related_name="steps")
    step = models.CharField(max_length=8, choices=Step)
    fixed_minutes = minutes_field(default=ZERO)
    minutes_each = minutes_field(default=ZERO)
    name = LineField(
        max_length=60, blank=True, help_text="What a step of the studio's own is called."
    )
    pieces = models.CharField("done with", max_length=6, choices=Pieces, blank=True)
    material = models.ForeignKey(
        Material, on_delete=models.PROTECT, null=True, blank=True, related_name="steps"
    )
    amount = quantity_field(default=ZERO)
    per = models.CharField(max_length=5, choices=Per, default=Per.PIECE)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["technique", "step"], name="labour_step_once"),
            models.CheckConstraint(
                condition=Q(material=None, amount=0) | Q(material__isnull=False, amount__gt=0),
                name="labour_step_uses_some_of_something",
            ),
        ]

    def __str__(self) -> str:
        return self.name or self.get_step_display()

    @property
    def place(self) -> int:
        """Where it stands among the steps of the craft."""
        return list(self.Step).index(self.Step(self.step))

    @property
    def is_done(self) -> bool:
        """Whether the studio does it: a step that takes no time and uses nothing is left out."""
        return bool(self.fixed_minutes or self.minutes_each or self.material_id)

    def is_for(self, coated: bool) -> bool:
        """Whether it is done with pieces that get resin, or with those that get none."""
        return is_step_for(self.step, self.pieces, coated)

    def used_with(self, coated: bool) -> Literal["pour", "coat", "pack"]:
        """Return the act whose entry takes what it uses.

        What is sealed and gets no resin is sealed before it is packed.
        """
        if self.step in self.BEFORE:
            return "pour"
        return "coat" if coated and self.step == self.Step.SEAL else "pack"


def is_step_for(step: str, pieces: str, coated: bool) -> bool:
    """Tell whether a step is done with pieces that get resin, or with those that get none.

    ``pieces`` is what a studio says of that, one of `LabourStep.Pieces`. What gets resin is not
    varnished, and the other way round.
    """
    kinds = LabourStep.Pieces
    step_of_others = LabourStep.Step.VARNISH if coated else LabourStep.Step.TOPCOAT
    return step != step_of_others and pieces in (kinds.ALL, kinds.COATED if coated else kinds.BARE)
