"""How a material is used, what may be used of it, and how its reorder point came about."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from inventory.buying.demand import level_of
from inventory.buying.reasons import days_ahead, reorder_reasons, target
from inventory.buying.reordering.patterns import CLASSES
from inventory.models import Material, with_promises
from inventory.supplies.api.materials import MaterialName, number
from studio.api.acts import answer
from studio.api.viewsets import StudioViewSet


class PossibleUseOut(serializers.Serializer):
    """What one open quote takes if it is accepted, and the chance that it is."""

    label = serializers.CharField()  # type: ignore[assignment]  # what is written out, not the serializer's own
    quantity = serializers.DecimalField(14, 4)
    chance = serializers.FloatField()
    needed_by = serializers.DateField(allow_null=True)
    because = serializers.CharField()


class DemandOut(serializers.Serializer):
    """Use on record, open quotes and the reorder point; amounts in the material's unit.

    ``sd_per_day`` is the standard deviation of a day's use; ``days_between_uses`` is null without
    use. ``quoted`` and ``quoted_sd`` are mean and deviation of what open quotes take until the
    review after the next delivery, ``expected_use`` and its deviation what goes in all in those
    ``expected_days``, usual use and what is held included; ``quoted_in_reorder_point`` is what is
    due before that delivery.
    """

    material = MaterialName()
    days_on_record = serializers.IntegerField(source="demand.days")
    days_with_use = serializers.IntegerField(source="pattern.uses")
    mean_per_day = number(source="pattern.mean_per_day")
    sd_per_day = number(source="pattern.sd_per_day")
    mean_use = number(source="pattern.mean_use")
    days_between_uses = serializers.SerializerMethodField()
    variation = serializers.FloatField(source="pattern.variation")
    demand_class = serializers.ChoiceField(choices=CLASSES, source="pattern.kind")
    held = serializers.DecimalField(14, 4, source="material.held")
    quoted = number(source="level.quoted.mean")
    quoted_sd = number(source="level.quoted.sd")
    open_quotes = PossibleUseOut(many=True, source="level.possible")
    expected_days = serializers.FloatField()
    expected_use = number(source="outlook.mean")
    expected_use_sd = number(source="outlook.sd")
    basis = serializers.ChoiceField(
        choices=["normal", "intermittent", "no_history", "by_hand"], source="level.point.basis"
    )
    reorder_point = serializers.DecimalField(14, 4, source="level.reorder_at")
    lead_days = serializers.FloatField(source="level.point.lead_days")
    lead_time_demand = number(source="level.point.lead_time_demand")
    safety_stock = number(source="level.point.safety_stock")
    quoted_in_reorder_point = number(source="level.point.quoted")
    service_level = serializers.FloatField(source="level.point.service_level", allow_null=True)
    order_up_to = serializers.DecimalField(14, 4)
    reasons = serializers.ListField(child=serializers.CharField())

    def get_days_between_uses(self, row: dict[str, Any]) -> float | None:
        pattern = row["pattern"]
        return pattern.days_between if pattern.uses else None


class DemandViewSet(StudioViewSet):
    """How a material is used, and when it is due to be bought."""

    model, out = Material, DemandOut

    def rows(self) -> QuerySet[Material]:
        return with_promises(self.studio.materials.all()).filter(is_stocked=True)

    @answer(DemandOut)
    def demand(self, material: Material) -> dict[str, Any]:
        """Mean, spread and rhythm of use, open quotes, and how the reorder point came about."""
        level = level_of(self.studio, material)
        assert level is not None  # as of all that is counted
        days = days_ahead(level, self.studio)
        return {
            "material": material,
            "level": level,
            "demand": level.demand,
            "pattern": level.demand.pattern,
            "expected_days": days,
            "outlook": level.outlook(days),
            "order_up_to": target(level, self.studio.review_days).target,
            "reasons": reorder_reasons(level, self.studio),
        }
