"""The lines of a commission: so many pieces by size, technique and palette."""

from typing import Any

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.serializers import BaseSerializer

from pricing.commissions import orders
from pricing.costing.api.products import SpecificationIn, SpecificationOut
from pricing.estimating.sizes import get_or_make_surface
from pricing.models import Commission, CommissionLine, Pour, SavedSurface
from pricing.readiness.api.reasons import reason_in
from studio.api.fields import SizeField
from studio.api.rows import OwnId, OwnNumber, RowOut
from studio.api.viewsets import Added, Changed, Read, Removed


class CommissionLineOut(SpecificationOut, RowOut):
    """So many pieces or sets of one size, technique and palette."""

    description = serializers.CharField()

    class Meta:
        model = CommissionLine
        fields = read_only_fields = (
            *("id", "description", "quantity", "pieces_each", "surface"),
            *("technique", "base", "palette", "topcoat", "packaging", "use", "like_pour"),
            *("is_test", "is_free"),
        )


class CommissionLineIn(SpecificationIn):
    """A surface the studio keeps, or a size; a technique by its slug."""

    surface = OwnId(queryset=SavedSurface.objects, required=False)
    size = SizeField(required=False)
    quantity = serializers.IntegerField(min_value=1, max_value=500, default=1)
    pieces_each = serializers.IntegerField(min_value=1, max_value=24, default=1)
    is_test = serializers.BooleanField(
        default=False,
        help_text="A test tile: one, for the customer to look at. It is not packed or handed over.",
    )
    is_free = serializers.BooleanField(
        default=False, help_text="A test tile that is not in the price."
    )
    reason = reason_in()
    like_pour = OwnNumber(queryset=Pour.objects, source="like", required=False, allow_null=True)

    def validate(self, data: dict[str, Any]) -> dict[str, Any]:
        named = ("surface" in data) + ("size" in data)
        if named > 1 or (not named and not self.partial):
            raise serializers.ValidationError(
                {"surface": ["Name a surface, or give a size; one of the two."]}
            )
        return super().validate(data)


class CommissionLines(Read, Added, Changed, Removed):
    """What was asked for; a quote that is out is superseded when it changes."""

    model, out, takes = CommissionLine, CommissionLineOut, CommissionLineIn

    def commission(self) -> Commission:
        return get_object_or_404(self.studio.commissions, number=self.kwargs["number"])

    def rows(self) -> QuerySet[CommissionLine]:
        return CommissionLine.objects.filter(commission=self.commission()).select_related(
            "commission", "surface", "technique", "palette", "topcoat", "packaging"
        )

    def row(self, *, lock: bool = False) -> CommissionLine:
        if lock:  # its commission, as every act on a line does, so that none waits for another
            Commission.objects.select_for_update().get(pk=self.commission().pk)
        return super().row()

    def create(self, request: Request, **key: Any) -> Response:
        self.commission()  # another studio's is not there, whatever is sent
        return super().create(request, **key)

    def add(self, **sent: Any) -> CommissionLine:
        """Add so many pieces or sets; a quote that is out is superseded."""
        sent = self._with_surface(sent)
        return orders.add_line(commission=self.commission(), by=self.request.user, **sent)

    def change(self, line: CommissionLine, sent: BaseSerializer) -> CommissionLine:
        """Change a line; a quote that is out is superseded."""
        changes = self._with_surface(sent.validated_data)
        return orders.change_line(line=line, by=self.request.user, **changes)

    def remove(self, line: CommissionLine) -> None:
        """Take a line out; a quote that is out is superseded."""
        orders.remove_line(line=line, by=self.request.user)

    def _with_surface(self, sent: dict[str, Any]) -> dict[str, Any]:
        """Return the fields with the surface named, saved first where its size is new."""
        if "size" in sent:
            sent["surface"] = get_or_make_surface(self.studio, sent.pop("size"))
        return sent
