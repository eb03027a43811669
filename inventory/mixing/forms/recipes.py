"""A recipe and its parts, typed on one page."""

from decimal import Decimal

from django import forms
from django.db.models import Q

from inventory.mixing.recipes import MOST_PARTS, NOT_MIXED
from inventory.models import Material, Recipe
from studio.model_forms import StudioModelForm

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

    def __init__(self, *args, choices, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["what"].choices = choices

    def clean(self):
        data = super().clean()
        if bool(data.get("parts")) != bool(data.get("what")) and not self.errors:
            raise forms.ValidationError(
                "Give both the parts and what they are of, or leave both empty."
            )
        return data


class _RecipePartFormSet(forms.BaseFormSet):
    def clean(self):
        if not any(self.errors) and not self.rows():
            raise forms.ValidationError("A recipe needs at least one part.")

    def rows(self):
        """Return the filled rows as (what, parts) pairs; ``what`` is “m12” or “r3”."""
        filled = (form.cleaned_data for form in self.forms)
        return [(row["what"], row["parts"]) for row in filled if row.get("what")]


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

    def __init__(self, data=None, *, studio, instance=None, typed=None):
        initial = None if typed is None else {name: typed.get(name) for name in self.Meta.fields}
        super().__init__(data, studio=studio, instance=instance, initial=initial)
        self.fields["trace_seconds"].widget.unit = "seconds"
        self.fields["keeps_days"].widget.unit = "days"
        kept = list(instance.parts.all()) if instance else []
        self.parts = PartFormSet(
            data,
            prefix="parts",
            initial=_typed_rows(typed) if typed is not None else _kept_rows(kept),
            form_kwargs={"choices": _choices(studio, instance, kept)},
        )

    def clean(self):
        data = super().clean()
        for words in self._part_errors():
            self.add_error(None, words)
        return data

    def _part_errors(self):
        if self.parts.is_valid():
            return []
        by_row = [
            f"Row {number}: {words}"
            for number, errors in enumerate(self.parts.errors, start=1)
            for of_field in errors.values()
            for words in of_field
        ]
        return by_row + list(self.parts.non_form_errors())

    def ingredients(self):
        """Return (material or recipe of the studio, parts) pairs."""
        rows = self.parts.rows()
        things = {
            "m": self.studio.materials.in_bulk([int(w[1:]) for w, _ in rows if w[0] == "m"]),
            "r": self.studio.recipes.in_bulk([int(w[1:]) for w, _ in rows if w[0] == "r"]),
        }
        return [(things[what[0]][int(what[1:])], parts) for what, parts in rows]


def _kept_rows(parts):
    return [
        {
            "parts": f"{part.parts.normalize():f}",
            "what": f"m{part.material_id}" if part.material_id else f"r{part.subrecipe_id}",
        }
        for part in parts
    ]


def _typed_rows(typed):
    numbers = range(MOST_PARTS)  # however many the form says it has, which anybody may change
    rows = [{name: typed.get(f"parts-{n}-{name}") for name in ("parts", "what")} for n in numbers]
    return [row for row in rows if any(row.values())]


def _choices(studio, recipe, kept):
    """Offer the studio's liquids and mixes, and what is in the recipe though put away since."""
    materials = studio.materials.exclude(
        Q(kind__in=NOT_MIXED) | Q(unit=Material.Unit.EACH) | Q(recipe__isnull=False)
    )
    materials = materials.filter(
        Q(archived_at=None) | Q(pk__in=[part.material_id for part in kept if part.material_id])
    )
    mixes = studio.recipes.filter(
        Q(archived_at=None) | Q(pk__in=[part.subrecipe_id for part in kept if part.subrecipe_id])
    )
    mixes = mixes.exclude(pk=recipe.pk if recipe else None)
    return [
        ("", "—"),
        ("Materials", [(f"m{one.pk}", one.name) for one in materials]),
        ("Mixes", [(f"r{one.pk}", one.name) for one in mixes]),
    ]
