"""Changes to what a studio works with, where more than one row changes at once."""

from collections.abc import Mapping, Sequence
from decimal import Decimal

from django.db import transaction

from inventory.models import Recipe
from pricing.errors import CatalogueError
from pricing.models import Customer, LabourStep, Palette, PaletteColour, Technique
from studio.models import Studio
from studio.rows import keep_row


@transaction.atomic
def save_technique(
    *,
    technique: Technique,
    success_rate: Decimal,
    coat_success_rate: Decimal,
    is_offered: bool,
    steps: Mapping[str, tuple[Decimal, Decimal]],
    learns: bool = True,
    names: Mapping[str, str] | None = None,
) -> Technique:
    """Set how often a technique succeeds and the minutes of its steps.

    Parameters
    ----------
    technique : Technique
    success_rate, coat_success_rate : Decimal
        Share of poured pieces that come out well, and of coated ones, above 0 and at most 1, [-]
    is_offered : bool
    learns : bool
        Whether what is logged corrects these figures
    steps : mapping
        Step to a pair: minutes once a session, and minutes for each piece, [min]
    names : mapping, optional
        Step to what the studio calls it; a step that is not named keeps its name

    Raises
    ------
    CatalogueError
        If a step that the craft has a name for is to be called otherwise.
    """
    names = names or {}
    if any(name and step not in LabourStep.OWN_STEPS for step, name in names.items()):
        raise CatalogueError("Only steps of your own have a name of their own. Leave the others.")
    technique.success_rate, technique.is_offered = success_rate, is_offered
    technique.coat_success_rate, technique.learns = coat_success_rate, learns
    technique.save(update_fields=["success_rate", "coat_success_rate", "is_offered", "learns"])
    for step, (fixed_minutes, minutes_each) in steps.items():
        technique.steps.update_or_create(
            step=step,
            defaults={
                "fixed_minutes": fixed_minutes,
                "minutes_each": minutes_each,
                **({"name": names[step].strip()} if step in names else {}),
            },
        )
    return technique


@transaction.atomic
def save_palette(
    *,
    studio: Studio,
    name: str,
    base: Recipe,
    colours: Sequence[tuple[Recipe, Decimal]],
    activator: Recipe | None = None,
    notes: str = "",
    palette: Palette | None = None,
) -> Palette:
    """Write a palette down, or change it, with its colours.

    Parameters
    ----------
    colours : sequence of (Recipe, Decimal)
        Each colour mix and its parts, in the order they are shown, [-]

    Raises
    ------
    CatalogueError
        If there is no colour, one stands twice, or a recipe is another studio's.
    TakenError
        If somebody else wrote a palette of that name down a moment before.
    """
    recipes = [recipe for recipe, _ in colours]
    if not recipes:
        raise CatalogueError("A palette needs at least one colour.")
    if len({recipe.pk for recipe in recipes}) < len(recipes):
        raise CatalogueError("Each colour may stand once in a palette. Change its parts instead.")
    if any(recipe.studio_id != studio.pk for recipe in [base, activator, *recipes] if recipe):
        raise CatalogueError("A palette is made of the studio's own recipes.")
    palette = palette or Palette(studio=studio)
    palette.name, palette.base, palette.activator, palette.notes = name, base, activator, notes
    keep_row(row=palette)
    palette.colours.all().delete()
    PaletteColour.objects.bulk_create(
        PaletteColour(palette=palette, recipe=recipe, parts=parts, position=position)
        for position, (recipe, parts) in enumerate(colours)
    )
    return palette


def add_customer(*, studio: Studio, name: str, email: str = "") -> Customer:
    """Write a new customer down."""
    return Customer.objects.create(studio=studio, name=name.strip(), email=email)
