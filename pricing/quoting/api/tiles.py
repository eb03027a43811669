"""What customers say of their test tiles."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from pricing.models import Pour, TileAnswer
from pricing.quoting.tiles import answer_tile
from studio.api.asked import Filters, IdFilter
from studio.api.rows import OwnNumber, RowOut
from studio.api.viewsets import Added, Listed, Read


class TileAnswerOut(RowOut):
    """An answer about one pour of a test tile; it stays where the pour was undone since."""

    pour = serializers.IntegerField(source="pour.number", help_text="Its number.")
    commission = serializers.IntegerField(source="pour.line.commission.number")
    line = serializers.IntegerField(source="pour.line_id", help_text="Its id.")
    is_undone = serializers.SerializerMethodField()
    by = serializers.CharField(source="by.username", allow_null=True, default=None)

    class Meta:
        model = TileAnswer
        fields = read_only_fields = (
            *("id", "commission", "line", "pour", "accepted", "note", "name", "answered_at"),
            *("by_link", "by", "is_undone"),
        )

    def get_is_undone(self, answer: TileAnswer) -> bool:
        return hasattr(answer.pour.entry, "reversed_by")


class TileAnswerIn(serializers.Serializer):
    """What the customer said of a pour of a test tile, which is named by its number."""

    pour = OwnNumber(queryset=Pour.objects)
    accepted = serializers.BooleanField()
    name = serializers.CharField(max_length=120, required=False)
    note = serializers.CharField(max_length=300, required=False, allow_blank=True)


class TileAnswerFilters(Filters):
    commission = IdFilter("pour__line__commission__number", label="The commission's number.")
    pour = IdFilter("pour__number", label="The number of a pour.")

    class Meta:
        model = TileAnswer
        fields = ("accepted",)


class TileAnswers(Listed, Read, Added):
    """The answers about test tiles, the latest first."""

    model, out, takes = TileAnswer, TileAnswerOut, TileAnswerIn
    dated_by = "answered_at"
    filterset_class = TileAnswerFilters
    sort_fields = ("answered_at",)

    def rows(self) -> QuerySet[TileAnswer]:
        return self.studio.tile_answers.select_related(
            "pour__line__commission", "pour__entry__reversed_by", "by"
        )

    def add(self, **sent: Any) -> TileAnswer:
        """Write down what the customer said of a pour of their test tile, once a pour."""
        return answer_tile(by=self.request.user, **sent)
