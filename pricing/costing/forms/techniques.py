"""The form of a technique: how often it succeeds, and its steps one by one."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django import forms
from django.db.models import Q

from inventory.models import Material
from pricing.costing.catalogue import StepUse, save_technique, use_problem
from pricing.models import LabourStep, Technique
from studio.formfields import PercentField
from studio.model_forms import StudioModelForm
from studio.money import ZERO
from studio.units import UnitsError, parse_amount
from studio.units.numerals import trimmed

Step = LabourStep.Step
# They say themselves which pieces they are for.
FOR_ALL = (Step.TOPCOAT, Step.VARNISH)


@dataclass(frozen=True)
class StepRow:
    """The fields of one step as the page shows them; None where a step has no such field."""

    label: str
    once: forms.BoundField
    each: forms.BoundField
    called: forms.BoundField | None
    material: forms.BoundField | None
    amount: forms.BoundField | None
    per: forms.BoundField | None
    pieces: forms.BoundField | None

    @property
    def is_open(self) -> bool:
        """Whether more than minutes is told of it, or wrong."""
        fields = (self.material, self.amount, self.per, self.pieces)
        told = (self.material, self.amount, self.pieces)
        return any(one.errors for one in fields if one) or any(one.value() for one in told if one)


class TechniqueForm(StudioModelForm):
    """How often a technique succeeds, the minutes of its steps, and what they use."""

    success_rate = PercentField(label="Pours that come out well (%)", min_value=1)
    coat_success_rate = PercentField(label="Topcoats that come out well (%)", min_value=1)

    class Meta:
        model = Technique
        fields = ["success_rate", "coat_success_rate", "learns", "is_offered"]
        labels = {
            "learns": "Let what is logged correct these figures",
            "is_offered": "Offer it in plans and commissions",
        }
        help_texts = {"learns": ""}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.there = {step.step: step for step in self.instance.steps.all()}
        used = [step.material_id for step in self.there.values()]
        materials = Material.objects.filter(studio=self.studio, kind__in=LabourStep.USABLE)
        offered = materials.filter(Q(archived_at=None) | Q(pk__in=used))
        self.materials = {str(one.pk): one for one in offered.order_by("name")}
        for step, label in Step.choices:
            self._add_minutes(step, label)
            if step not in FOR_ALL:
                self._add_choice(f"{step}_pieces", "Done with", LabourStep.Pieces.choices)
                self.initial[f"{step}_pieces"] = getattr(self.there.get(step), "pieces", "")
            if step in LabourStep.MAY_USE:
                self._add_material(step)
        for step in LabourStep.OWN_STEPS:
            self.fields[f"{step}_called"] = forms.CharField(
                label="Called", max_length=60, required=False
            )
            self.initial[f"{step}_called"] = getattr(self.there.get(step), "name", "")

    def _add_minutes(self, step: str, label: str) -> None:
        for name, words in (("fixed_minutes", "once, minutes"), ("minutes_each", "each, minutes")):
            self.fields[f"{step}_{name}"] = forms.DecimalField(
                label=f"{label}: {words}",
                min_value=0,
                max_value=600,
                decimal_places=2,
                required=False,
            )
            minutes = getattr(self.there.get(step), name, ZERO)
            self.initial[f"{step}_{name}"] = f"{minutes.normalize():f}"

    def _add_choice(self, name: str, label: str, choices: list[tuple[str, str]]) -> None:
        self.fields[name] = forms.ChoiceField(label=label, choices=choices, required=False)

    def _add_material(self, step: str) -> None:
        names = [(key, str(one)) for key, one in self.materials.items()]
        self._add_choice(f"{step}_material", "Uses", [("", "Nothing"), *names])
        self._add_choice(f"{step}_per", "For", LabourStep.Per.choices)
        self.fields[f"{step}_amount"] = forms.CharField(
            label="How much", max_length=60, required=False, help_text="Such as 4, 20 mL or 5 g."
        )
        row = self.there.get(step)
        self.initial[f"{step}_per"] = row.per if row else LabourStep.Per.PIECE
        if row and row.material:
            unit = "" if row.material.unit == "each" else f" {row.material.get_unit_display()}"
            self.initial[f"{step}_material"] = str(row.material_id)
            self.initial[f"{step}_amount"] = f"{trimmed(row.amount)}{unit}"

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        self.uses = {step: self._use(step, data) for step in Step.values}
        for step, use in self.uses.items():
            field = f"{step}_amount" if step in LabourStep.MAY_USE else f"{step}_pieces"
            problem = use_problem(step, use)
            if problem and field in self.fields and field not in self.errors:
                self.add_error(field, problem)
        return data

    def _use(self, step: str, data: Mapping[str, Any]) -> StepUse:
        material = self.materials.get(data.get(f"{step}_material", ""))
        amount, text = ZERO, data.get(f"{step}_amount", "")
        if text:
            try:
                amount = parse_amount(
                    text,
                    unit=material.unit if material else "each",
                    measures=self.studio.measures,
                    density=material.density_g_per_ml if material else None,
                )
            except UnitsError as error:
                if material:
                    self.add_error(f"{step}_amount", str(error))
                amount = Decimal(1)
        return StepUse(
            material=material,
            amount=amount,
            per=data.get(f"{step}_per") or LabourStep.Per.PIECE,
            pieces=data.get(f"{step}_pieces", ""),
        )

    def step_fields(self) -> Iterator[StepRow]:
        """Yield the fields of each step for the page."""
        for step, label in Step.choices:
            named = [
                self[name] if name in self.fields else None
                for name in (
                    f"{step}_{what}" for what in ("called", "material", "amount", "per", "pieces")
                )
            ]
            yield StepRow(
                label, self[f"{step}_fixed_minutes"], self[f"{step}_minutes_each"], *named
            )

    def save(self, commit: bool = True) -> Technique:
        minutes = {
            step: (
                self.cleaned_data[f"{step}_fixed_minutes"] or ZERO,
                self.cleaned_data[f"{step}_minutes_each"] or ZERO,
            )
            for step in Step.values
        }
        # A step that the studio does not do is not written down.
        steps = {
            step: pair
            for step, pair in minutes.items()
            if any(pair) or self.uses[step].material or step in self.there
        }
        return save_technique(
            technique=self.instance,
            success_rate=self.cleaned_data["success_rate"],
            coat_success_rate=self.cleaned_data["coat_success_rate"],
            is_offered=self.cleaned_data["is_offered"],
            learns=self.cleaned_data["learns"],
            steps=steps,
            names={
                step: self.cleaned_data[f"{step}_called"]
                for step in LabourStep.OWN_STEPS
                if step in steps
            },
            uses={step: self.uses[step] for step in steps},
        )
