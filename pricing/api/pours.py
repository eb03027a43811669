"""Pours: logged with what they really took, set aside, undone."""

from django.shortcuts import get_object_or_404
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.response import Response

from inventory.models import Bottle
from pricing.api.topcoats import TopcoatingOut
from pricing.bench.pours import LayerLog, log_pour, set_pour_aside, undo_pour
from pricing.costing.api.costs import SpentOut, minutes_in
from pricing.costing.api.names import PaletteName, SurfaceName
from pricing.costing.piece_costs import cost_of_pour
from pricing.models import CommissionLine, Palette, Pour, PourLayer, SavedSurface, Technique
from studio.api.fields import MomentField, VolumeField
from studio.api.rows import OwnCode, OwnId, OwnSlug, asked
from studio.api.schema import pages_of
from studio.api.serializers import WhyIn
from studio.api.views import StudioView


class PourLayerOut(serializers.ModelSerializer):
    """What one layer took over all pieces, beside what was forecast before it."""

    class Meta:
        model = PourLayer
        exclude = ["id", "pour"]
        read_only_fields = [field.name for field in PourLayer._meta.fields]


class PourOut(serializers.ModelSerializer):
    """One session at the bench; it is named by its number."""

    surface, palette = SurfaceName(), PaletteName()
    technique = serializers.CharField(source="technique.slug")
    commission = serializers.IntegerField(
        source="line.commission.number", allow_null=True, default=None
    )
    by = serializers.CharField(source="by.username", allow_null=True, default=None)
    undone_by = serializers.IntegerField(
        source="entry.reversed_by.pk", allow_null=True, default=None
    )
    layers = PourLayerOut(many=True)

    class Meta:
        model = Pour
        fields = [
            "number",
            "commission",
            "line",
            "surface",
            "technique",
            "palette",
            "count",
            "good_count",
            "poured_at",
            "minutes",
            "faults",
            "notes",
            "by",
            "set_aside",
            "entry",
            "undone_by",
            "layers",
        ]
        read_only_fields = fields


class PourDetailOut(PourOut):
    """A pour with its topcoats, its pieces by their ids, and what all of it took."""

    topcoatings = TopcoatingOut(many=True)
    pieces = serializers.PrimaryKeyRelatedField(many=True, read_only=True)
    spent = serializers.SerializerMethodField()

    class Meta(PourOut.Meta):
        fields = [*PourOut.Meta.fields, "topcoatings", "pieces", "spent"]

    def get_spent(self, pour) -> SpentOut:
        return SpentOut(cost_of_pour(pour)).data


class FromMixIn(serializers.Serializer):
    """So much out of one bottle of mix."""

    bottle = OwnCode(queryset=Bottle.objects.select_related("material__recipe"))
    ml = VolumeField()


class PourLayerIn(serializers.Serializer):
    """What was mixed of one layer, left in cups, scraped back, and taken from reclaimed paint.

    ``mixes`` says what of it came from bottles of mix; the rest was mixed from its recipes.
    """

    layer = serializers.ChoiceField(choices=PourLayer.Layer.choices)
    mixed_ml = VolumeField()
    left_ml = VolumeField(required=False, allow_zero=True)
    kept_ml = VolumeField(required=False, allow_zero=True)
    reclaimed_ml = VolumeField(required=False, allow_zero=True)
    mixes = FromMixIn(many=True, required=False, max_length=40)


class PourIn(serializers.Serializer):
    """A pour for a line of a commission, or of a surface, technique and palette for stock."""

    line = OwnId(queryset=CommissionLine.objects, through="commission__studio", required=False)
    surface = OwnId(queryset=SavedSurface.objects, required=False)
    technique = OwnSlug(queryset=Technique.objects.filter(is_offered=True), required=False)
    palette = OwnId(queryset=Palette.objects, required=False)
    count = serializers.IntegerField(min_value=1, max_value=200)
    good_count = serializers.IntegerField(min_value=0, max_value=200)
    minutes = minutes_in()
    layers = PourLayerIn(many=True, allow_empty=False, max_length=len(PourLayer.Layer))
    faults = serializers.CharField(max_length=200, required=False, allow_blank=True)
    notes = serializers.CharField(max_length=10_000, required=False, allow_blank=True)
    poured_at = MomentField(required=False)

    def validate_layers(self, layers):
        if len({one["layer"] for one in layers}) < len(layers):
            raise serializers.ValidationError("Name each layer once.", code="unique")
        return layers

    def validate(self, data):
        missing = [name for name in ("surface", "technique", "palette") if name not in data]
        if "line" not in data and missing:
            words = ["Name it, or the line of a commission that it is for."]
            raise serializers.ValidationError(dict.fromkeys(missing, words), code="required")
        return data


class SetAsideIn(serializers.Serializer):
    """Why the estimates should not learn from a pour; empty takes it back."""

    why = serializers.CharField(max_length=200, allow_blank=True)


def pours_of(studio):
    """Return the pours of a studio with their layers, ready to be written out."""
    rows = studio.pours.select_related(
        "surface", "technique", "palette", "line__commission", "by", "entry__reversed_by"
    )
    return rows.prefetch_related("layers")


class PourView(StudioView):
    """An endpoint of one pour."""

    def found(self, request, number):
        """Return the pour with this number, or a 404."""
        rows = pours_of(request.studio).prefetch_related(
            "pieces", "topcoatings__kit", "topcoatings__entry__reversed_by"
        )
        return get_object_or_404(rows, number=number)

    def answer(self, request, number, status=200):
        """Answer with the pour as it is now."""
        return Response(PourDetailOut(self.found(request, number)).data, status=status)


class PoursEndpoint(PourView):
    """The pours."""

    @extend_schema(operation_id="pours_list", responses=pages_of(PourOut))
    def get(self, request):
        """List the pours, newest first."""
        return self.paginated(pours_of(request.studio), PourOut)

    @extend_schema(operation_id="pours_add", request=PourIn, responses={201: PourDetailOut})
    def post(self, request):
        """Log a pour: what it took leaves the shelf in one entry, and the estimates learn."""
        sent = asked(request, PourIn).validated_data
        layers = {one.pop("layer"): _log(one) for one in sent.pop("layers")}
        made = log_pour(studio=request.studio, by=request.user, layers=layers, **sent)
        return self.answer(request, made.number, status=201)


def _log(one):
    mixes = tuple((mix["bottle"], mix["ml"]) for mix in one.pop("mixes", ()))
    return LayerLog(mixes=mixes, **one)


class PourEndpoint(PourView):
    """One pour."""

    @extend_schema(operation_id="pours_read", responses=PourDetailOut)
    def get(self, request, number):
        """Read one pour: forecast beside what it took, its pieces, topcoats and cost."""
        return self.answer(request, number)


class SetPourAsideEndpoint(PourView):
    """Setting aside."""

    @extend_schema(operation_id="pours_set_aside", request=SetAsideIn, responses=PourDetailOut)
    def post(self, request, number):
        """Keep a pour out of what the estimates learn from, or take it back in."""
        found = self.found(request, number)
        set_pour_aside(pour=found, **asked(request, SetAsideIn).validated_data)
        return self.answer(request, number)


class UndoPourEndpoint(PourView):
    """Undoing."""

    @extend_schema(operation_id="pours_undo", request=WhyIn, responses=PourDetailOut)
    def post(self, request, number):
        """Undo a pour logged by mistake: everything it took is back on the shelf."""
        found = self.found(request, number)
        undo_pour(pour=found, by=request.user, **asked(request, WhyIn).validated_data)
        return self.answer(request, number)
