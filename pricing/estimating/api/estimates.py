"""How much a piece takes: by layer, by mix and by material, with the range and the reasons."""

from collections.abc import Mapping
from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from inventory.models import Material
from inventory.supplies.api.materials import MaterialName
from pricing.estimating.answers import PieceEstimate
from pricing.estimating.batches import for_pieces
from pricing.estimating.layers import Need, line_of
from pricing.estimating.learning import estimator_for
from pricing.estimating.narrowing import narrowing
from pricing.estimating.sizes import read_surface
from pricing.models import Palette, ResinKit, SavedSurface, Technique
from pricing.models.technique import BASE_CHOICES
from studio.api.fields import LONGEST
from studio.api.rows import OwnId
from studio.errors import StudioError


class NeedOut(serializers.Serializer):
    """How much of a material, in its unit: used up, the same if more is poured, and to mix."""

    material = MaterialName()
    used = serializers.DecimalField(14, 4)
    high = serializers.DecimalField(14, 4)
    to_mix = serializers.DecimalField(14, 4)


@extend_schema_field(NeedOut(many=True))
class NeedsField(serializers.Field):
    """{material: Need} as a list."""

    def to_representation(self, needs: Mapping[Material, Need]) -> Any:
        rows = [{"material": material, **vars(need)} for material, need in needs.items()]
        return NeedOut(rows, many=True).data


class MixOut(serializers.Serializer):
    """One mix of a layer: what to mix of it, and the same in kitchen measures."""

    recipe = serializers.IntegerField(source="recipe_id")
    name = serializers.CharField()
    to_mix_ml = serializers.DecimalField(12, 3)
    measure = serializers.CharField()


class LayerOut(serializers.Serializer):
    """What is poured of one layer over all pieces; one in ten takes less than low, or more than
    high."""

    layer = serializers.ChoiceField(choices=["base", "colours", "activator", "topcoat"])
    low_ml = serializers.DecimalField(12, 3)
    median_ml = serializers.DecimalField(12, 3)
    high_ml = serializers.DecimalField(12, 3)
    measure = serializers.CharField()
    to_mix_ml = serializers.DecimalField(12, 3)
    mix_measure = serializers.CharField()
    outside_measured = serializers.BooleanField()
    mixes = MixOut(many=True)
    materials = NeedsField()
    note = serializers.CharField()


class AdviceOut(serializers.Serializer):
    """One thing that was checked: what was computed, its limit, and where the limit comes from."""

    code = serializers.CharField()
    sentence = serializers.CharField()
    computed = serializers.FloatField(allow_null=True)
    limit = serializers.FloatField(allow_null=True)
    unit = serializers.CharField()
    source = serializers.CharField()  # type: ignore[assignment]  # what is written out, not the serializer's own
    severity = serializers.ChoiceField(choices=["fine", "note", "caution", "stop"])


class TotalOut(serializers.Serializer):
    """All layers of paint together, over all pieces."""

    low_ml = serializers.DecimalField(12, 3)
    median_ml = serializers.DecimalField(12, 3)
    high_ml = serializers.DecimalField(12, 3)
    measure = serializers.CharField()


class SurfaceAreasOut(serializers.Serializer):
    top_area_mm2 = serializers.FloatField()
    side_area_mm2 = serializers.FloatField()


class EstimateOut(serializers.Serializer):
    """What equal pieces take together; without a base, over either where there are two."""

    surface = SurfaceAreasOut()
    technique = serializers.CharField()
    count = serializers.IntegerField()
    base = serializers.CharField()
    layers = LayerOut(many=True)
    total = TotalOut(allow_null=True)
    to_mix_ml = serializers.DecimalField(12, 3)
    materials = NeedsField()
    outside_measured = serializers.BooleanField()
    warnings = serializers.ListField(child=serializers.CharField())
    advice = AdviceOut(many=True)


class InfluenceOut(serializers.Serializer):
    """One pour that the forecast rests on; ``share`` is its part of all weight."""

    layer = serializers.CharField()
    label = serializers.CharField(source="influence.observation.label")  # type: ignore[assignment]  # what is written out, not the serializer's own
    technique = serializers.CharField(source="influence.observation.technique")
    wetted_area_mm2 = serializers.FloatField(source="influence.observation.wetted_area_mm2")
    volume_ml = serializers.DecimalField(14, 3, source="influence.observation.volume_ml")
    share = serializers.FloatField(source="influence.share")


class OneBatchOut(serializers.Serializer):
    """What is mixed of all paint in one batch a layer, and with a cup for ``each`` of the job."""

    together_ml = serializers.DecimalField(12, 3)
    apart_ml = serializers.DecimalField(12, 3)
    saved_ml = serializers.DecimalField(12, 3)
    each = serializers.ChoiceField(choices=["piece", "line"])


class NarrowingOut(serializers.Serializer):
    """A size to pour first, since it narrows the range of all paint: high over low, both times."""

    size, sentence = serializers.CharField(), serializers.CharField()
    before, after = serializers.FloatField(), serializers.FloatField()


class PlannedOut(EstimateOut):
    """An estimate, the pours that weighed most in each paint layer, and what to pour first."""

    narrowing = serializers.SerializerMethodField()
    one_batch = serializers.SerializerMethodField()
    why = serializers.SerializerMethodField()

    @extend_schema_field(NarrowingOut(allow_null=True))
    def get_narrowing(self, piece: PieceEstimate) -> Any:
        studio = self.context["request"].studio
        line = line_of(piece.surface, piece.technique, piece.count, piece.base)
        kept = studio.surfaces.filter(archived_at=None)
        found = narrowing(estimator_for(studio), line, kept)
        return NarrowingOut(found).data if found else None

    @extend_schema_field(OneBatchOut(allow_null=True))
    def get_one_batch(self, piece: PieceEstimate) -> Any:
        found = for_pieces(piece)
        return OneBatchOut(found).data if found else None

    @extend_schema_field(InfluenceOut(many=True))
    def get_why(self, piece: PieceEstimate) -> Any:
        estimator = estimator_for(self.context["request"].studio)
        rows = [
            {"layer": layer.layer, "influence": influence}
            for layer in piece.layers
            if layer.layer != "topcoat"
            for influence in estimator.why(
                piece.technique, layer.layer, piece.surface.wetted_area_mm2
            )
        ]
        return InfluenceOut(rows, many=True).data


class EstimateIn(serializers.Serializer):
    """A size as a person writes it, or a surface the studio keeps."""

    size = serializers.CharField(required=False, max_length=LONGEST)
    surface = OwnId(queryset=SavedSurface.objects, required=False)
    technique = serializers.ChoiceField(choices=Technique.Slug.choices)
    base = serializers.ChoiceField(choices=BASE_CHOICES, required=False)
    count = serializers.IntegerField(min_value=1, max_value=500, default=1)
    palette = OwnId(queryset=Palette.objects, required=False, allow_null=True)
    topcoat = OwnId(queryset=ResinKit.objects, required=False, allow_null=True)

    def validate(self, data: dict[str, Any]) -> dict[str, Any]:
        if ("size" in data) == ("surface" in data):
            raise serializers.ValidationError(
                {"size": ["Give a size such as “8 x 8 x 1.5 in”, or a surface; one of the two."]}
            )
        if "size" in data:
            try:
                data["surface"] = read_surface(data.pop("size"))
            except StudioError as error:
                raise serializers.ValidationError({"size": [str(error)]}) from error
        return data
