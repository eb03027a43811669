"""The choice of what is poured over."""

from django import forms

from pricing.models.technique import BASE_CHOICES

NOT_TOLD = "For ring pours and flip cups. Not told, the amounts cover both."


def base_choice(untold: str = "Thin or flooded", hint: str = NOT_TOLD) -> forms.ChoiceField:
    """Return the choice of a base; ``untold`` is what it says where nobody knows."""
    return forms.ChoiceField(choices=[("", untold), *BASE_CHOICES], required=False, help_text=hint)
