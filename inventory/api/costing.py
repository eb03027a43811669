"""How stock is costed, and since when."""

from django.shortcuts import get_object_or_404
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.response import Response

from inventory.models import CostingChange
from inventory.stock.costing_changes import change_costing, withdraw_costing_change
from studio.api.fields import DayField
from studio.api.rows import asked
from studio.api.schema import pages_of
from studio.api.views import StudioView
from studio.models import Studio


class CostingChangeOut(serializers.ModelSerializer):
    """A change from a day on; ``entry`` brought the bottles level, where any had to be."""

    class Meta:
        model = CostingChange
        fields = [
            "id",
            "before",
            "method",
            "from_day",
            "recorded_at",
            "took_effect_at",
            "withdrawn_at",
            "entry",
        ]
        read_only_fields = fields


class CostingChangeIn(serializers.Serializer):
    """Another method, from today or a later day on."""

    method = serializers.ChoiceField(Studio.Costing.choices)
    from_day = DayField()


class CostingChangesEndpoint(StudioView):
    """Changes of the costing method."""

    read_role = write_role = "owner"

    @extend_schema(operation_id="costing_changes_list", responses=pages_of(CostingChangeOut))
    def get(self, request):
        """List the changes of the costing method, latest day first."""
        return self.paginated(request.studio.costing_changes.all(), CostingChangeOut)

    @extend_schema(
        operation_id="costing_changes_make",
        request=CostingChangeIn,
        responses={201: CostingChangeOut},
    )
    def post(self, request):
        """Cost stock by another method from a day on; what was posted before stays as it was."""
        wanted = asked(request, CostingChangeIn).validated_data
        change = change_costing(studio=request.studio, by=request.user, **wanted)
        return Response(CostingChangeOut(change).data, status=201)


class CostingChangeWithdrawEndpoint(StudioView):
    """Taking back a change."""

    read_role = write_role = "owner"

    @extend_schema(
        operation_id="costing_changes_withdraw", request=None, responses=CostingChangeOut
    )
    def post(self, request, pk):
        """Take back a change of the costing method before its day."""
        change = get_object_or_404(request.studio.costing_changes, pk=pk)
        return Response(CostingChangeOut(withdraw_costing_change(change=change)).data)
