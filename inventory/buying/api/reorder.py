"""The plan of what to buy."""

from typing import ClassVar

from django.http import HttpResponse
from rest_framework import serializers

from inventory.buying import papers, purchasing
from inventory.buying.purchasing.planning import StudioPlan
from inventory.supplies.api.materials import MaterialName
from inventory.supplies.api.suppliers import SupplierName
from studio.api.acts import answer, file
from studio.api.fields import MoneyField
from studio.api.rows import Sighted
from studio.api.viewsets import StudioViewSet
from studio.pdf import pdf_response
from studio.sight import COSTS, seen_by


class PlanLineOut(Sighted):
    """So many of one pack, what they cost, how much of the material they bring, and why."""

    sights = dict.fromkeys(("unit_price", "cost", "last_paid", "why"), COSTS)

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


class PlanOrderOut(Sighted):
    """What to buy from one supplier."""

    sights = dict.fromkeys(("goods", "shipping", "total"), COSTS)

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


class PlanOut(Sighted):
    """The purchase of least landed cost; ``proven`` when nothing cheaper covers as much."""

    sights = dict.fromkeys(
        ("goods", "shipping", "total", "compared_with", "budget", "left_out"), COSTS
    )

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


class PlanIn(Sighted):
    """What may be said about a plan, in the address."""

    sights: ClassVar = {"budget": COSTS}

    budget = MoneyField(required=False, help_text="The most to spend in all.")


class SheetIn(PlanIn):
    supplier = serializers.IntegerField(
        min_value=1,
        max_value=2**63 - 1,
        required=False,
        help_text="The id of the only supplier to show.",
    )


class ReorderPlan(StudioViewSet):
    """What to buy."""

    @answer(PlanOut, on_row=False, parameters=(PlanIn,))
    def read(self) -> StudioPlan:
        """What to buy now, where and in which packs, for the least money, and why."""
        return purchasing.plan(studio=self.studio, **self.checked_query(PlanIn))

    @file(on_row=False, parameters=(SheetIn,))
    def sheet(self) -> HttpResponse:
        """The reorder sheet as a PDF, of all suppliers or of one."""
        query = self.checked_query(SheetIn)
        supplier = query.pop("supplier", None)
        plan = purchasing.plan(studio=self.studio, **query)
        seen = seen_by(self.request.membership)
        return pdf_response(
            papers.reorder_sheet(self.studio, plan, supplier, seen), "reorder-sheet.pdf"
        )
