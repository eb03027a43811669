"""A recipe and its parts, typed on one page."""

from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from typing import Any

from django import forms
from django.db.models import Q
from django.http import QueryDict

from inventory.mixing.questions import RESIN
from inventory.mixing.recipes import MOST_PARTS, NOT_MIXED
from inventory.models import Material, Recipe, RecipePart
from studio.formfields import field_of
from studio.model_forms import StudioModelForm
from studio.models import Studio

SPARE_ROWS = 3


class RecipePartForm(forms.Form):
    """One row of a recipe: so many parts of a material or of another recipe."""

    parts = forms.DecimalField(
        min_value=Decimal("0.001"),
        max_digits=9,
        decimal_places=3,
        required=False,
        widget=forms.NumberInput(attrs={"inputmode": "decimal", "step": "any"}),
    )
    what = forms.ChoiceField(label="Of", required=False)

    def __init__(self, *args: Any, choices: list[Any], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field_of(self, "what", forms.ChoiceField).choices = choices

    def clean(self) -> dict[str, Any]:
        super().clean()
        data = self.cleaned_data
        if bool(data.get("parts")) != bool(data.get("what")) and not self.errors:
            raise forms.ValidationError(
                "Give both the parts and what they are of, or leave both empty."
            )
        return data


class _RecipePartFormSet(forms.BaseFormSet):
    def clean(self) -> None:
        if not any(self.errors) and not _filled(self):
            raise forms.ValidationError("A recipe needs at least one part.")


def _filled(rows: forms.BaseFormSet) -> list[tuple[str, Decimal]]:
    """Return the filled rows as (what, parts) pairs; ``what`` is “m12” or “r3”."""
    data = (form.cleaned_data for form in rows.forms)
    return [(row["what"], row["parts"]) for row in data if row.get("what")]


PartFormSet = forms.formset_factory(
    RecipePartForm,
    formset=_RecipePartFormSet,
    extra=SPARE_ROWS,
    max_num=MOST_PARTS,
    validate_max=True,
    absolute_max=MOST_PARTS + SPARE_ROWS,
)


class RecipeForm(StudioModelForm):
    """A recipe with its parts as ``parts``, valid only together.

    What was typed into a page that asks for more rows comes back as ``typed``, unchecked.
    """

    class Meta:
        model = Recipe
        fields = ["name", "role", "basis", "trace_seconds", "keeps_days", "notes"]
        labels = {
            "role": "Used as",
            "basis": "Measured in",
            "trace_seconds": "Trace",
            "keeps_days": "Keeps once mixed",
        }
        widgets = {"notes": forms.Textarea(attrs={"rows": 2})}

    def __init__(
        self,
        data: Any = None,
        *,
        studio: Studio,
        instance: Recipe | None = None,
        typed: QueryDict | None = None,
    ) -> None:
        initial = None if typed is None else {name: typed.get(name) for name in self.Meta.fields}
        super().__init__(data, studio=studio, instance=instance, initial=initial)
        self.fields["trace_seconds"].widget.unit = "seconds"
        self.fields["keeps_days"].widget.unit = "days"
        stored_parts = list(instance.parts.all()) if instance else []
        self.parts = PartFormSet(
            data,
            prefix="parts",
            initial=_typed_rows(typed) if typed is not None else _kept_rows(stored_parts),
            form_kwargs={"choices": _choices(studio, instance, stored_parts)},
        )

    def clean(self) -> dict[str, Any]:
        super().clean()
        for words in self._part_errors():
            self.add_error(None, words)
        return self.cleaned_data

    def _part_errors(self) -> list[str]:
        if self.parts.is_valid():
            return []
        by_row = [
            f"Row {number}: {words}"
            for number, form in enumerate(self.parts.forms, start=1)
            for of_field in form.errors.values()
            for words in of_field
        ]
        return by_row + [str(error) for error in self.parts.non_form_errors()]

    def ingredients(self) -> list[tuple[Material | Recipe, Decimal]]:
        """Return (material or recipe of the studio, parts) pairs."""
        rows = _filled(self.parts)
        things: dict[str, Mapping[int, Material | Recipe]] = {
            "m": self.studio.materials.in_bulk([int(w[1:]) for w, _ in rows if w[0] == "m"]),
            "r": self.studio.recipes.in_bulk([int(w[1:]) for w, _ in rows if w[0] == "r"]),
        }
        return [(things[what[0]][int(what[1:])], parts) for what, parts in rows]


def _kept_rows(parts: Iterable[RecipePart]) -> list[dict[str, str]]:
    return [
        {
            "parts": f"{part.parts.normalize():f}",
            "what": f"m{part.material_id}" if part.material_id else f"r{part.subrecipe_id}",
        }
        for part in parts
    ]


def _typed_rows(typed: QueryDict) -> list[dict[str, str | None]]:
    numbers = range(MOST_PARTS)  # however many the form says it has, which anybody may change
    rows = [{name: typed.get(f"parts-{n}-{name}") for name in ("parts", "what")} for n in numbers]
    return [row for row in rows if any(row.values())]


def _choices(
    studio: Studio, recipe: Recipe | None, stored_parts: Sequence[RecipePart]
) -> list[Any]:
    """Offer the studio's liquids and mixes, and what is in the recipe though archived since."""
    materials = studio.materials.exclude(
        Q(kind__in=NOT_MIXED) | Q(unit=Material.Unit.EACH) | Q(recipe__isnull=False)
    )
    materials = materials.filter(
        Q(archived_at=None)
        | Q(pk__in=[part.material_id for part in stored_parts if part.material_id])
    )
    materials = materials.exclude(kind__in=RESIN)
    mixes = studio.recipes.filter(
        Q(archived_at=None)
        | Q(pk__in=[part.subrecipe_id for part in stored_parts if part.subrecipe_id])
    )
    if recipe:
        mixes = mixes.exclude(pk=recipe.pk)
    return [
        ("", "—"),
        ("Materials", [(f"m{material.pk}", material.name) for material in materials]),
        ("Mixes", [(f"r{mix.pk}", mix.name) for mix in mixes]),
    ]
