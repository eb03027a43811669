"""Techniques: how often each comes out well and how long its steps take, set and learned."""

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.serializers import BaseSerializer

from inventory.models import Material
from pricing.costing.catalogue import StepUse, save_technique
from pricing.costing.habits import Habit, habits_of
from pricing.estimating.step_materials import with_steps
from pricing.models import LabourStep, Technique
from studio.api.rows import OwnId, RowOut, WholeIn
from studio.api.viewsets import Changed, Listed, Read, StudioViewSet
from studio.money import ZERO

# What may be told of what a step uses, and what holds where nothing is.
USE: dict[str, Any] = {
    name: getattr(StepUse(), name) for name in ("material", "amount", "per", "pieces")
}


def _minutes() -> serializers.DecimalField:
    return serializers.DecimalField(8, 2, min_value=Decimal(0))


def _share() -> serializers.DecimalField:
    return serializers.DecimalField(6, 4, min_value=Decimal("0.01"), max_value=Decimal(1))


class StepMinutes(WholeIn):
    """Hands-on minutes of one step: once a session, and again for each piece."""

    step = serializers.ChoiceField(choices=LabourStep.Step.choices)
    fixed_minutes, minutes_each = _minutes(), _minutes()
    name = serializers.CharField(
        max_length=60,
        required=False,
        allow_blank=True,
        help_text="What a step of the studio's own is called; others have none.",
    )


class StepOut(StepMinutes):
    """A step with what it uses, and the pieces that it is done with."""

    pieces = serializers.ChoiceField(
        choices=LabourStep.Pieces.choices,
        required=False,
        allow_blank=True,
        help_text="Empty where it is done with every piece.",
    )
    material = OwnId(
        queryset=Material.objects,
        required=False,
        allow_null=True,
        help_text="What it uses; null for nothing.",
    )
    amount = serializers.DecimalField(
        13, 4, min_value=Decimal(0), required=False, help_text="How much, in the material's unit."
    )
    per = serializers.ChoiceField(
        choices=LabourStep.Per.choices, required=False, help_text="What that amount is for."
    )


class TechniqueOut(RowOut):
    """A technique by its slug, with its minutes step by step."""

    name = serializers.CharField()
    steps = StepOut(many=True)

    class Meta:
        model = Technique
        fields = read_only_fields = (
            *("slug", "name", "success_rate", "coat_success_rate", "learns", "is_offered"),
            "steps",
        )


class TechniqueIn(serializers.ModelSerializer):
    """Steps that are not named keep their minutes, and what of one is not said keeps as it is."""

    success_rate, coat_success_rate = _share(), _share()
    steps: serializers.ListSerializer = serializers.ListSerializer(
        child=StepOut(), max_length=len(LabourStep.Step)
    )

    class Meta:
        model = Technique
        fields = ("success_rate", "coat_success_rate", "is_offered", "learns", "steps")


class Techniques(Listed, Read, Changed):
    """The techniques, which come with the studio."""

    model, out, takes = Technique, TechniqueOut, TechniqueIn
    write_role = "owner"
    lookup_field = lookup_value_converter = "slug"
    changed_by = ("changed_at", "steps__changed_at")

    def rows(self) -> QuerySet[Technique]:
        return self.studio.techniques.prefetch_related(with_steps("steps"))

    def change(self, row: Technique, sent: BaseSerializer) -> Technique:
        names = ("success_rate", "coat_success_rate", "is_offered", "learns")
        values = {name: getattr(row, name) for name in names}
        changes = values | sent.validated_data
        sent_steps = changes.pop("steps", ())
        steps = {step["step"]: (step["fixed_minutes"], step["minutes_each"]) for step in sent_steps}
        called = {step["step"]: step["name"] for step in sent_steps if "name" in step}
        there = {step.step: step for step in row.steps.all()}
        uses = {
            step["step"]: _use(there.get(step["step"]), step)
            for step in sent_steps
            if USE.keys() & step.keys()
        }
        return save_technique(technique=row, steps=steps, names=called, uses=uses, **changes)


def _use(row: LabourStep | None, sent: Mapping[str, Any]) -> StepUse:
    """Return what a step is to use: as was sent, the rest of it as it is."""
    now = {name: getattr(row, name) for name in USE} if row else USE
    use = StepUse(**{name: sent.get(name, now[name]) for name in USE})
    return use if use.material else replace(use, amount=sent.get("amount", ZERO))


class HabitOut(serializers.Serializer):
    """A technique's figures as they are in use, and from how many pieces they were learned."""

    technique = serializers.CharField()
    name = serializers.CharField()
    pour_success = serializers.DecimalField(6, 4)
    coat_success = serializers.DecimalField(6, 4)
    pieces = serializers.IntegerField()
    good = serializers.IntegerField()
    coated = serializers.IntegerField()
    coated_well = serializers.IntegerField()
    guess_in_words = serializers.CharField(
        help_text="What of it is the program's guess, without a source; empty where nothing is."
    )
    steps = StepMinutes(many=True)


class Habits(StudioViewSet):
    """The techniques as this studio works them: what prices are made with."""

    model, out = Technique, HabitOut

    def list(self, request: Request) -> Response:
        habits = habits_of(self.studio)
        return self.page_response(
            [_row(one, habits[one.pk]) for one in self.studio.techniques.all()]
        )


def _row(technique: Technique, habit: Habit) -> dict[str, object]:
    steps = [
        {"step": step, "fixed_minutes": once, "minutes_each": each}
        for step, (once, each) in habit.steps.items()
    ]
    return {
        **vars(habit),
        "guess_in_words": habit.guess_in_words(),
        "technique": technique.slug,
        "name": technique.name,
        "steps": steps,
    }
