"""Stock at the lower of cost and net realisable value: a report that posts nothing."""

from typing import Any

from django.db.models import QuerySet
from django.http import HttpResponse
from rest_framework import serializers

from inventory.models import Bottle, Material
from inventory.supplies.api.materials import MaterialName
from pricing.costing.api.costs import value
from pricing.earnings import valuation as valuing
from pricing.earnings.appraisals import appraise, withdraw_appraisal
from pricing.earnings.valuation import valuation
from pricing.earnings.views.valuation import file_answer, sheet_answer
from pricing.models import Appraisal, PieceSet
from studio.api.acts import act, answer, file
from studio.api.asked import AS_OF, asked_past_day
from studio.api.fields import DayField, MoneyField
from studio.api.files import AS, TABLES, asked_format
from studio.api.rows import OwnCode, OwnId, OwnNumber, RowOut
from studio.api.viewsets import Added, Listed, Read, StudioViewSet
from studio.sight import COSTS


class MaterialItemOut(serializers.Serializer):
    """A bottle apart, or the rest together; ``measure`` is null where it stays at cost."""

    quantity = serializers.DecimalField(14, 4)
    basis = serializers.ChoiceField(["appraised", "expired", "covered", "replacement", "unknown"])
    measure = value(allow_null=True)
    cost, value, write_down = value(), value(), value()


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
    label = serializers.CharField()  # type: ignore[assignment]  # what is written out, not the serializer's own
    name, basis = serializers.CharField(), serializers.CharField()
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


class AppraisalOut(RowOut):
    """What all of one thing on hand would bring, after what selling it costs."""

    bottle = serializers.CharField(source="bottle.code", allow_null=True, default=None)
    set = serializers.IntegerField(source="piece_set.number", allow_null=True, default=None)

    class Meta:
        model = Appraisal
        fields = read_only_fields = (
            *("id", "material", "bottle", "set", "quantity", "value", "reason", "day"),
            *("recorded_at", "withdrawn_at"),
        )


class AppraisalIn(serializers.Serializer):
    """One of a material, a bottle or a set."""

    material = OwnId(queryset=Material.objects, required=False)
    bottle = OwnCode(queryset=Bottle.objects, required=False)
    set = OwnNumber(queryset=PieceSet.objects, required=False)
    value = MoneyField(allow_zero=True)
    reason = serializers.CharField(max_length=200)
    day = DayField(required=False)

    def validate(self, data: dict[str, Any]) -> dict[str, Any]:
        named = [data.pop(name) for name in ("material", "bottle", "set") if name in data]
        if len(named) != 1:
            raise serializers.ValidationError("Name one thing: a material, a bottle or a set.")
        return data | {"thing": named[0]}


class ValuationViewSet(StudioViewSet):
    """What stock may be carried at."""

    sights = (COSTS,)

    @answer(ValuationOut, on_row=False, parameters=AS_OF)
    def read(self) -> valuing.Valuation:
        """Stock at the lower of cost and net realisable value; nothing is posted."""
        return valuation(self.studio, asked_past_day(self))

    @file(on_row=False, parameters=AS_OF)
    def sheet(self) -> HttpResponse:
        """Stock at the lower of cost and what it would bring, on paper."""
        return sheet_answer(self.studio, asked_past_day(self))

    @file(media_types=TABLES, on_row=False, parameters=(AS, *AS_OF))
    def table(self) -> HttpResponse:
        """Stock at the lower of cost and what it would bring, as a table."""
        return file_answer(self.studio, asked_format(self.request), asked_past_day(self))


class Appraisals(Listed, Read, Added):
    """What things on hand were said to bring, latest first."""

    model, out, takes = Appraisal, AppraisalOut, AppraisalIn
    sights = (COSTS,)
    dated_by = "day"
    write_role = "owner"

    def rows(self) -> QuerySet[Appraisal]:
        return self.studio.appraisals.select_related("bottle", "piece_set")

    def add(self, **sent: Any) -> Appraisal:
        """Note what all that is on hand of a thing would bring, and why."""
        return appraise(studio=self.studio, by=self.request.user, **sent)

    @act()
    def withdraw(self, appraisal: Appraisal) -> Appraisal:
        """Take an appraisal back."""
        return withdraw_appraisal(appraisal=appraisal)
