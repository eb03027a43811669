"""The ledger: entries and what they moved, read; undone by a reversal; uses of materials."""

from django.shortcuts import get_object_or_404
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.response import Response

from inventory.models import Bottle, Entry, Material, Movement
from inventory.stock import ledger as stock
from inventory.supplies.api.materials import MaterialName
from studio.api.fields import AmountField, MomentField, read_amount
from studio.api.rows import OwnCode, OwnId, asked, asked_number
from studio.api.schema import pages_of
from studio.api.views import StudioView

MOST_MATERIALS = 100


class MovementOut(serializers.ModelSerializer):
    """One signed change of one bottle; the quantity is in the material's unit."""

    bottle = serializers.CharField(source="bottle.code")
    material = MaterialName()

    class Meta:
        model = Movement
        fields = ["id", "kind", "bottle", "material", "quantity", "value"]
        read_only_fields = fields


class EntryOut(serializers.ModelSerializer):
    """One act on the stock and all it moved. ``reversed_by`` names the entry that undid it."""

    by = serializers.CharField(source="by.username", allow_null=True, default=None)
    reversed_by = serializers.IntegerField(source="reversed_by.pk", allow_null=True, default=None)
    movements = MovementOut(many=True)

    class Meta:
        model = Entry
        fields = [
            "id",
            "happened_at",
            "recorded_at",
            "by",
            "purpose",
            "why",
            "reverses",
            "reversed_by",
            "movements",
        ]
        read_only_fields = fields


class WhyIn(serializers.Serializer):
    why = serializers.CharField(max_length=200)


class UseAmountIn(serializers.Serializer):
    """So much of a material; from ``bottles`` first, where any are named."""

    material = OwnId(queryset=Material.objects)
    quantity = AmountField()
    bottles = serializers.ListField(
        child=OwnCode(queryset=Bottle.objects), required=False, max_length=20
    )

    def validate(self, data):
        studio = self.context["request"].studio
        data["quantity"] = read_amount(data["quantity"], data["material"], studio)
        return data


class UseIn(serializers.Serializer):
    amounts = UseAmountIn(many=True, allow_empty=False, max_length=MOST_MATERIALS)
    why = serializers.CharField(max_length=200, required=False, allow_blank=True)
    purpose = serializers.CharField(max_length=80, default="Taken by hand")
    happened_at = MomentField(required=False)

    def validate_amounts(self, amounts):
        if len({one["material"].pk for one in amounts}) < len(amounts):
            raise serializers.ValidationError("Name each material once.", code="unique")
        return amounts


def entries_of(studio):
    """Return the entries of a studio, ready to be written out."""
    return studio.entries.select_related("by", "reversed_by").with_movements()


def entry_answer(request, entry, status=200):
    """Answer with one entry as it reads now."""
    return Response(EntryOut(entries_of(request.studio).get(pk=entry.pk)).data, status=status)


class EntriesEndpoint(StudioView):
    """The ledger."""

    @extend_schema(
        operation_id="entries_list",
        parameters=[
            OpenApiParameter("bottle", str, description="The code of a bottle."),
            OpenApiParameter("material", int, description="The id of a material."),
        ],
        responses=pages_of(EntryOut),
    )
    def get(self, request):
        """List the ledger, newest first."""
        rows, wanted = entries_of(request.studio), request.query_params
        if code := wanted.get("bottle"):
            rows = rows.filter(movements__bottle__code__iexact=code).distinct()
        if (pk := asked_number(request, "material")) is not None:
            rows = rows.filter(movements__material=pk).distinct()
        return self.paginated(rows, EntryOut)


class EntryEndpoint(StudioView):
    """One entry of the ledger."""

    @extend_schema(operation_id="entries_read", responses=EntryOut)
    def get(self, request, pk):
        """Read one entry and all it moved."""
        return Response(EntryOut(get_object_or_404(entries_of(request.studio), pk=pk)).data)


class ReverseEndpoint(StudioView):
    """Undoing."""

    @extend_schema(operation_id="entries_reverse", request=WhyIn, responses={201: EntryOut})
    def post(self, request, pk):
        """Undo an entry by its mirror image; both stay on record."""
        found = get_object_or_404(request.studio.entries, pk=pk)
        sent = asked(request, WhyIn).validated_data
        made = stock.reverse(studio=request.studio, by=request.user, entry=found, **sent)
        return entry_answer(request, made, status=201)


class UsesEndpoint(StudioView):
    """Using materials."""

    @extend_schema(operation_id="uses_add", request=UseIn, responses={201: EntryOut})
    def post(self, request):
        """Take materials off the shelf: what expires first goes first, or nothing is taken."""
        sent = asked(request, UseIn).validated_data
        amounts = sent.pop("amounts")
        made = stock.use(
            studio=request.studio,
            by=request.user,
            amounts={one["material"]: one["quantity"] for one in amounts},
            bottles={one["material"]: one["bottles"] for one in amounts if one.get("bottles")},
            **sent,
        )
        return entry_answer(request, made, status=201)
