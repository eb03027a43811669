"""The day's work: what to pour, coat, pack and hand over."""

from django.http import HttpResponse
from rest_framework import serializers

from inventory.mixing.api.recipes import RecipeName
from inventory.supplies.api.materials import MaterialName, number
from pricing.bench.work import WorkList, work_list
from pricing.bench.work.papers import work_pdf
from pricing.costing.api.names import PaletteName, ResinKitName
from studio.api.acts import answer, file
from studio.api.viewsets import StudioViewSet
from studio.pdf import pdf_response


class TakenOut(serializers.Serializer):
    """So much out of one bottle or box, in its material's own unit, and where that stands."""

    bottle = serializers.CharField(source="bottle.code")
    place = serializers.CharField(source="bottle.place")
    quantity = number()


class WorkMixOut(serializers.Serializer):
    """A mix: how much in all, what of it is in bottles of mix, and what is left to mix."""

    recipe = RecipeName()
    volume_ml = serializers.DecimalField(12, 3)
    measure = serializers.CharField()
    ready_ml = number()
    fresh_ml = number()
    ready = TakenOut(many=True)


class WorkLayerOut(serializers.Serializer):
    """One layer over all pieces of a session, rounded up once to a kitchen measure."""

    layer = serializers.CharField(source="session.layer")
    volume_ml = serializers.DecimalField(12, 3, source="session.mix.volume_ml")
    measure = serializers.CharField(source="session.mix.measure")
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

    material = MaterialName()
    quantity = number()
    taken = TakenOut(many=True)


class ShortOut(serializers.Serializer):
    """What is missing of a material, in its own unit."""

    material = MaterialName()
    missing = number()


class WorkSessionOut(serializers.Serializer):
    """Lines of one palette, poured together from the same cups."""

    palette = PaletteName()
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
    kit = ResinKitName(source="pour.line.topcoat")
    to_mix_ml = serializers.DecimalField(12, 3, source="layer.to_mix_ml")
    measure = serializers.CharField(source="layer.mix_measure")


class WorkPackingOut(serializers.Serializer):
    """Sets to pack, from the day their pieces can be handled; ``short`` of packaging."""

    line = serializers.IntegerField(source="line.pk")
    commission = serializers.IntegerField(source="line.commission.number")
    sets = serializers.IntegerField()
    from_on = serializers.DateField()
    packaging = MaterialName(source="line.packaging", allow_null=True)
    short = number()
    lacks = ShortOut(many=True)


class WorkDeliveryOut(serializers.Serializer):
    """Packed sets to hand over, from the day their resin has cured."""

    commission = serializers.IntegerField(source="commission.number")
    sets = serializers.IntegerField()
    of = serializers.IntegerField()
    from_on = serializers.DateField()


class WorkJudgingOut(serializers.Serializer):
    """Pieces of a pour to say of how they came out, from the day they should be dry or hard."""

    pour = serializers.IntegerField(source="pour.number")
    stage = serializers.CharField()
    count = serializers.IntegerField()
    from_on = serializers.DateField()


class DayWorkOut(serializers.Serializer):
    """A day's work, each kind in the order in which it is wanted."""

    day = serializers.DateField()
    sessions = WorkSessionOut(many=True)
    coatings = WorkCoatingOut(many=True)
    packings = WorkPackingOut(many=True)
    deliveries = WorkDeliveryOut(many=True)
    judgings = WorkJudgingOut(many=True)


class WorkViewSet(StudioViewSet):
    """The day's work."""

    @answer(DayWorkOut, on_row=False)
    def read(self) -> WorkList:
        """Read what is to be poured, coated, packed and handed over now."""
        return work_list(self.studio)

    @file(on_row=False)
    def sheet(self) -> HttpResponse:
        """The day's work as a PDF to hang at the bench."""
        return pdf_response(work_pdf(self.studio, work_list(self.studio)), "work.pdf")
