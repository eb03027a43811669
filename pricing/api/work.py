"""The day's work: what to pour, coat, pack and hand over."""

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.response import Response

from pricing.bench.work import work_list
from pricing.bench.work.papers import work_pdf
from studio.api.papers import PaperView, describes_paper, paper
from studio.api.views import StudioView


class TakenOut(serializers.Serializer):
    """So much out of one bottle or box, in its material's own unit, and where that stands."""

    bottle = serializers.CharField(source="bottle.code")
    place = serializers.CharField(source="bottle.place")
    quantity = serializers.DecimalField(14, 4)


class WorkMixOut(serializers.Serializer):
    """A mix: how much in all, what of it is in bottles of mix, and what is left to mix."""

    recipe = serializers.IntegerField(source="recipe.pk")
    name = serializers.CharField(source="recipe.name")
    volume_ml = serializers.DecimalField(12, 3)
    measure = serializers.CharField()
    ready_ml = serializers.DecimalField(14, 4)
    fresh_ml = serializers.DecimalField(14, 4)
    ready = TakenOut(many=True)


class WorkLayerOut(serializers.Serializer):
    """One layer over all pieces of a session, rounded up once to a kitchen measure."""

    layer = serializers.CharField(source="session.layer")
    volume_ml = serializers.DecimalField(12, 3, source="session.volume_ml")
    measure = serializers.CharField(source="session.measure")
    mixes = WorkMixOut(many=True)


class WorkJobOut(serializers.Serializer):
    """So many pieces of one line, by its id."""

    line = serializers.IntegerField(source="line.pk")
    commission = serializers.IntegerField(source="line.commission.number")
    description = serializers.CharField(source="line.description")
    count = serializers.IntegerField()
    wanted_on = serializers.DateField(source="line.commission.wanted_on", allow_null=True)


class FetchOut(serializers.Serializer):
    """What pieces are poured on, and from which boxes."""

    material = serializers.CharField(source="material.name")
    quantity = serializers.DecimalField(14, 4)
    taken = TakenOut(many=True)


class ShortOut(serializers.Serializer):
    """What is missing of a material, in its own unit."""

    material = serializers.CharField(source="material.name")
    missing = serializers.DecimalField(14, 4)


class WorkSessionOut(serializers.Serializer):
    """Lines of one palette, poured together from the same cups."""

    palette = serializers.IntegerField(source="palette.pk")
    name = serializers.CharField(source="palette.name")
    pieces = serializers.IntegerField()
    wanted_on = serializers.DateField(allow_null=True)
    jobs = WorkJobOut(many=True)
    layers = WorkLayerOut(many=True)
    fetch = FetchOut(many=True)
    short = ShortOut(many=True)


class WorkCoatingOut(serializers.Serializer):
    """Resin over the pieces of one pour, from the day its paint is dry."""

    pour = serializers.IntegerField(source="pour.number")
    line = serializers.IntegerField(source="pour.line_id")
    count = serializers.IntegerField()
    from_on = serializers.DateField()
    kit = serializers.CharField(source="pour.line.topcoat.name")
    to_mix_ml = serializers.DecimalField(12, 3, source="layer.to_mix_ml")
    measure = serializers.CharField(source="layer.mix_measure")


class WorkPackingOut(serializers.Serializer):
    """Sets to pack, from the day their pieces can be handled; ``short`` of packaging."""

    line = serializers.IntegerField(source="line.pk")
    commission = serializers.IntegerField(source="line.commission.number")
    sets = serializers.IntegerField()
    from_on = serializers.DateField()
    packaging = serializers.CharField(source="line.packaging.name", allow_null=True, default=None)
    short = serializers.DecimalField(14, 4)


class WorkDeliveryOut(serializers.Serializer):
    """Packed sets to hand over, from the day their resin has cured."""

    commission = serializers.IntegerField(source="commission.number")
    sets = serializers.IntegerField()
    of = serializers.IntegerField()
    from_on = serializers.DateField()


class DayWorkOut(serializers.Serializer):
    """A day's work, each kind in the order in which it is wanted."""

    day = serializers.DateField()
    sessions = WorkSessionOut(many=True)
    coatings = WorkCoatingOut(many=True)
    packings = WorkPackingOut(many=True)
    deliveries = WorkDeliveryOut(many=True)


class WorkEndpoint(StudioView):
    """The day's work."""

    @extend_schema(operation_id="work_read", responses=DayWorkOut)
    def get(self, request):
        """Read what is to be poured, coated, packed and handed over now."""
        return Response(DayWorkOut(work_list(request.studio)).data)


class WorkSheetEndpoint(PaperView):
    """The paper for the bench."""

    @describes_paper("work_sheet", "The day's work as a PDF to hang at the bench.")
    def get(self, request):
        return paper(work_pdf(request.studio, work_list(request.studio)), "work")
