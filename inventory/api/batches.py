"""Batches: what was mixed at the bench, and the trace it really had."""

from django.shortcuts import get_object_or_404
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.response import Response

from inventory.batches import log_batch, take_out_batch
from inventory.models import Batch, Recipe
from studio.api.fields import VolumeField
from studio.api.rows import OwnId, asked
from studio.api.schema import pages_of
from studio.api.views import StudioView


class BatchOut(serializers.ModelSerializer):
    """A batch moves no stock: what a piece took is posted when its pour is logged."""

    recipe = serializers.CharField(source="recipe.name")

    class Meta:
        model = Batch
        fields = [
            "id",
            "recipe",
            "volume_ml",
            "trace_seconds",
            "temperature_c",
            "purpose",
            "notes",
            "made_at",
        ]
        read_only_fields = fields


class BatchIn(serializers.Serializer):
    """So much of a recipe as it came out."""

    recipe = OwnId(queryset=Recipe.objects)
    volume_ml = VolumeField()
    trace_seconds = serializers.DecimalField(5, 1, required=False, allow_null=True)
    temperature_c = serializers.DecimalField(4, 1, required=False, allow_null=True)
    purpose = serializers.CharField(max_length=120, required=False, allow_blank=True)
    notes = serializers.CharField(max_length=2000, required=False, allow_blank=True)
    made_at = serializers.DateTimeField(required=False, allow_null=True)


class BatchesEndpoint(StudioView):
    """Batches mixed."""

    @extend_schema(operation_id="batches_list", responses=pages_of(BatchOut))
    def get(self, request):
        """List the batches, newest first."""
        return self.paginated(request.studio.batches.select_related("recipe"), BatchOut)

    @extend_schema(operation_id="batches_log", request=BatchIn, responses={201: BatchOut})
    def post(self, request):
        """Log a batch with the trace it really had."""
        wanted = asked(request, BatchIn).validated_data
        batch = log_batch(studio=request.studio, by=request.user, **wanted)
        return Response(BatchOut(batch).data, status=201)


class BatchEndpoint(StudioView):
    """One batch."""

    @extend_schema(operation_id="batches_take_out", responses={204: None})
    def delete(self, request, pk):
        """Take out a batch that was logged by mistake."""
        take_out_batch(batch=get_object_or_404(request.studio.batches, pk=pk))
        return Response(status=204)
