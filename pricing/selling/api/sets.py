"""Finished pieces, and the sets they are packed into."""

from decimal import Decimal
from typing import TYPE_CHECKING, Any, ClassVar

from django.db.models import Prefetch, QuerySet
from django.http import HttpResponse
from django_filters import rest_framework as filters
from rest_framework import serializers

from inventory.models import Material
from pricing.costing.api.costs import SpentOut, minutes_in
from pricing.costing.api.products import use_in
from pricing.costing.api.used import UsedField
from pricing.fitness import words_of
from pricing.models import CommissionLine, FinishedPiece, Judgement, PieceSet, Use, UseChange
from pricing.readiness.api.reasons import reason_in
from pricing.readiness.fitting import finishes_of
from pricing.selling.care import Care, care_of_pieces, care_of_sets
from pricing.selling.care_cards import care_sheet
from pricing.selling.forms.care import MOST_COPIES, WHAT
from pricing.selling.sales import pack_set, unpack_set
from pricing.selling.uses import change_use
from studio.api.acts import act, file
from studio.api.asked import Filters, IdFilter
from studio.api.fields import DayField
from studio.api.rows import OwnId, RowOut
from studio.api.serializers import WhyIn
from studio.api.viewsets import Added, Listed, Read, StudioViewSet
from studio.pdf import pdf_response
from studio.sight import COSTS
from studio.site import address

if TYPE_CHECKING:
    from pricing.models.sale import SetsSold

MOST_PIECES = 24


class JudgementOut(RowOut):
    """What was seen of a piece at one stage; what is null or empty was not said."""

    faults = serializers.ListField(source="fault_codes", child=serializers.CharField())
    coat = serializers.IntegerField(source="coat_id", allow_null=True)
    by = serializers.CharField(source="by.username", allow_null=True, default=None)

    class Meta:
        model = Judgement
        fields = read_only_fields = (
            *("stage", "coat", "verdict", "faults", "cells", "composition", "note"),
            *("judged_at", "by"),
        )


class PieceOut(RowOut):
    """One piece of a pour; ``set`` is the number of the set it is in.

    Its ``verdict`` is empty until it is judged. ``recovery`` is the entry that brought its surface
    back to the shelf.
    """

    pour = serializers.IntegerField(source="pour.number")
    surface = serializers.CharField(source="pour.surface.name")
    technique = serializers.CharField(source="pour.technique.slug")
    palette = serializers.CharField(source="pour.palette.name")
    line = serializers.IntegerField(source="pour.line_id", allow_null=True)
    set = serializers.IntegerField(source="piece_set.number", allow_null=True, default=None)
    recovery = serializers.IntegerField(source="recovery_id", allow_null=True)
    judgements = JudgementOut(many=True)

    class Meta:
        model = FinishedPiece
        fields = read_only_fields = (
            *("id", "pour", "number", "state", "verdict", "surface", "technique", "palette"),
            *("line", "set", "recovery", "judgements"),
        )


class UseChangeOut(RowOut):
    """What a set was said to be for until a moment; empty where it was not said."""

    by = serializers.CharField(source="by.username", allow_null=True, default=None)

    class Meta:
        model = UseChange
        fields = read_only_fields = ("was", "use", "why", "at", "by")


class SetOut(RowOut):
    """Pieces packed to be sold together; named by its number. ``pieces`` are their ids."""

    commission = serializers.IntegerField(
        source="line.commission.number", allow_null=True, default=None
    )
    is_sold = serializers.BooleanField()
    shop = serializers.CharField(
        allow_null=True, help_text="The shop that it stands at on consignment."
    )
    pieces: "serializers.PrimaryKeyRelatedField[FinishedPiece]" = (
        serializers.PrimaryKeyRelatedField(many=True, read_only=True)
    )
    heat_limit_c = serializers.DecimalField(
        5,
        1,
        source="finish.heat_limit_c",
        allow_null=True,
        help_text="The least that the makers of the resins on it state; null where one is not "
        "known or a piece is bare.",
    )
    care = serializers.ListField(
        child=serializers.CharField(), help_text="What whoever has it must know of heat and food."
    )
    use_changes = UseChangeOut(many=True)
    seconds = serializers.IntegerField(help_text="How many of its pieces are seconds.")
    spent = SpentOut()
    sights: ClassVar = {"spent": COSTS}

    class Meta:
        model = PieceSet
        fields = read_only_fields = (
            *("number", "name", "commission", "line", "made_on", "minutes", "use"),
            *("use_changes", "heat_limit_c", "care", "pieces", "seconds", "is_sold", "shop"),
            *("unpacked_at", "written_off_at", "spent"),
        )


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
    reason = reason_in()
    used = UsedField()
    use = use_in()


class SetUseIn(serializers.Serializer):
    """What it is for from now on, empty where nobody knows; and why that was said otherwise."""

    use = serializers.ChoiceField(choices=Use.choices, allow_blank=True)
    why = serializers.CharField(max_length=200, required=False, allow_blank=True)
    reason = reason_in()


class UnpackIn(WhyIn):
    """Why, and whether the packaging can be used again."""

    packaging_back = serializers.BooleanField(default=True)


class CareAsked(serializers.Serializer):
    """Cards or tags, and how many of each."""

    what = serializers.ChoiceField(choices=WHAT, default="cards")
    copies = serializers.IntegerField(min_value=1, max_value=MOST_COPIES, default=1)


class SetCareAsked(CareAsked):
    """Of a set: one for all of it, or one for each piece."""

    each = serializers.BooleanField(default=False)


class PieceFilters(Filters):
    loose = filters.BooleanFilter(method="only_loose", label="Only good pieces that are in no set.")
    line = IdFilter("pour__line", label="The id of a commission's line.")
    pour = IdFilter("pour__number", label="The number of a pour.")
    judged = filters.BooleanFilter(method="only_judged", label="Only pieces that are judged.")

    def only_judged(
        self, rows: QuerySet[FinishedPiece], name: str, only: bool
    ) -> QuerySet[FinishedPiece]:
        return rows.exclude(verdict="") if only else rows.filter(verdict="")

    def only_loose(
        self, rows: QuerySet[FinishedPiece], name: str, only: bool
    ) -> QuerySet[FinishedPiece]:
        return rows.filter(state=FinishedPiece.State.GOOD, piece_set=None) if only else rows


class Pieces(Listed, Read):
    """What came out of the pours, in the order they were poured."""

    model, out = FinishedPiece, PieceOut
    dated_by = "pour__poured_at"
    changed_by = ("changed_at", "judgements__changed_at")
    filterset_class = PieceFilters

    def rows(self) -> QuerySet[FinishedPiece]:
        rows = self.studio.pieces.order_by("pour__number", "number")
        rows = rows.select_related("pour__surface", "pour__technique", "pour__palette", "piece_set")
        return rows.prefetch_related("judgements__by")

    @file(parameters=(CareAsked,))
    def care(self, piece: FinishedPiece) -> HttpResponse:
        """The care card or tag of a piece as a PDF."""
        asked = self.checked_query(CareAsked)
        rows = FinishedPiece.objects.filter(pk=piece.pk)
        return _printed(self, care_of_pieces(self.studio, rows), asked)


class SetFilters(Filters):
    for_sale = filters.BooleanFilter(method="only_for_sale", label="Only sets nobody has bought.")

    def only_for_sale(self, rows: "SetsSold", name: str, only: bool) -> "SetsSold":
        return rows.filter(written_off_at=None, is_sold=False, shop=None) if only else rows

    def filter_queryset(self, rows: "SetsSold") -> "SetsSold":
        return super().filter_queryset(rows.filter(unpacked_at=None))


class Sets(Listed, Read, Added):
    """The sets that are packed, newest first."""

    model, out, takes = PieceSet, SetOut, SetIn
    dated_by = "made_on"
    lookup_field = "number"
    filterset_class = SetFilters
    search_fields = ("name",)
    sort_fields = ("number", "name", "made_on")
    changed_by = (
        *("changed_at", "pieces__changed_at"),
        *("sale_lines__changed_at", "consigned__changed_at", "use_changes__changed_at"),
    )

    def rows(self) -> QuerySet[PieceSet]:
        rows = self.studio.sets.with_sold().select_related("line__commission", "studio", "entry")
        return rows.prefetch_related(
            "pieces", Prefetch("use_changes", UseChange.objects.select_related("by"))
        )

    def with_details(self, page: list[Any]) -> list[Any]:
        """Put on each set what lies on its pieces, and what is said of that."""
        finishes = finishes_of(page)
        for one in page:
            one.finish = finishes[one.pk]
            one.care = words_of(one.use, one.finish)
        return page

    def add(self, **sent: Any) -> PieceSet:
        """Pack finished pieces into a set; its packaging leaves the shelf."""
        return pack_set(studio=self.studio, by=self.request.user, **sent)

    @act(SetUseIn, path="use")
    def change_use(self, piece_set: PieceSet, **sent: Any) -> PieceSet:
        """Say what a packed set is for, in place of what was said; that stays on record."""
        return change_use(piece_set=piece_set, by=self.request.user, **sent)

    @act(UnpackIn)
    def unpack(self, piece_set: PieceSet, **sent: Any) -> PieceSet:
        """Take a set apart again: its pieces are loose, its packaging is back."""
        return unpack_set(piece_set=piece_set, by=self.request.user, **sent)

    @file(parameters=(SetCareAsked,))
    def care(self, piece_set: PieceSet) -> HttpResponse:
        """The care cards or tags of a set as a PDF; their codes begin with SITE_URL."""
        asked = self.checked_query(SetCareAsked)
        if asked.pop("each"):
            rows = FinishedPiece.objects.filter(piece_set=piece_set)
            return _printed(self, care_of_pieces(self.studio, rows), asked)
        return _printed(self, care_of_sets(self.studio, [piece_set]), asked)


def _printed(view: StudioViewSet, cares: list[Care], asked: dict[str, Any]) -> HttpResponse:
    sheet = care_sheet(view.studio, cares, asked["what"], address=address, copies=asked["copies"])
    return pdf_response(sheet, f"care-{asked['what']}.pdf")
