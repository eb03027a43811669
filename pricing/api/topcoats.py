"""Topcoats: the resin poured over a pour's good pieces."""

from decimal import Decimal

from django.shortcuts import get_object_or_404
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.response import Response

from pricing.bench.topcoats import log_topcoat, undo_topcoat
from pricing.costing.api.costs import minutes_in
from pricing.costing.api.names import ResinKitName
from pricing.models import ResinKit, Topcoating
from studio.api.fields import MomentField, VolumeField
from studio.api.rows import OwnId, asked
from studio.api.serializers import WhyIn
from studio.api.views import StudioView


class TopcoatingOut(serializers.ModelSerializer):
    """Resin over the good pieces of a pour."""

    kit = ResinKitName()
    undone_by = serializers.IntegerField(
        source="entry.reversed_by.pk", allow_null=True, default=None
    )

    class Meta:
        model = Topcoating
        fields = [
            "id",
            "kit",
            "mixed_ml",
            "minutes",
            "spoiled_count",
            "coated_at",
            "entry",
            "undone_by",
        ]
        read_only_fields = fields


class TopcoatingIn(serializers.Serializer):
    """What was mixed, both parts together, and how many pieces it spoiled."""

    kit = OwnId(queryset=ResinKit.objects)
    mixed_ml = VolumeField()
    minutes = minutes_in(default=Decimal(0))
    spoiled_count = serializers.IntegerField(min_value=0, max_value=200, default=0)
    coated_at = MomentField(required=False)


def _found(request, number):
    rows = request.studio.pours.select_related("studio", "line__commission")
    return get_object_or_404(rows, number=number)


def _answer(pour, pk, status=200):
    rows = pour.topcoatings.select_related("kit", "entry__reversed_by")
    return Response(TopcoatingOut(rows.get(pk=pk)).data, status=status)


class TopcoatingsEndpoint(StudioView):
    """Coating."""

    @extend_schema(
        operation_id="topcoats_add", request=TopcoatingIn, responses={201: TopcoatingOut}
    )
    def post(self, request, number):
        """Log a topcoat: parts A and B leave the shelf by the kit's ratio."""
        found = _found(request, number)
        sent = asked(request, TopcoatingIn).validated_data
        made = log_topcoat(pour=found, by=request.user, **sent)
        return _answer(found, made.pk, status=201)


class UndoTopcoatingEndpoint(StudioView):
    """Undoing."""

    @extend_schema(operation_id="topcoats_undo", request=WhyIn, responses=TopcoatingOut)
    def post(self, request, number, pk):
        """Undo a topcoat logged by mistake: its resin is back on the shelf."""
        found = _found(request, number)
        coat = get_object_or_404(found.topcoatings.select_related("pour__line", "studio"), pk=pk)
        undo_topcoat(coat=coat, by=request.user, **asked(request, WhyIn).validated_data)
        return _answer(found, pk)
