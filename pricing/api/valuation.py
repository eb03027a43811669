"""Stock at the lower of cost and net realisable value: a report that posts nothing."""

from django.shortcuts import get_object_or_404
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.response import Response

from inventory.api.imports import asked_format, describes_file
from inventory.models import Bottle, Material
from inventory.supplies.api.materials import MaterialName
from pricing.costing.api.costs import value
from pricing.earnings.appraisals import appraise, withdraw_appraisal
from pricing.earnings.valuation import valuation
from pricing.earnings.valuation_files import valuation_pdf
from pricing.earnings.views.valuation import NAME, file_answer
from pricing.models import Appraisal, PieceSet
from studio.api.fields import DayField, MoneyField
from studio.api.papers import PaperView, describes_paper, paper
from studio.api.rows import OwnCode, OwnId, OwnNumber, asked
from studio.api.schema import pages_of
from studio.api.views import StudioView


class MaterialItemOut(serializers.Serializer):
    """A bottle apart, or the rest together; ``measure`` is null where it stays at cost."""

    quantity = serializers.DecimalField(14, 4)
    basis = serializers.ChoiceField(["appraised", "expired", "covered", "replacement", "unknown"])
    cost, value, write_down = value(), value(), value()
    measure = serializers.DecimalField(18, 6, allow_null=True)


class MaterialValueOut(serializers.Serializer):
    """One material on hand at the lower of cost and measure, item by item."""

    material = MaterialName()
    quantity = serializers.DecimalField(14, 4)
    cost, value, write_down = value(), value(), value()
    items = MaterialItemOut(many=True)


class ExpectedOut(serializers.Serializer):
    """A price with tax, and what is left of it after tax and the fees to sell."""

    price, tax, fees, net = value(), value(), value(), value()


class FinishedValueOut(serializers.Serializer):
    """One set on hand, by its number, or the loose pieces of one pour together."""

    set = serializers.IntegerField(source="piece_set.number", allow_null=True, default=None)
    label, name, basis = (serializers.CharField() for _ in range(3))
    count = serializers.IntegerField()
    cost, value, write_down = value(), value(), value()
    expected = ExpectedOut(allow_null=True)


class ValuationTotalOut(serializers.Serializer):
    cost, value, write_down = value(), value(), value()


class ValuationOut(serializers.Serializer):
    """All that is on hand on one day."""

    on = serializers.DateField()
    materials = MaterialValueOut(many=True)
    finished = FinishedValueOut(many=True)
    total = ValuationTotalOut()


class ValuationEndpoint(StudioView):
    """What stock may be carried at."""

    @extend_schema(operation_id="valuation_read", responses=ValuationOut)
    def get(self, request):
        """Stock at the lower of cost and net realisable value; nothing is posted."""
        return Response(ValuationOut(valuation(request.studio)).data)


class ValuationFileEndpoint(PaperView):
    """The same as a table."""

    @describes_file("valuation_file", "Stock at the lower of cost and what it would bring.")
    def get(self, request):
        return file_answer(request.studio, asked_format(request))


class ValuationSheetEndpoint(PaperView):
    """The same on paper."""

    @describes_paper("valuation_sheet", "Stock at the lower of cost and what it would bring.")
    def get(self, request):
        return paper(valuation_pdf(request.studio, valuation(request.studio)), NAME)


class AppraisalOut(serializers.ModelSerializer):
    """What all of one thing on hand would bring, after what selling it costs."""

    bottle = serializers.CharField(source="bottle.code", allow_null=True, default=None)
    set = serializers.IntegerField(source="piece_set.number", allow_null=True, default=None)

    class Meta:
        model = Appraisal
        fields = [
            "id",
            "material",
            "bottle",
            "set",
            "quantity",
            "value",
            "reason",
            "day",
            "recorded_at",
            "withdrawn_at",
        ]
        read_only_fields = fields


class AppraisalIn(serializers.Serializer):
    """One of a material, a bottle or a set."""

    material = OwnId(queryset=Material.objects, required=False)
    bottle = OwnCode(queryset=Bottle.objects, required=False)
    set = OwnNumber(queryset=PieceSet.objects, required=False)
    value = MoneyField(allow_zero=True)
    reason = serializers.CharField(max_length=200)
    day = DayField(required=False)

    def validate(self, data):
        named = [data.pop(name) for name in ("material", "bottle", "set") if name in data]
        if len(named) != 1:
            raise serializers.ValidationError("Name one thing: a material, a bottle or a set.")
        return data | {"thing": named[0]}


class AppraisalsEndpoint(StudioView):
    """Appraisals by hand."""

    write_role = "owner"

    @extend_schema(operation_id="appraisals_list", responses=pages_of(AppraisalOut))
    def get(self, request):
        """List what things on hand were said to bring, latest first."""
        rows = request.studio.appraisals.select_related("bottle", "piece_set")
        return self.paginated(rows, AppraisalOut)

    @extend_schema(
        operation_id="appraisals_add", request=AppraisalIn, responses={201: AppraisalOut}
    )
    def post(self, request):
        """Note what all that is on hand of a thing would bring, and why."""
        sent = asked(request, AppraisalIn).validated_data
        made = appraise(studio=request.studio, by=request.user, **sent)
        return Response(AppraisalOut(made).data, status=201)


class AppraisalWithdrawEndpoint(StudioView):
    """Taking an appraisal back."""

    write_role = "owner"

    @extend_schema(operation_id="appraisals_withdraw", request=None, responses=AppraisalOut)
    def post(self, request, pk):
        """Take an appraisal back."""
        found = get_object_or_404(request.studio.appraisals, pk=pk)
        return Response(AppraisalOut(withdraw_appraisal(appraisal=found)).data)
