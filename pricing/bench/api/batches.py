"""Batches: what was mixed at the bench, from which bottles, and the trace it really had."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from inventory.mixing.api.recipes import RecipeName
from inventory.models import Batch, Bottle, Recipe
from inventory.stock.api.entries import MovementOut
from pricing.bench.batches import mix_batch, undo_batch
from pricing.models import Commission
from studio.api.acts import act
from studio.api.asked import Filters, IdFilter
from studio.api.fields import MomentField, VolumeField
from studio.api.rows import OwnCode, OwnId, OwnNumber, RowOut
from studio.api.serializers import WhyIn
from studio.api.viewsets import Added, Listed, Read


class BatchOut(RowOut):
    """A mix as it was mixed, with what it took out of which bottle, and the ``bottle`` it filled.

    Batches written down before mixing moved stock have no entry and no bottle.
    """

    recipe = RecipeName()
    bottle = serializers.CharField(source="bottle.code", allow_null=True, default=None)
    booked_on = serializers.DateField(source="entry.booked_on", allow_null=True, default=None)
    undone_by = serializers.IntegerField(
        source="entry.reversed_by.pk", allow_null=True, default=None
    )
    movements = MovementOut(source="entry.movements", many=True, default=())

    class Meta:
        model = Batch
        fields = read_only_fields = (
            *("id", "recipe", "volume_ml", "trace_seconds", "temperature_c", "has_silicone"),
            *("bottle", "entry", "booked_on", "undone_by", "purpose", "notes", "made_at"),
            *("movements",),
        )


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


class BatchFilters(Filters):
    recipe = IdFilter()


class Batches(Listed, Read, Added):
    """The batches mixed, newest first."""

    model, out, takes = Batch, BatchOut, BatchIn
    dated_by = "made_at"
    filterset_class = BatchFilters
    search_fields = ("recipe__name", "purpose")
    sort_fields = ("made_at",)
    changed_by = ("changed_at", "entry__reversed_by__recorded_at")

    def rows(self) -> QuerySet[Batch]:
        rows = self.studio.batches.select_related("recipe", "bottle", "entry__reversed_by")
        return rows.prefetch_related("entry__movements__material", "entry__movements__bottle")

    def add(self, **sent: Any) -> Batch:
        """Mix a batch: ingredients leave their bottles and a bottle of mix is made."""
        return mix_batch(studio=self.studio, by=self.request.user, **sent)

    @act(WhyIn)
    def undo(self, batch: Batch, why: str) -> Batch:
        """Undo a batch none of which was used: its ingredients are back in their bottles."""
        undo_batch(batch=batch, by=self.request.user, why=why)
        return batch
