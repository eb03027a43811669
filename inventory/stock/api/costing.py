"""How stock is costed, and since when."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from inventory.models import CostingChange
from inventory.stock.costing_changes import change_costing, withdraw_costing_change
from studio.api.acts import act
from studio.api.fields import DayField
from studio.api.rows import RowOut
from studio.api.viewsets import Added, Listed
from studio.models import Studio


class CostingChangeOut(RowOut):
    """A change from a day on; ``entry`` brought the bottles level, where any had to be."""

    class Meta:
        model = CostingChange
        fields = read_only_fields = (
            *("id", "before", "method", "from_day", "recorded_at", "took_effect_at"),
            *("withdrawn_at", "entry"),
        )


class CostingChangeIn(serializers.Serializer):
    """Another method, from today or a later day on."""

    method = serializers.ChoiceField(Studio.Costing.choices)
    from_day = DayField()


class CostingChanges(Listed, Added):
    """The changes of the costing method, latest day first."""

    model, out, takes = CostingChange, CostingChangeOut, CostingChangeIn
    read_role = write_role = "owner"

    def rows(self) -> QuerySet[CostingChange]:
        return self.studio.costing_changes.all()

    def add(self, **sent: Any) -> CostingChange:
        """Cost stock by another method from a day on; what was posted before stays as it was."""
        return change_costing(studio=self.studio, by=self.request.user, **sent)

    @act()
    def withdraw(self, change: CostingChange) -> CostingChange:
        """Take back a change of the costing method before its day."""
        return withdraw_costing_change(change=change)
