"""What is done to one bottle: use, weigh, count, throw away, send back, open, put away."""

from django.urls import path
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.response import Response

from inventory import stock
from inventory.api.bottles import BottleOut, found_bottle
from inventory.api.entries import EntryOut, entries_of
from studio.api.fields import AmountField, MassField, read_amount
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


class OpenIn(serializers.Serializer):
    """The day a bottle was opened; today if not said."""

    day = serializers.DateField(required=False)


class NothingIn(serializers.Serializer):
    """Nothing needs saying."""


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


def _open(who, bottle, sent):
    stock.open_bottle(bottle=bottle, day=sent.get("day") or who["studio"].today())


def _put_away(who, bottle, sent):
    stock.archive_bottle(bottle=bottle)


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
    "open": (OpenIn, "Note the day a bottle was opened.", _open),
    "put-away": (NothingIn, "Put an empty bottle away for good.", _put_away),
}


def _endpoint(how, takes, words, service):
    class BottleActEndpoint(StudioView):
        @extend_schema(
            operation_id=f"bottles_{how.replace('-', '_')}",
            description=words,
            request=takes if takes is not NothingIn else None,
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
