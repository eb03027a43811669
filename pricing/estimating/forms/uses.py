"""The choice of what a piece is for."""

from django import forms

from pricing.models.use import USE_CHOICES

NOT_SAID = "Not said counts as the strictest that it can be: a coaster as for hot drinks."


def use_choice(hint: str = NOT_SAID) -> forms.ChoiceField:
    """Return the choice of what a piece is for, also of saying nothing."""
    return forms.ChoiceField(
        label="What it is for", choices=USE_CHOICES, required=False, help_text=hint
    )
