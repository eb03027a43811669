"""Forms filled in at the bench: what a pour and a topcoat really took."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django import forms

from inventory.mixing.mixes import mixes_on_hand
from inventory.models import Bottle, Material
from pricing.bench.pictures import MOST
from pricing.bench.pour_materials import LayerLog
from pricing.costing.habits import usual_minutes
from pricing.estimating.advice import Advice, silicone_in_base
from pricing.estimating.forms.bases import base_choice
from pricing.estimating.forms.steps import StepFields
from pricing.estimating.mixes import recipes_of
from pricing.estimating.step_materials import all_steps
from pricing.models import (
    CommissionLine,
    Palette,
    Pour,
    PourLayer,
    ResinKit,
    SavedSurface,
    Technique,
)
from pricing.readiness.forms import add_reason, room_fields
from pricing.readiness.rooms import Room
from pricing.techniques import facts_of
from studio.formfields import CHOOSE_AGAIN, PastMomentField, PicturesField, volume_field
from studio.model_forms import narrow, own_choices
from studio.models import Studio
from studio.money import ZERO

ROOM = ("room_c", "humidity_percent")
AMOUNTS = {
    "mixed": "Mixed",
    "left": "Left in cups",
    "kept": "Run-off kept",
}


def minutes_field(label: str, **options: Any) -> forms.DecimalField:
    return forms.DecimalField(
        label=label,
        min_value=ZERO,
        max_value=Decimal(1440),
        decimal_places=2,
        widget=forms.NumberInput(attrs={"inputmode": "decimal", "step": "any"}),
        **options,
    )


def poured_at_field(label: str) -> PastMomentField:
    return PastMomentField(label=label, required=False, help_text="Now, if left empty.")


class MixesOffered:
    """The bottles of mix that may be poured, by layer; those of one palette, or of all."""

    def __init__(self, studio: Studio, palette: Palette | None = None) -> None:
        offered = studio.palettes.filter(archived_at=None).prefetch_related("colours")
        palettes = [palette] if palette else offered
        allowed: dict[str, set[int]] = {layer: set() for layer in PourLayer.Layer.values}
        for each in palettes:
            for layer, recipes in recipes_of(each).items():
                allowed[layer] |= recipes
        bottles = list(mixes_on_hand(studio))
        self.bottles = {
            (layer, f"{layer}_from_{bottle.pk}"): bottle
            for layer in allowed
            for bottle in bottles
            if bottle.material.recipe.pk in allowed[layer]
        }
        self.pots = list(
            studio.bottles.on_shelf()
            .filter(material__kind=Material.Kind.MIX, material__recipe=None)
            .in_issue_order()
            .select_related("material")
        )

    def fields(self, studio: Studio) -> dict[str, forms.Field]:
        """Return a field for how much of each bottle went into each layer."""
        return {
            key: volume_field(studio, label=f"From {bottle}", required=False, hint="")
            for (_, key), bottle in self.bottles.items()
        }

    def of(self, layer: str) -> list[tuple[str, Bottle]]:
        """Return (field name, bottle) pairs of a layer."""
        return [(key, bottle) for (one, key), bottle in self.bottles.items() if one == layer]

    def for_base(self) -> list[Bottle]:
        """Return what a base coat may be poured from: bottles of mix, and pots of run-off."""
        return [bottle for _, bottle in self.of("base")] + self.pots

    def chosen(self, layer: str, data: Mapping[str, Any]) -> tuple[tuple[Bottle, Decimal], ...]:
        """Return (bottle, mL) of what was taken for a layer."""
        return tuple((bottle, data[key]) for key, bottle in self.of(layer) if data.get(key))


class PourForm(forms.Form):
    """One pour: for a commission's line, or for stock."""

    def __init__(
        self, *args: Any, studio: Studio, line: CommissionLine | None = None, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        if line is None:
            for name, model in (
                ("surface", SavedSurface),
                ("technique", Technique),
                ("palette", Palette),
            ):
                self.fields[name] = forms.ModelChoiceField(own_choices(model.objects.all(), studio))
            narrow(self, "technique", is_offered=True)
        if line is None or facts_of(line.technique.slug).bases:
            self.fields["base"] = base_choice(
                "Not told", "Of ring pours and flip cups: the base under them."
            )
        self.fields["count"] = forms.IntegerField(
            label="Pieces poured", min_value=1, max_value=200, initial=1
        )
        self.fields["poured_at"] = poured_at_field("Poured")
        for layer, name in PourLayer.Layer.choices:
            for amount, words in AMOUNTS.items():
                self.fields[f"{layer}_{amount}"] = volume_field(
                    studio, label=f"{name}, {words.lower()}", required=False, hint=""
                )
        self.mixes = MixesOffered(studio, line.palette if line else None)
        self.fields.update(self.mixes.fields(studio))
        self.fields["base_reclaimed"] = volume_field(
            studio,
            label="Base coat taken from reclaimed paint",
            required=False,
            hint="How much of the mix was run-off kept earlier.",
        )
        steps = all_steps().filter(technique__studio=studio, technique__is_offered=True)
        if line is not None:
            steps = all_steps().filter(technique=line.technique_id)
        coated = None if line is None else line.topcoat_id is not None
        self.steps = StepFields(studio, steps, "pour", coated=coated)
        self.fields.update(self.steps.fields)
        self.fields["minutes"] = minutes_field(
            "Hands-on minutes",
            required=False,
            help_text="Leave empty for what such a pour usually takes you.",
        )
        self.fields.update(room_fields(studio))
        self.fields["notes"] = forms.CharField(
            required=False, widget=forms.Textarea(attrs={"rows": 2})
        )
        self.fields["pictures"] = PicturesField(
            most=MOST, label="Photographs", required=False, help_text="Of the wet pour."
        )
        if self.files:
            self.fields["pictures"].help_text = CHOOSE_AGAIN

    def say_usual(self, technique: Technique, count: int, *, coated: bool) -> None:
        """Say beside the minutes what so many pieces usually take, where nobody gives them."""
        usual = usual_minutes(technique, "pour", count, coated=coated)
        pieces = "1 piece" if count == 1 else f"{count} pieces"
        self.fields["minutes"].help_text = f"Leave empty for the usual: {usual} for {pieces}."

    def layers(self) -> dict[str, LayerLog]:
        """Return {layer: LayerLog} of the layers that were filled in."""
        data = self.cleaned_data
        return {
            layer: LayerLog(
                mixed_ml=data[f"{layer}_mixed"],
                left_ml=data[f"{layer}_left"] or ZERO,
                kept_ml=data[f"{layer}_kept"] or ZERO,
                reclaimed_ml=(data["base_reclaimed"] or ZERO) if layer == "base" else ZERO,
                mixes=self.mixes.chosen(layer, data),
            )
            for layer in PourLayer.Layer.values
            if data[f"{layer}_mixed"]
        }

    @property
    def used(self) -> dict[Material, Decimal]:
        """What the steps before the pour used, where somebody says so."""
        return self.steps.used(self.cleaned_data)

    def step_fields(self) -> list[forms.BoundField]:
        """Return the fields of what the steps before the pour used."""
        return [self[name] for name in self.steps.fields]

    def layer_fields(
        self,
    ) -> list[
        tuple[str, list[tuple[str, forms.BoundField]], list[tuple[Bottle, forms.BoundField]]]
    ]:
        """Return (layer name, (short label, field) pairs, (bottle, field) pairs) for the page."""
        return [
            (
                name,
                [(words, self[f"{layer}_{amount}"]) for amount, words in AMOUNTS.items()],
                [(bottle, self[key]) for key, bottle in self.mixes.of(layer)],
            )
            for layer, name in PourLayer.Layer.choices
        ]

    def base_with_silicone(self) -> Advice | None:
        """Return the advice on mixes and pots for the base coat that contain silicone, or None."""
        sources = [str(one) for one in self.mixes.for_base() if one.holds_silicone]
        return silicone_in_base(sources) if sources else None

    def clean(self) -> dict[str, Any]:
        super().clean()
        data = self.cleaned_data
        for layer, name in PourLayer.Layer.choices:
            others = [data.get(f"{layer}_left"), data.get(f"{layer}_kept")]
            others += [data.get(key) for key, _ in self.mixes.of(layer)]
            if any(others) and not data.get(f"{layer}_mixed"):
                self.add_error(f"{layer}_mixed", f"Say how much {name.lower()} was mixed.")
        return data


class TopcoatForm(forms.Form):
    """Resin over the good pieces of a pour."""

    def __init__(
        self, *args: Any, studio: Studio, pour: Pour, kit: ResinKit | None = None, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.fields["kit"] = forms.ModelChoiceField(
            own_choices(ResinKit.objects.all(), studio), label="Resin kit", initial=kit
        )
        self.fields["mixed_ml"] = volume_field(studio, label="Resin mixed, both parts together")
        self.fields["minutes"] = minutes_field("Hands-on minutes")
        self.fields["coated_at"] = poured_at_field("Coated")
        steps = all_steps().filter(technique=pour.technique_id)
        self.steps = StepFields(studio, steps, "coat", coated=True)
        self.fields.update(self.steps.fields)
        self.fields.update(room_fields(studio))
        add_reason(self)

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        used = self.steps.used(data)
        return {name: data[name] for name in data if name not in self.steps.fields} | {"used": used}

    def room(self) -> Room:
        """Return the room as it was typed, or as it is offered."""
        if not self.is_bound:
            return Room(*(self.fields[name].initial for name in ROOM))
        self.is_valid()
        return Room(*(self.cleaned_data.get(name) for name in ROOM))

    def chosen_kit(self) -> ResinKit | None:
        """Return the kit that was chosen, if one was."""
        return self.cleaned_data.get("kit") if self.is_bound and self.is_valid() else None


class SetAsideForm(forms.Form):
    why = forms.CharField(
        label="Why the estimates should not learn from it",
        max_length=200,
        required=False,
        help_text="Such as “spilled a cup”. Empty takes it back.",
    )
