"""Bottles: one container each, found by its code; what is done to it, and its life."""

from collections.abc import Callable
from datetime import date
from decimal import Decimal
from typing import Any, ClassVar

from django.db.models import QuerySet
from rest_framework import serializers

from inventory.models import Bottle, Entry, Movement
from inventory.stock import ledger as stock
from inventory.stock.api.entries import EntryOut, entries_of
from inventory.supplies.api.materials import MaterialName
from studio.api.acts import act, answer
from studio.api.asked import IdFilter, KeptFilters
from studio.api.fields import AmountField, DayField, MassField, MomentField, read_amount
from studio.api.rows import RowIn, RowOut
from studio.api.viewsets import Changed, Listed, Read
from studio.sight import COSTS


class BottleOut(RowOut):
    """One container, named by its code; amounts are in the material's unit."""

    material = MaterialName()
    keeps_until = serializers.DateField(allow_null=True)
    has_silicone = serializers.BooleanField(source="holds_silicone")
    called = serializers.CharField(read_only=True, help_text="bottle, or lot of whole items.")
    sights = dict.fromkeys(("value", "price_paid"), COSTS)

    class Meta:
        model = Bottle
        fields = read_only_fields = (
            *(
                "code",
                "called",
                "material",
                "capacity",
                "remaining",
                "value",
                "price_paid",
                "tare_g",
            ),
            *("density_g_per_ml", "has_silicone", "colours", "place", "received_on", "opened_on"),
            *("expires_on", "keeps_until", "pack", "delivery", "archived_at"),
        )


class BottleIn(RowIn):
    """What may be changed about a bottle: never what is in it."""

    class Meta:
        model = Bottle
        fields = ("place", "opened_on", "expires_on", "tare_g", "density_g_per_ml")


class BottleMovementOut(RowOut):
    """One change of a bottle, and the entry it is part of: who, when, why and what for.

    ``undoes`` and ``undone_by`` name the entries that a correction ties together.
    """

    happened_at = MomentField(source="entry.happened_at")
    recorded_at = MomentField(source="entry.recorded_at")
    by = serializers.CharField(source="entry.by.username", allow_null=True, default=None)
    purpose = serializers.CharField(source="entry.purpose")
    sights: ClassVar = {"value": COSTS}
    why = serializers.CharField(source="entry.why")
    undoes = serializers.IntegerField(source="entry.reverses_id", allow_null=True)
    undone_by = serializers.IntegerField(
        source="entry.reversed_by.pk", allow_null=True, default=None
    )

    class Meta:
        model = Movement
        fields = read_only_fields = (
            *("id", "entry", "kind", "quantity", "value", "happened_at", "recorded_at"),
            *("by", "purpose", "why", "undoes", "undone_by"),
        )


class TakeIn(serializers.Serializer):
    """So much out of a bottle, in the material's unit unless another is named."""

    quantity = AmountField()
    why = serializers.CharField(max_length=200, required=False, allow_blank=True)


class WeighIn(serializers.Serializer):
    """A bottle and its contents on the scale, [g]."""

    gross_g = MassField()


class CountIn(serializers.Serializer):
    """What is really in a bottle; 0 when it is empty."""

    quantity = AmountField(allow_zero=True)


class VesselIn(serializers.Serializer):
    """A new bottle to pour into; ``tare_g`` is its weight empty, [g]."""

    code = serializers.SlugField(max_length=12, required=False)
    capacity = AmountField(required=False)
    tare_g = MassField(required=False)
    place = serializers.CharField(max_length=60, required=False)


class DecantIn(serializers.Serializer):
    """Where to pour: ``into`` a bottle by its code, or a ``new`` one; all of it, unless told."""

    into = serializers.CharField(max_length=12, required=False)
    new = VesselIn(required=False)
    quantity = AmountField(required=False)
    over_capacity = serializers.BooleanField(required=False)
    why = serializers.CharField(max_length=200, required=False, allow_blank=True)

    def validate(self, sent: dict[str, Any]) -> dict[str, Any]:
        if ("into" in sent) == ("new" in sent):
            raise serializers.ValidationError("Pour into one bottle: name it, or tell a new one.")
        return sent


class OpenIn(serializers.Serializer):
    """The day a bottle was opened; today if not said."""

    day = DayField(required=False)


class BottleActOut(serializers.Serializer):
    """A bottle as it is now, and the entry of the ledger if something moved."""

    bottle = BottleOut()
    entry = EntryOut(allow_null=True)


class BottleFilters(KeptFilters):
    material = IdFilter("material")
    recipe = IdFilter("material__recipe", label="Bottles of the mix of a recipe.")

    class Meta:
        model = Bottle
        fields = ("place",)


class Bottles(Listed, Read, Changed):
    """What stands on the shelf: bottles of what is poured, and lots of whole items that came
    together. What is empty is off the shelf.
    """

    model, out, takes = Bottle, BottleOut, BottleIn
    lookup_field, lookup_url_kwarg = "code__iexact", "code"
    lookup_value_converter = "str"
    filterset_class = BottleFilters
    search_fields = ("code", "material__name", "place")
    sort_fields = ("code", "place", "remaining", "received_on", "expires_on")

    def rows(self) -> QuerySet[Bottle]:
        return self.studio.bottles.select_related("material")

    @answer(BottleMovementOut, pages=True)
    def movements(self, bottle: Bottle) -> QuerySet[Movement]:
        """List what happened to a bottle, from the day it came."""
        return bottle.movements.select_related("entry__by", "entry__reversed_by")

    @act(TakeIn, gives=BottleActOut)
    def use(self, bottle: Bottle, quantity: Any, **sent: Any) -> dict[str, Any]:
        """Use some of a bottle, and of the next ones where it runs out."""
        material = bottle.material
        return self._moved(
            bottle,
            stock.use(
                studio=self.studio,
                by=self.request.user,
                amounts={material: self._amount(bottle, quantity)},
                bottles={material: [bottle]},
                purpose="Taken by hand",
                **sent,
            ),
        )

    @act(TakeIn, gives=BottleActOut)
    def waste(self, bottle: Bottle, **sent: Any) -> dict[str, Any]:
        """Throw some of a bottle away."""
        return self._done(stock.waste, bottle, sent)

    @act(TakeIn, gives=BottleActOut)
    def send_back(self, bottle: Bottle, **sent: Any) -> dict[str, Any]:
        """Send some of a bottle back to its supplier."""
        return self._done(stock.send_back, bottle, sent)

    @act(WeighIn, gives=BottleActOut)
    def weigh(self, bottle: Bottle, **sent: Any) -> dict[str, Any]:
        """Set what is left by weight; no entry if it agrees."""
        return self._done(stock.weigh_in, bottle, sent)

    @act(CountIn, gives=BottleActOut)
    def count(self, bottle: Bottle, **sent: Any) -> dict[str, Any]:
        """Set what is left by count or measure; no entry if it agrees."""
        return self._done(stock.recount, bottle, sent)

    @act(DecantIn, gives=BottleActOut)
    def decant(
        self,
        bottle: Bottle,
        into: str | None = None,
        new: dict[str, Any] | None = None,
        **sent: Any,
    ) -> dict[str, Any]:
        """Pour some or all of a bottle into another of the same material, or into a new one."""
        vessel = self._vessel(bottle, new or {}) if into is None else self._bottle(into)
        return self._done(stock.decant, bottle, {"into": vessel, **sent})

    @act(OpenIn, gives=BottleActOut)
    def open(self, bottle: Bottle, day: date | None = None) -> dict[str, Any]:
        """Note the day a bottle was opened."""
        stock.open_bottle(bottle=bottle, day=day or self.studio.today())
        return self._moved(bottle, None)

    def _done(
        self, service: Callable[..., Entry | None], bottle: Bottle, sent: dict[str, Any]
    ) -> dict[str, Any]:
        """Do one thing to a bottle, and return what is answered."""
        if "quantity" in sent:
            sent["quantity"] = self._amount(bottle, sent["quantity"])
        who = {"studio": self.studio, "by": self.request.user}
        return self._moved(bottle, service(**who, bottle=bottle, **sent))

    def _moved(self, bottle: Bottle, entry: Entry | None) -> dict[str, Any]:
        if entry is not None:
            entry = entries_of(self.studio).get(pk=entry.pk)
        return {"bottle": self.rows().get(pk=bottle.pk), "entry": entry}

    def _amount(self, bottle: Bottle, value: Decimal | str, field: str = "quantity") -> Decimal:
        if not isinstance(value, str):  # a count of nothing is read already
            return value
        return read_amount(value, bottle.material, self.studio, field)

    def _vessel(self, bottle: Bottle, new: dict[str, Any]) -> stock.Vessel:
        if "capacity" in new:
            new["capacity"] = self._amount(bottle, new["capacity"], "new.capacity")
        return stock.Vessel(**new)

    def _bottle(self, code: str) -> Bottle:
        bottle = self.rows().filter(code__iexact=code).first()
        if bottle is None:
            raise serializers.ValidationError({"into": [f"There is no bottle {code}."]})
        return bottle
