"""Batches: what was mixed at the bench, from which bottles, and the trace it really had."""

from django.shortcuts import get_object_or_404
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.response import Response

from inventory.models import Batch, Bottle, Recipe
from inventory.stock.api.entries import MovementOut
from pricing.bench.batches import mix_batch, undo_batch
from pricing.models import Commission
from studio.api.fields import MomentField, VolumeField
from studio.api.rows import OwnCode, OwnId, OwnNumber, asked
from studio.api.schema import pages_of
from studio.api.serializers import WhyIn
from studio.api.views import StudioView


class BatchOut(serializers.ModelSerializer):
    """A mix as it was mixed. ``bottle`` is the bottle of mix it made, by its code.

    Batches written down before mixing moved stock have no entry and no bottle.
    """

    recipe = serializers.CharField(source="recipe.name")
    bottle = serializers.CharField(source="bottle.code", allow_null=True, default=None)
    undone_by = serializers.IntegerField(
        source="entry.reversed_by.pk", allow_null=True, default=None
    )

    class Meta:
        model = Batch
        fields = [
            "id",
            "recipe",
            "volume_ml",
            "trace_seconds",
            "temperature_c",
            "has_silicone",
            "bottle",
            "entry",
            "undone_by",
            "purpose",
            "notes",
            "made_at",
        ]
        read_only_fields = fields


class BatchDetailOut(BatchOut):
    """A batch with what it took out of which bottle, and the bottle it filled."""

    movements = MovementOut(source="entry.movements", many=True, default=())

    class Meta(BatchOut.Meta):
        fields = [*BatchOut.Meta.fields, "movements"]
        read_only_fields = fields


class BatchIn(serializers.Serializer):
    """So much of a recipe, as it was mixed.

    ``bottles`` are used first: of its ingredients, or of mixes that go into it. With a
    ``commission`` the mix is held for it, in place of the ingredients.
    """

    recipe = OwnId(queryset=Recipe.objects)
    volume_ml = VolumeField()
    bottles = serializers.ListField(
        child=OwnCode(queryset=Bottle.objects), required=False, max_length=100
    )
    commission = OwnNumber(queryset=Commission.objects, required=False, allow_null=True)
    trace_seconds = serializers.DecimalField(5, 1, required=False, allow_null=True)
    temperature_c = serializers.DecimalField(4, 1, required=False, allow_null=True)
    place = serializers.CharField(max_length=60, required=False, allow_blank=True)
    purpose = serializers.CharField(max_length=120, required=False, allow_blank=True)
    notes = serializers.CharField(max_length=2000, required=False, allow_blank=True)
    made_at = MomentField(required=False, allow_null=True)


def batches_of(studio):
    """Return the batches of a studio, ready to be written out."""
    return studio.batches.select_related("recipe", "bottle", "entry__reversed_by")


class BatchView(StudioView):
    """An endpoint of one batch."""

    def found(self, request, pk):
        """Return the batch, or a 404."""
        rows = batches_of(request.studio).prefetch_related(
            "entry__movements__material", "entry__movements__bottle"
        )
        return get_object_or_404(rows, pk=pk)


class BatchesEndpoint(BatchView):
    """Batches mixed."""

    @extend_schema(operation_id="batches_list", responses=pages_of(BatchOut))
    def get(self, request):
        """List the batches, newest first."""
        return self.paginated(batches_of(request.studio), BatchOut)

    @extend_schema(operation_id="batches_mix", request=BatchIn, responses={201: BatchDetailOut})
    def post(self, request):
        """Mix a batch: ingredients leave their bottles and a bottle of mix is made."""
        wanted = asked(request, BatchIn).validated_data
        made = mix_batch(studio=request.studio, by=request.user, **wanted)
        return Response(BatchDetailOut(self.found(request, made.pk)).data, status=201)


class BatchEndpoint(BatchView):
    """One batch."""

    @extend_schema(operation_id="batches_read", responses=BatchDetailOut)
    def get(self, request, pk):
        """Read one batch with what it took and made."""
        return Response(BatchDetailOut(self.found(request, pk)).data)


class UndoBatchEndpoint(BatchView):
    """Undoing."""

    @extend_schema(operation_id="batches_undo", request=WhyIn, responses={204: None})
    def post(self, request, pk):
        """Undo a batch none of which was used: its ingredients are back in their bottles."""
        found = self.found(request, pk)
        undo_batch(batch=found, by=request.user, **asked(request, WhyIn).validated_data)
        return Response(status=204)
