"""The lines of a commission: so many pieces by size, technique and palette."""

from django.db import transaction
from django.shortcuts import get_object_or_404
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.response import Response

from inventory.models import Material
from pricing.api.commissions import CommissionOut, CommissionView
from pricing.commissions import orders as work
from pricing.estimating.sizes import get_or_make_surface
from pricing.models import Palette, ResinKit, SavedSurface, Technique
from studio.api.fields import SizeField
from studio.api.rows import OwnId, OwnSlug, asked


class CommissionLineIn(serializers.Serializer):
    """A surface the studio keeps, or a size; a technique by its slug."""

    surface = OwnId(queryset=SavedSurface.objects, required=False)
    size = SizeField(required=False)
    technique = OwnSlug(queryset=Technique.objects.filter(is_offered=True))
    palette = OwnId(queryset=Palette.objects)
    topcoat = OwnId(queryset=ResinKit.objects, required=False, allow_null=True)
    quantity = serializers.IntegerField(min_value=1, max_value=500, default=1)
    pieces_each = serializers.IntegerField(min_value=1, max_value=24, default=1)
    packaging = OwnId(
        queryset=Material.objects.filter(kind=Material.Kind.PACKAGING),
        required=False,
        allow_null=True,
    )

    def validate(self, data):
        named = ("surface" in data) + ("size" in data)
        if named > 1 or (not named and not self.partial):
            raise serializers.ValidationError(
                {"surface": ["Name a surface, or give a size; one of the two."]}
            )
        return data


def _with_surface(request, sent):
    """Return the fields with the surface named, saved first where its size is new."""
    if "size" in sent:
        sent["surface"] = get_or_make_surface(request.studio, sent.pop("size"))
    return sent


class CommissionLinesEndpoint(CommissionView):
    """What was asked for."""

    @extend_schema(
        operation_id="commissions_add_line",
        request=CommissionLineIn,
        responses={201: CommissionOut},
    )
    @transaction.atomic
    def post(self, request, number):
        """Add so many pieces or sets; a quote that is out is superseded."""
        found = self.found(request, number)
        sent = _with_surface(request, asked(request, CommissionLineIn).validated_data)
        work.add_line(commission=found, by=request.user, **sent)
        return self.answer(request, number, status=201)


class CommissionLineEndpoint(CommissionView):
    """One line."""

    def line(self, request, number, pk):
        """Return a line of a commission, or a 404."""
        return get_object_or_404(self.found(request, number).lines, pk=pk)

    @extend_schema(
        operation_id="commissions_change_line",
        request=CommissionLineIn(partial=True),
        responses=CommissionOut,
    )
    @transaction.atomic
    def patch(self, request, number, pk):
        """Change a line; a quote that is out is superseded."""
        line = self.line(request, number, pk)
        sent = _with_surface(request, asked(request, CommissionLineIn, partial=True).validated_data)
        work.change_line(line=line, by=request.user, **sent)
        return self.answer(request, number)

    @extend_schema(operation_id="commissions_remove_line", request=None, responses={204: None})
    def delete(self, request, number, pk):
        """Take a line out; a quote that is out is superseded."""
        work.remove_line(line=self.line(request, number, pk), by=request.user)
        return Response(status=204)
