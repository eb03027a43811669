"""What needs doing about stock: alerts, promises, and the plan of what to buy."""

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.response import Response

from inventory.api.materials import MaterialName
from inventory.api.suppliers import SupplierName
from inventory.buying import papers, purchasing
from inventory.buying.alerts import KINDS, alerts
from inventory.models import Hold
from inventory.stock.holds import coverage
from studio.api.fields import MoneyField
from studio.api.papers import PaperView, describes_paper, paper
from studio.api.rows import asked_number
from studio.api.schema import pages_of
from studio.api.views import StudioView

BUDGET = OpenApiParameter("budget", OpenApiTypes.STR, description="The most to spend in all.")
SUPPLIER = OpenApiParameter("supplier", int, description="The id of the only supplier to show.")


class AlertOut(serializers.Serializer):
    """One thing to do about a material; ``days_left`` is how long it lasts at the usual use.

    Where a material costs more than a quote reckoned with, ``work`` is that quote, ``rise`` the
    share by which it costs more and ``extra_cost`` what that takes from the quote's profit.
    """

    kind = serializers.ChoiceField(choices=list(KINDS))
    material = MaterialName()
    sentence = serializers.CharField()
    days_left = serializers.FloatField(allow_null=True)
    runs_out_on = serializers.DateField(allow_null=True)
    bottle = serializers.CharField(source="bottle.code", allow_null=True, default=None)
    work = serializers.CharField()
    rise = serializers.DecimalField(10, 4, allow_null=True)
    extra_cost = serializers.DecimalField(14, 3, allow_null=True)


class HoldOut(serializers.ModelSerializer):
    """Stock promised to one work; ``covered`` is how much of ``outstanding`` is there for it."""

    material = MaterialName()
    outstanding = serializers.DecimalField(14, 4)
    covered = serializers.DecimalField(14, 4)

    class Meta:
        model = Hold
        fields = ["id", "label", "material", "outstanding", "covered", "needed_by", "created_at"]
        read_only_fields = fields


class PlanLineOut(serializers.Serializer):
    """So many of one pack, what they cost, how much of the material they bring, and why."""

    material = MaterialName()
    pack = serializers.IntegerField(source="pack.pk")
    pack_label = serializers.CharField(source="pack")
    count = serializers.IntegerField()
    unit_price = serializers.DecimalField(14, 3)
    cost = serializers.DecimalField(14, 3)
    covers = serializers.DecimalField(14, 4)
    last_paid = serializers.DecimalField(14, 3, allow_null=True)
    needed_by = serializers.DateField(allow_null=True)
    arrives_on = serializers.DateField()
    late = serializers.BooleanField()
    why = serializers.CharField()


class PlanOrderOut(serializers.Serializer):
    """What to buy from one supplier."""

    supplier = SupplierName()
    lines = PlanLineOut(many=True)
    goods = serializers.DecimalField(14, 3)
    shipping = serializers.DecimalField(14, 3)
    total = serializers.DecimalField(14, 3)
    arrives_on = serializers.DateField()


class ComparisonOut(serializers.Serializer):
    """What the same would cost bought another way; ``proven`` when that way costs no less."""

    way = serializers.CharField()
    supplier = SupplierName(allow_null=True)
    total = serializers.DecimalField(14, 3)
    saving = serializers.DecimalField(14, 3)
    proven = serializers.BooleanField()


class LeftNeedOut(serializers.Serializer):
    """An amount of a material, by when, and what for."""

    material = MaterialName()
    quantity = serializers.DecimalField(14, 4)
    needed_by = serializers.DateField(allow_null=True)
    reason = serializers.CharField()


class LeftOutOut(serializers.Serializer):
    """What the budget did not allow, most pressing first; ``all_total`` is what covers everything,
    ``next_total`` the first of it too. ``proven`` when nothing within the budget covers more."""

    needs = LeftNeedOut(many=True)
    all_total = serializers.DecimalField(14, 3)
    next_total = serializers.DecimalField(14, 3)
    proven = serializers.BooleanField()


class PlanOut(serializers.Serializer):
    """The purchase of least landed cost; ``proven`` when nothing cheaper covers as much."""

    made_on = serializers.DateField()
    orders = PlanOrderOut(many=True)
    goods = serializers.DecimalField(14, 3)
    shipping = serializers.DecimalField(14, 3)
    total = serializers.DecimalField(14, 3)
    compared_with = ComparisonOut(many=True)
    notes = serializers.ListField(child=serializers.CharField())
    proven = serializers.BooleanField()
    gap = serializers.FloatField()
    budget = serializers.DecimalField(14, 3, allow_null=True)
    left_out = LeftOutOut(allow_null=True)


class PlanIn(serializers.Serializer):
    """What may be said about a plan, in the address."""

    budget = MoneyField(required=False)


class AlertsEndpoint(StudioView):
    """What needs doing about stock."""

    @extend_schema(operation_id="alerts_list", responses=pages_of(AlertOut))
    def get(self, request):
        """List the alerts, what stops work first on top; what prices do to quotes is for owners."""
        with_money = request.membership.may("owner")
        return self.paginated(alerts(request.studio, with_money), AlertOut)


class HoldsEndpoint(StudioView):
    """What is promised."""

    @extend_schema(operation_id="holds_list", responses=pages_of(HoldOut))
    def get(self, request):
        """List what is promised to accepted work, first promised first served."""
        promised = coverage(request.studio)
        for hold, covered in promised.items():
            hold.covered = covered
        return self.paginated(list(promised), HoldOut)


def _plan(request):
    """Return the plan within the budget that the address gives."""
    sent = PlanIn(data=request.query_params, context={"request": request})
    sent.is_valid(raise_exception=True)
    return purchasing.plan(studio=request.studio, **sent.validated_data)


class ReorderPlanEndpoint(StudioView):
    """What to buy."""

    @extend_schema(operation_id="reorder_plan_read", parameters=[BUDGET], responses=PlanOut)
    def get(self, request):
        """What to buy now, where and in which packs, for the least money, and why."""
        return Response(PlanOut(_plan(request)).data)


class ReorderSheetEndpoint(PaperView):
    """What to buy, on paper."""

    @describes_paper(
        "reorder_plan_sheet",
        "The reorder sheet as a PDF, of all suppliers or of one.",
        [BUDGET, SUPPLIER],
    )
    def get(self, request):
        supplier = asked_number(request, "supplier")
        sheet = papers.reorder_sheet(request.studio, _plan(request), supplier)
        return paper(sheet, "reorder-sheet")
