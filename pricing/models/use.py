"""What a piece is for, as its maker and its customer agreed."""

from django.db import models


class Use(models.TextChoices):
    """What a piece is for; nothing where nobody has said."""

    HOT = "hot", "For hot drinks"
    FOOD = "food", "For food nearby"
    LOOK = "look", "To look at"


# As a form offers them.
USE_CHOICES = [("", "Not said"), *Use.choices]


def use_field(name: str = "what it is for") -> "models.CharField[str, str]":
    """What it is for; empty counts as the strictest, see `pricing.fitness.counts_as`."""
    return models.CharField(
        name,
        max_length=4,
        choices=Use,
        blank=True,
        help_text="Not said counts as the strictest that it can be.",
    )
