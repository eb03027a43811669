"""Topcoats: the resin poured over a pour's good pieces."""

from decimal import Decimal
from typing import Any

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from pricing.bench.topcoats import log_topcoat, undo_topcoat
from pricing.costing.api.costs import minutes_in
from pricing.costing.api.names import ResinKitName
from pricing.costing.api.used import UsedField
from pricing.models import Pour, ResinKit, Topcoating
from pricing.readiness.api.reasons import humidity_in, reason_in, room_in
from studio.api.acts import act
from studio.api.fields import MomentField, VolumeField
from studio.api.rows import OwnId, RowOut
from studio.api.serializers import WhyIn
from studio.api.viewsets import Added, Read


class TopcoatingOut(RowOut):
    """Resin over the good pieces of a pour."""

    kit = ResinKitName()
    booked_on = serializers.DateField(source="entry.booked_on", allow_null=True, default=None)
    undone_by = serializers.IntegerField(
        source="entry.reversed_by.pk", allow_null=True, default=None
    )

    class Meta:
        model = Topcoating
        fields = read_only_fields = (
            *("id", "kit", "mixed_ml", "minutes", "spoiled_count"),
            *("coated_at", "room_c", "humidity_percent", "entry", "booked_on", "undone_by"),
        )


class TopcoatingIn(serializers.Serializer):
    """What was mixed, both parts together."""

    kit = OwnId(queryset=ResinKit.objects)
    mixed_ml = VolumeField()
    minutes = minutes_in(default=Decimal(0))
    coated_at = MomentField(required=False)
    room_c, humidity_percent = room_in(), humidity_in()
    reason = reason_in()
    used = UsedField()


class Topcoats(Read, Added):
    """The resin over the pieces of one pour."""

    model, out, takes = Topcoating, TopcoatingOut, TopcoatingIn

    def pour(self) -> Pour:
        pours = self.studio.pours.select_related("studio", "line__commission")
        return get_object_or_404(pours, number=self.kwargs["number"])

    def rows(self) -> QuerySet[Topcoating]:
        return self.pour().topcoatings.select_related(
            "kit", "entry__reversed_by", "pour__line", "studio"
        )

    def create(self, request: Request, **key: Any) -> Response:
        self.pour()  # another studio's is not there, whatever is sent
        return super().create(request, **key)

    def add(self, **sent: Any) -> Topcoating:
        """Log a topcoat: parts A and B leave the shelf by the kit's ratio."""
        return log_topcoat(pour=self.pour(), by=self.request.user, **sent)

    @act(WhyIn)
    def undo(self, coat: Topcoating, why: str) -> Topcoating:
        """Undo a topcoat logged by mistake: its resin is back on the shelf."""
        undo_topcoat(coat=coat, by=self.request.user, why=why)
        return coat
