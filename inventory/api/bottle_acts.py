"""What is done to one bottle: use, weigh, count, pour over, throw away, send back,
open."""

from django.urls import path
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.response import Response

from inventory.api.bottles import BottleOut, bottles_of, found_bottle
from inventory.api.entries import EntryOut, entries_of
from inventory.stock import ledger as stock
from studio.api.fields import AmountField, DayField, MassField, read_amount
from studio.api.rows import asked
from studio.api.views import StudioView


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

    def validate(self, sent):
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


def _use(who, bottle, sent):
    return stock.use(
        **who,
        amounts={bottle.material: sent.pop("quantity")},
        bottles={bottle.material: [bottle]},
        purpose="Taken by hand",
        **sent,
    )


def _waste(who, bottle, sent):
    return stock.waste(**who, bottle=bottle, **sent)


def _send_back(who, bottle, sent):
    return stock.send_back(**who, bottle=bottle, **sent)


def _weigh(who, bottle, sent):
    return stock.weigh_in(**who, bottle=bottle, **sent)


def _count(who, bottle, sent):
    return stock.recount(**who, bottle=bottle, **sent)


def _decant(who, bottle, sent):
    into, new = sent.pop("into", None), sent.pop("new", None)
    if new is not None:
        if isinstance(new.get("capacity"), str):
            new["capacity"] = read_amount(
                new["capacity"], bottle.material, who["studio"], field="capacity"
            )
        vessel = stock.Vessel(**new)
    else:
        vessel = bottles_of(who["studio"]).filter(code__iexact=into).first()
        if vessel is None:
            raise serializers.ValidationError({"into": [f"There is no bottle {into}."]})
    return stock.decant(**who, bottle=bottle, into=vessel, **sent)


def _open(who, bottle, sent):
    stock.open_bottle(bottle=bottle, day=sent.get("day") or who["studio"].today())


# how: (what it takes, what it does in words, the service)
ACTS = {
    "use": (TakeIn, "Use some of a bottle, and of the next ones where it runs out.", _use),
    "waste": (TakeIn, "Throw some of a bottle away.", _waste),
    "send-back": (TakeIn, "Send some of a bottle back to its supplier.", _send_back),
    "weigh": (
        WeighIn,
        "Set what is left by weight; no entry if it agrees.",
        _weigh,
    ),
    "count": (CountIn, "Set what is left by count or measure; no entry if it agrees.", _count),
    "decant": (
        DecantIn,
        "Pour some or all of a bottle into another of the same material, or into a new one.",
        _decant,
    ),
    "open": (OpenIn, "Note the day a bottle was opened.", _open),
}


def _endpoint(how, takes, words, service):
    class BottleActEndpoint(StudioView):
        @extend_schema(
            operation_id=f"bottles_{how.replace('-', '_')}",
            description=words,
            request=takes,
            responses=BottleActOut,
        )
        def post(self, request, code):
            bottle = found_bottle(request, code)
            sent = asked(request, takes).validated_data
            if isinstance(sent.get("quantity"), str):  # a count of nothing is read already
                sent["quantity"] = read_amount(sent["quantity"], bottle.material, request.studio)
            entry = service({"studio": request.studio, "by": request.user}, bottle, sent)
            if entry is not None:
                entry = entries_of(request.studio).get(pk=entry.pk)
            now = {"bottle": found_bottle(request, code), "entry": entry}
            return Response(BottleActOut(now).data)

    return BottleActEndpoint


urlpatterns = [
    path(f"bottles/<str:code>/{how}/", _endpoint(how, *act).as_view(), name=f"api-bottle-{how}")
    for how, act in ACTS.items()
]
