"""A pour once more, as the API answers it: its mixes as they were, what changed, what is gone."""

from rest_framework import serializers

from pricing.costing.api.names import PaletteName, ResinKitName
from pricing.estimating.api.estimates import LayerOut
from pricing.models import PourLayer


class FrozenPartOut(serializers.Serializer):
    """So many parts of a material by its id, or of another mix, which has none."""

    name = serializers.CharField()
    material = serializers.IntegerField(source="material_id", allow_null=True)
    parts = serializers.DecimalField(9, 3)


class FrozenMixOut(serializers.Serializer):
    """A recipe as it was; ``recipe`` is its id."""

    recipe = serializers.IntegerField(source="recipe_id", allow_null=True)
    name = serializers.CharField()
    basis = serializers.ChoiceField(choices=["volume", "weight"])
    trace_seconds = serializers.DecimalField(5, 1, allow_null=True)
    parts = FrozenPartOut(many=True)


class PouredMixOut(serializers.Serializer):
    """So much of one mix; ``bottle`` is what it came out of, if it was mixed before.

    ``parts`` are those it had among the colours, and ``mix`` is null of reclaimed paint.
    """

    ml = serializers.DecimalField(12, 3)
    parts = serializers.DecimalField(9, 3, allow_null=True)
    bottle = serializers.CharField(allow_blank=True)
    trace_seconds = serializers.DecimalField(5, 1, allow_null=True)
    mix = FrozenMixOut(allow_null=True)


class LayerThenOut(serializers.Serializer):
    """One layer as it was, with what is estimated now for as many pieces."""

    layer = serializers.ChoiceField(choices=PourLayer.Layer.choices, source="layer.layer")
    mixed_ml = serializers.DecimalField(12, 3, source="layer.mixed_ml")
    poured_ml = serializers.DecimalField(12, 3, source="layer.poured_ml")
    mixes = PouredMixOut(many=True)
    now = LayerOut(allow_null=True)


class AgainOut(serializers.Serializer):
    """A pour beside what it would take now.

    ``changes`` says what became of its mixes, ``gone`` what is not there any more. ``palette`` has
    the mixes as they were; it is null until they are written down again.
    """

    pour = serializers.IntegerField(source="pour.number")
    count = serializers.IntegerField(source="pour.count")
    topcoat = ResinKitName(source="kit", allow_null=True)
    is_known = serializers.BooleanField()
    palette = PaletteName(allow_null=True)
    layers = LayerThenOut(many=True)
    changes = serializers.ListField(child=serializers.CharField())
    gone = serializers.ListField(child=serializers.CharField())
    problem = serializers.CharField(allow_blank=True)
