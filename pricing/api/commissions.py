"""Commissions: taken down, changed, moved on by hand."""

from django.db import transaction
from django.shortcuts import get_object_or_404
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.response import Response

from inventory.supplies.api.materials import MaterialName
from pricing.commissions import orders as work
from pricing.costing.api.names import CustomerName, PaletteName, ResinKitName, SurfaceName
from pricing.costing.catalogue import add_customer
from pricing.models import Commission, CommissionEvent, CommissionLine, Customer
from studio.api.rows import OwnId, asked
from studio.api.schema import pages_of
from studio.api.views import StudioView

LINE_PARTS = ("surface", "technique", "palette", "topcoat", "packaging")


class CommissionLineOut(serializers.ModelSerializer):
    """So many pieces or sets of one size, technique and palette."""

    description = serializers.CharField()
    surface, palette = SurfaceName(), PaletteName()
    technique = serializers.CharField(source="technique.slug")
    topcoat = ResinKitName(allow_null=True)
    packaging = MaterialName(allow_null=True)

    class Meta:
        model = CommissionLine
        fields = [
            "id",
            "description",
            "quantity",
            "pieces_each",
            "surface",
            "technique",
            "palette",
            "topcoat",
            "packaging",
        ]
        read_only_fields = fields


class CommissionEventOut(serializers.ModelSerializer):
    by = serializers.CharField(source="by.username", allow_null=True, default=None)

    class Meta:
        model = CommissionEvent
        fields = ["status", "at", "by", "note"]
        read_only_fields = fields


class CommissionOut(serializers.ModelSerializer):
    """One customer's request; it is named by its number."""

    customer = CustomerName()
    lines = CommissionLineOut(many=True)
    events = CommissionEventOut(many=True)

    class Meta:
        model = Commission
        fields = [
            "number",
            "title",
            "customer",
            "status",
            "due_on",
            "promised_on",
            "notes",
            "created_at",
            "lines",
            "events",
        ]
        read_only_fields = fields


class CommissionIn(serializers.ModelSerializer):
    """Who asks for what, and by when; a customer the studio has, or a new one's name."""

    customer = OwnId(queryset=Customer.objects, required=False)
    new_customer = serializers.CharField(max_length=120, required=False)
    new_email = serializers.EmailField(required=False, allow_blank=True)

    class Meta:
        model = Commission
        fields = ["title", "customer", "new_customer", "new_email", "due_on", "notes"]

    def validate(self, data):
        named = ("customer" in data) + ("new_customer" in data)
        if named > 1 or (not named and not self.partial):
            raise serializers.ValidationError(
                {"customer": ["Name a customer, or give a new one's name; one of the two."]}
            )
        return data


class StepIn(serializers.Serializer):
    status = serializers.ChoiceField(choices=Commission.Status.choices)
    note = serializers.CharField(max_length=300, required=False, allow_blank=True)


def commissions_of(studio):
    """Return the commissions of a studio with lines and events, ready to be written out."""
    rows = studio.commissions.select_related("customer", "studio")
    parts = [f"lines__{part}" for part in LINE_PARTS]
    return rows.prefetch_related(*parts, "events__by")


class CommissionView(StudioView):
    """An endpoint of one commission."""

    def found(self, request, number):
        """Return the commission with this number, or a 404."""
        return get_object_or_404(commissions_of(request.studio), number=number)

    def answer(self, request, number, status=200):
        """Answer with the commission as it is now."""
        return Response(CommissionOut(self.found(request, number)).data, status=status)


def _with_customer(request, sent):
    """Return the fields with the customer named, written down first where it is a new one."""
    name, email = sent.pop("new_customer", None), sent.pop("new_email", "")
    if name is not None:
        sent["customer"] = add_customer(studio=request.studio, name=name, email=email)
    return sent


class CommissionsEndpoint(CommissionView):
    """The commissions."""

    @extend_schema(
        operation_id="commissions_list",
        parameters=[OpenApiParameter("status", str, enum=Commission.Status.values)],
        responses=pages_of(CommissionOut),
    )
    def get(self, request):
        """List the commissions, newest first."""
        rows = commissions_of(request.studio)
        if status := request.query_params.get("status"):
            rows = rows.filter(status=status)
        return self.paginated(rows, CommissionOut)

    @extend_schema(
        operation_id="commissions_add", request=CommissionIn, responses={201: CommissionOut}
    )
    @transaction.atomic
    def post(self, request):
        """Take an enquiry down."""
        sent = _with_customer(request, asked(request, CommissionIn).validated_data)
        made = work.open_commission(studio=request.studio, by=request.user, **sent)
        return self.answer(request, made.number, status=201)


class CommissionEndpoint(CommissionView):
    """One commission."""

    @extend_schema(operation_id="commissions_read", responses=CommissionOut)
    def get(self, request, number):
        """Read one commission: its pieces and how far it has come."""
        return self.answer(request, number)

    @extend_schema(
        operation_id="commissions_change",
        request=CommissionIn(partial=True),
        responses=CommissionOut,
    )
    @transaction.atomic
    def patch(self, request, number):
        """Change who it is for, its title, its date and notes."""
        found = self.found(request, number)
        sent = _with_customer(request, asked(request, CommissionIn, partial=True).validated_data)
        work.change_commission(commission=found, by=request.user, **sent)
        return self.answer(request, number)


class CommissionStepEndpoint(CommissionView):
    """A step by hand."""

    @extend_schema(operation_id="commissions_step", request=StepIn, responses=CommissionOut)
    def post(self, request, number):
        """Take a step by hand, such as delivered, paid, declined or cancelled."""
        found = self.found(request, number)
        sent = asked(request, StepIn).validated_data
        work.move_on(commission=found, by=request.user, **sent)
        return self.answer(request, number)
