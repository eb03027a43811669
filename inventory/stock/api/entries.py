"""The ledger: entries and what they moved, read; undone by a reversal; uses of materials."""

from typing import Any, ClassVar

from django.db.models import QuerySet
from django_filters import rest_framework as filters
from rest_framework import serializers

from inventory.models import Bottle, Entry, Material, Movement
from inventory.stock import ledger as stock
from inventory.supplies.api.materials import MaterialName
from studio.api.acts import act
from studio.api.asked import Filters, IdFilter
from studio.api.fields import AmountField, MomentField, read_amount
from studio.api.rows import OwnCode, OwnId, RowOut
from studio.api.serializers import WhyIn
from studio.api.viewsets import Added, Listed, Read
from studio.models import Studio
from studio.sight import COSTS

MOST_MATERIALS = 100


class MovementOut(RowOut):
    """One signed change of one bottle; the quantity is in the material's unit."""

    bottle = serializers.CharField(source="bottle.code")
    material = MaterialName()
    sights: ClassVar = {"value": COSTS}

    class Meta:
        model = Movement
        fields = read_only_fields = ("id", "kind", "bottle", "material", "quantity", "value")


class EntryOut(RowOut):
    """One act on the stock and all it moved. ``reversed_by`` names the entry that undid it."""

    by = serializers.CharField(source="by.username", allow_null=True, default=None)
    reversed_by = serializers.IntegerField(source="reversed_by.pk", allow_null=True, default=None)
    movements = MovementOut(many=True)

    class Meta:
        model = Entry
        fields = read_only_fields = (
            *("id", "happened_at", "booked_on", "recorded_at", "by", "purpose", "why"),
            *("reverses", "reversed_by", "movements"),
        )


class UseAmountIn(serializers.Serializer):
    """So much of a material; from ``bottles`` first, where any are named."""

    material = OwnId(queryset=Material.objects)
    quantity = AmountField()
    bottles = serializers.ListField(
        child=OwnCode(queryset=Bottle.objects), required=False, max_length=20
    )

    def validate(self, data: dict[str, Any]) -> dict[str, Any]:
        studio = self.context["request"].studio
        data["quantity"] = read_amount(data["quantity"], data["material"], studio)
        return data


class UseIn(serializers.Serializer):
    amounts: serializers.ListSerializer = serializers.ListSerializer(
        child=UseAmountIn(), allow_empty=False, max_length=MOST_MATERIALS
    )
    why = serializers.CharField(max_length=200, required=False, allow_blank=True)
    purpose = serializers.CharField(max_length=80, default="Taken by hand")
    happened_at = MomentField(required=False)

    def validate_amounts(self, amounts: list[dict[str, Any]]) -> list[dict[str, Any]]:
        if len({amount["material"].pk for amount in amounts}) < len(amounts):
            raise serializers.ValidationError("Name each material once.", code="unique")
        return amounts


def entries_of(studio: Studio) -> QuerySet[Entry]:
    """Return the entries of a studio, ready to be written out."""
    return studio.entries.select_related("by", "reversed_by").with_movements()


class EntryFilters(Filters):
    bottle = filters.CharFilter("movements__bottle__code", "iexact", distinct=True)
    material = IdFilter("movements__material", distinct=True)

    class Meta:
        model = Entry
        fields = ()


class Entries(Listed, Read):
    """The ledger, newest first."""

    model, out = Entry, EntryOut
    dated_by = "booked_on"
    filterset_class = EntryFilters
    search_fields = ("purpose", "why")
    sort_fields = ("happened_at", "booked_on", "recorded_at")
    changed_by = ("recorded_at", "reversed_by__recorded_at")

    def rows(self) -> QuerySet[Entry]:
        return entries_of(self.studio)

    @act(WhyIn, status=201)
    def reverse(self, entry: Entry, why: str) -> Entry:
        """Undo an entry by its mirror image; both stay on record."""
        return stock.reverse(studio=self.studio, by=self.request.user, entry=entry, why=why)


class Uses(Added):
    """Materials taken off the shelf."""

    model, out, takes = Entry, EntryOut, UseIn

    def rows(self) -> QuerySet[Entry]:
        return entries_of(self.studio)

    def add(self, amounts: list[dict[str, Any]], **sent: Any) -> Entry:
        """Take materials off the shelf: what expires first goes first, or nothing is taken."""
        return stock.use(
            studio=self.studio,
            by=self.request.user,
            amounts={amount["material"]: amount["quantity"] for amount in amounts},
            bottles={
                amount["material"]: amount["bottles"] for amount in amounts if amount.get("bottles")
            },
            **sent,
        )
