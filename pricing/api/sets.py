"""Finished pieces, and the sets they are packed into."""

from decimal import Decimal

from django.shortcuts import get_object_or_404
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.response import Response

from inventory.models import Material
from pricing.api.costs import SpentOut, minutes_in
from pricing.costing.piece_costs import cost_book
from pricing.models import CommissionLine, FinishedPiece, PieceSet
from pricing.selling.sales import pack_set, unpack_set
from studio.api.fields import DayField
from studio.api.rows import OwnId, asked, asked_number
from studio.api.schema import pages_of
from studio.api.views import StudioView

MOST_PIECES = 24


class PieceOut(serializers.ModelSerializer):
    """One piece that came out of a pour; ``set`` is the number of the set it is in."""

    pour = serializers.IntegerField(source="pour.number")
    surface = serializers.CharField(source="pour.surface.name")
    technique = serializers.CharField(source="pour.technique.slug")
    palette = serializers.CharField(source="pour.palette.name")
    line = serializers.IntegerField(source="pour.line_id", allow_null=True)

    class Meta:
        model = FinishedPiece
        fields = ["id", "pour", "number", "state", "surface", "technique", "palette", "line", "set"]
        read_only_fields = fields

    set = serializers.IntegerField(source="piece_set.number", allow_null=True, default=None)


class SetOut(serializers.ModelSerializer):
    """Pieces packed to be sold together; named by its number. ``pieces`` are their ids."""

    commission = serializers.IntegerField(
        source="line.commission.number", allow_null=True, default=None
    )
    is_sold = serializers.BooleanField()
    shop = serializers.CharField(
        allow_null=True, help_text="The shop that it stands at on consignment."
    )
    pieces = serializers.PrimaryKeyRelatedField(many=True, read_only=True)
    spent = SpentOut(allow_null=True)

    class Meta:
        model = PieceSet
        fields = [
            "number",
            "name",
            "commission",
            "line",
            "made_on",
            "minutes",
            "heat_limit_c",
            "pieces",
            "is_sold",
            "shop",
            "unpacked_at",
            "written_off_at",
            "spent",
        ]
        read_only_fields = fields


class SetIn(serializers.Serializer):
    """Loose good pieces by their ids; for a commission's line, as many as the line says."""

    name = serializers.CharField(max_length=200, required=False, allow_blank=True, default="")
    pieces = serializers.ListField(
        child=OwnId(queryset=FinishedPiece.objects), allow_empty=False, max_length=MOST_PIECES
    )
    line = OwnId(queryset=CommissionLine.objects, through="commission__studio", required=False)
    packaging = OwnId(
        queryset=Material.objects.filter(kind=Material.Kind.PACKAGING),
        required=False,
        allow_null=True,
    )
    also = serializers.ListField(
        child=OwnId(queryset=Material.objects.filter(kind=Material.Kind.PACKAGING)),
        required=False,
        max_length=MOST_PIECES,
        help_text="More packaging, one of each: the tissue and the card beside the box.",
    )
    minutes = minutes_in(default=Decimal(0))
    made_on = DayField(required=False)


class UnpackIn(serializers.Serializer):
    """Why, and whether the packaging can be used again."""

    why = serializers.CharField(max_length=200)
    packaging_back = serializers.BooleanField(default=True)


def sets_of(studio):
    """Return the sets of a studio with their pieces."""
    rows = studio.sets.with_sold().select_related("line__commission", "studio", "entry")
    return rows.prefetch_related("pieces")


def with_costs(studio, sets):
    """Put on each set what it took, in a fixed number of queries."""
    book = cost_book(studio)
    for one in sets:
        one.spent = book.by_set.get(one.pk)
    return sets


class PiecesEndpoint(StudioView):
    """What came out of the pours."""

    @extend_schema(
        operation_id="pieces_list",
        parameters=[
            OpenApiParameter("loose", bool, description="Only good pieces that are in no set."),
            OpenApiParameter("line", int, description="The id of a commission's line."),
        ],
        responses=pages_of(PieceOut),
    )
    def get(self, request):
        """List the finished pieces, in the order they were poured."""
        rows = request.studio.pieces.select_related(
            "pour__surface", "pour__technique", "pour__palette", "piece_set"
        )
        if request.query_params.get("loose") == "true":
            rows = rows.filter(state=FinishedPiece.State.GOOD, piece_set=None)
        if (line := asked_number(request, "line")) is not None:
            rows = rows.filter(pour__line=line)
        return self.paginated(rows.order_by("pour__number", "number"), PieceOut)


class SetView(StudioView):
    """An endpoint of one set."""

    def found(self, request, number):
        """Return the set with this number, or a 404."""
        return get_object_or_404(sets_of(request.studio), number=number)

    def answer(self, request, number, status=200):
        """Answer with the set as it is now."""
        (found,) = with_costs(request.studio, [self.found(request, number)])
        return Response(SetOut(found).data, status=status)


class SetsEndpoint(SetView):
    """The sets."""

    @extend_schema(
        operation_id="sets_list",
        parameters=[OpenApiParameter("for_sale", bool, description="Only sets nobody has bought.")],
        responses=pages_of(SetOut),
    )
    def get(self, request):
        """List the sets that are packed, newest first."""
        rows = sets_of(request.studio).filter(unpacked_at=None)
        if request.query_params.get("for_sale") == "true":
            rows = rows.filter(written_off_at=None, is_sold=False, shop=None)
        return self.paginated(rows, SetOut, prepare=lambda page: with_costs(request.studio, page))

    @extend_schema(operation_id="sets_add", request=SetIn, responses={201: SetOut})
    def post(self, request):
        """Pack finished pieces into a set; its packaging leaves the shelf."""
        sent = asked(request, SetIn).validated_data
        made = pack_set(studio=request.studio, by=request.user, **sent)
        return self.answer(request, made.number, status=201)


class SetEndpoint(SetView):
    """One set."""

    @extend_schema(operation_id="sets_read", responses=SetOut)
    def get(self, request, number):
        """Read one set, its pieces and what it took."""
        return self.answer(request, number)


class UnpackSetEndpoint(SetView):
    """Taking apart."""

    @extend_schema(operation_id="sets_unpack", request=UnpackIn, responses=SetOut)
    def post(self, request, number):
        """Take a set apart again: its pieces are loose, its packaging is back."""
        found = self.found(request, number)
        unpack_set(piece_set=found, by=request.user, **asked(request, UnpackIn).validated_data)
        return self.answer(request, number)
