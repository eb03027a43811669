"""Changes to what a studio works with, where more than one row changes at once."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.db import transaction

from inventory.models import Material, Recipe
from pricing.errors import CatalogueError
from pricing.models import Customer, LabourStep, Palette, PaletteColour, Technique
from studio.models import Studio
from studio.money import ZERO
from studio.rows import keep_row, refuse_strangers


@dataclass(frozen=True)
class StepUse:
    """What a step uses, and the pieces that it is done with.

    ``amount`` of a material, in its own unit, ``per`` one of `LabourStep.Per`; without a material
    nothing. ``pieces`` is one of `LabourStep.Pieces`.
    """

    material: Material | None = None
    amount: Decimal = ZERO
    per: str = LabourStep.Per.PIECE
    pieces: str = LabourStep.Pieces.ALL


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
    uses: Mapping[str, StepUse] | None = None,
) -> Technique:
    """Set how often a technique succeeds, and the minutes of its steps and what they use.

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
    uses : mapping, optional
        Step to what it uses and is done with; a step that is not named keeps that

    Raises
    ------
    CatalogueError
        If a step that the craft has a name for is to be called otherwise, or uses what it cannot.
    """
    names, uses = names or {}, uses or {}
    if any(name and step not in LabourStep.OWN_STEPS for step, name in names.items()):
        raise CatalogueError("Only steps of your own have a name of their own. Leave the others.")
    for step, use in uses.items():
        if problem := use_problem(step, use):
            raise CatalogueError(problem)
    refuse_strangers(technique.studio, *(use.material for use in uses.values()))
    technique.success_rate, technique.is_offered = success_rate, is_offered
    technique.coat_success_rate, technique.learns = coat_success_rate, learns
    technique.save(update_fields=["success_rate", "coat_success_rate", "is_offered", "learns"])
    for step, (fixed_minutes, minutes_each) in steps.items():
        # Not through the technique, whose steps may be loaded with what they use: PostgreSQL does
        # not lock rows beside others that may be missing.
        LabourStep.objects.update_or_create(
            technique=technique,
            step=step,
            defaults={
                "fixed_minutes": fixed_minutes,
                "minutes_each": minutes_each,
                **({"name": names[step].strip()} if step in names else {}),
                **(_columns(uses[step]) if step in uses else {}),
            },
        )
    return technique


def use_problem(step: str, use: StepUse) -> str:
    """Say why a step cannot use what is said of it; empty where it can."""
    label = LabourStep.Step(step).label
    if use.pieces and step in (LabourStep.Step.TOPCOAT, LabourStep.Step.VARNISH):
        return f"{label} says itself which pieces it is for. Leave it at every piece."
    if use.material is None:
        return f"Say what “{label}” uses, or leave its amount empty." if use.amount else ""
    if step not in LabourStep.MAY_USE:
        return f"“{label}” uses no material of its own. Leave it empty."
    if use.material.kind not in LabourStep.USABLE:
        return f"{use.material} is counted elsewhere. Choose a supply of another kind."
    if use.amount <= 0:
        return f"Say how much of {use.material} “{label}” uses."
    if use.material.unit == Material.Unit.EACH:
        if use.per != LabourStep.Per.PIECE:
            return f"{use.material} is counted in items. Say how many for each piece."
        if use.amount != use.amount.to_integral_value():
            return f"{use.material} is counted in whole items."
    return ""


def _columns(use: StepUse) -> dict[str, object]:
    amount = use.amount if use.material else ZERO
    return {
        "material": use.material,
        "amount": amount,
        "per": use.per if use.material else LabourStep.Per.PIECE,
        "pieces": use.pieces,
    }


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
