"""How a pour was moved, as the API takes and answers it."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from rest_framework import serializers

from pricing.bench.moving import MOST_TRACE, Noted, noted_of
from pricing.models import Pour, PourLayer
from pricing.models.moved import MOST_REST, Moved
from studio.api.rows import OwnNumber

# As many as a layer keeps mixes, and as many layers.
MOST_MIXES = 200


class MovesField(serializers.ListField):
    """Codes of ways of moving, ``["none"]`` where it was not moved, null where it is not known."""

    child = serializers.ChoiceField(choices=Moved.Move.choices)

    def to_representation(self, data: Any) -> Any:  # the codes as they are kept, in one text
        return data.split() or None

    def get_attribute(self, instance: Any) -> Any:
        return instance.moves


class TraceIn(serializers.Serializer):
    """The trace of one mix, by its layer and its place among the mixes of that, from 1."""

    layer = serializers.ChoiceField(choices=PourLayer.Layer.choices)
    mix = serializers.IntegerField(min_value=1, max_value=MOST_MIXES)
    trace_seconds = serializers.DecimalField(
        5, 1, min_value=0, max_value=MOST_TRACE, allow_null=True
    )


class NoteMovesIn(serializers.Serializer):
    """How a pour was moved; what is left out stays as it is, and null is not known."""

    moves = MovesField(required=False, allow_null=True, max_length=len(Moved.Move))
    heat = serializers.ChoiceField(choices=Moved.Heat.choices, required=False, allow_blank=True)
    rest_minutes = serializers.DecimalField(
        4, 1, min_value=0, max_value=MOST_REST, required=False, allow_null=True
    )
    was_covered = serializers.BooleanField(required=False, allow_null=True)
    traces: serializers.ListSerializer = serializers.ListSerializer(
        child=TraceIn(), required=False, max_length=MOST_MIXES
    )


class AsBeforeIn(serializers.Serializer):
    """The earlier pour, by its number, that this one was moved as."""

    like = OwnNumber(queryset=Pour.objects.prefetch_related("layers"))


def noted_from(pour: Pour, sent: Mapping[str, Any]) -> Noted:
    """Return what is known of a pour once what was sent is said of it."""
    told = dict(sent)
    traces = {
        (one["layer"], one["mix"] - 1): one["trace_seconds"] for one in told.pop("traces", ())
    }
    if "moves" in told:
        told["moves"] = tuple(told["moves"] or ())
    return replace(noted_of(pour), traces=traces, **told)
