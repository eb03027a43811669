"""What pieces weighed while they dried."""

from decimal import Decimal
from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from pricing.bench.weighing import remove_weighing, weigh_piece
from pricing.models import Pour, Weighing
from pricing.models.weighing import LEAST_G, MOST_G
from studio.api.rows import OwnNumber, RowOut
from studio.api.viewsets import Added, Listed, Read, Removed


class WeighingOut(RowOut):
    """One weight, in g, of a piece with its surface; ``piece`` is its number within its pour."""

    pour = serializers.IntegerField(source="piece.pour.number")
    piece = serializers.IntegerField(source="piece.number")

    class Meta:
        model = Weighing
        fields = read_only_fields = ("id", "pour", "piece", "grams", "weighed_at")


class WeighingIn(serializers.Serializer):
    """A piece of a pour, by its number, and what it weighs with its surface, in g."""

    pour = OwnNumber(queryset=Pour.objects)
    piece = serializers.IntegerField(min_value=1, max_value=200)
    grams = serializers.DecimalField(
        max_digits=7, decimal_places=2, min_value=LEAST_G, max_value=Decimal(MOST_G)
    )
    weighed_at = serializers.DateTimeField(required=False)


class Weighings(Listed, Read, Added, Removed):
    """What pieces weighed, the last first; where a pour stands is told with the pour."""

    model, out, takes = Weighing, WeighingOut, WeighingIn
    dated_by = "weighed_at"
    sort_fields = ("weighed_at",)

    def rows(self) -> QuerySet[Weighing]:
        return self.studio.weighings.select_related("piece__pour").order_by("-weighed_at", "-pk")

    def add(self, **sent: Any) -> Weighing:
        """Write down what a piece weighs."""
        return weigh_piece(by=self.request.user, **sent)

    def remove(self, weighing: Weighing) -> None:
        """Take back a weight that was read or typed wrong."""
        remove_weighing(weighing=weighing)
