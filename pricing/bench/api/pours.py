"""Pours: logged with what they really took, left out, undone."""

from collections.abc import Sequence
from typing import Any, ClassVar

from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from inventory.models import Bottle
from pricing.bench.again import Again, again
from pricing.bench.api.again import AgainOut, PouredMixOut
from pricing.bench.api.compared import ComparedOut
from pricing.bench.api.moving import AsBeforeIn, MovesField, NoteMovesIn, noted_from
from pricing.bench.api.topcoats import TopcoatingOut
from pricing.bench.compared import Compared, compared
from pricing.bench.frozen_pours import poured_mixes
from pricing.bench.judging import Seen, judge_pieces
from pricing.bench.moving import as_before, last_time, note_moves
from pricing.bench.old_mixes import write_old_mixes
from pricing.bench.pour_materials import LayerLog
from pricing.bench.pours import confirm_amounts, log_pour, set_pour_aside, undo_pour
from pricing.bench.recovering import recover_surfaces
from pricing.costing.api.costs import SpentOut, minutes_in
from pricing.costing.api.names import PaletteName, SurfaceName
from pricing.costing.api.palettes import PaletteOut
from pricing.costing.api.used import UsedField
from pricing.costing.piece_costs import cost_of_pour
from pricing.estimating.learning import hand_of, slip_in
from pricing.models import (
    CommissionLine,
    FinishedPiece,
    Judgement,
    Palette,
    Pour,
    PourLayer,
    SavedSurface,
    Technique,
)
from pricing.models.judgement import LEAST, MOST
from pricing.models.technique import BASE_CHOICES
from pricing.readiness.api.reasons import humidity_in, room_in
from pricing.readiness.api.standing import StandingOut
from pricing.readiness.standing import standing_of
from studio.api.acts import act, answer, describes
from studio.api.asked import Filters, IdFilter
from studio.api.fields import MomentField, VolumeField
from studio.api.rows import OwnCode, OwnId, OwnSlug, RowOut
from studio.api.serializers import WhyIn
from studio.api.viewsets import Added, Listed, Read
from studio.models import Studio
from studio.sight import COSTS


class PourLayerOut(RowOut):
    """What one layer took over all pieces, beside what was forecast before it.

    ``mixes`` are as they were when it was poured; there are none of pours logged before they were
    kept.
    """

    mixes = serializers.SerializerMethodField()
    sights: ClassVar = {"took_value": COSTS}

    class Meta:
        model = PourLayer
        exclude = ("id", "pour", "changed_at")
        read_only_fields = tuple(field.name for field in PourLayer._meta.fields)

    @extend_schema_field(PouredMixOut(many=True))
    def get_mixes(self, layer: PourLayer) -> list[dict[str, Any]]:
        return list(PouredMixOut(poured_mixes(layer), many=True).data)


class PourOut(RowOut):
    """One session at the bench; it is named by its number."""

    surface, palette = SurfaceName(), PaletteName()
    technique = serializers.CharField(source="technique.slug")
    commission = serializers.IntegerField(
        source="line.commission.number", allow_null=True, default=None
    )
    by = serializers.CharField(source="by.username", allow_null=True, default=None)
    booked_on = serializers.DateField(source="entry.booked_on", allow_null=True, default=None)
    undone_by = serializers.IntegerField(
        source="entry.reversed_by.pk", allow_null=True, default=None
    )
    layers = PourLayerOut(many=True)
    moves = MovesField(read_only=True, allow_null=True)

    class Meta:
        model = Pour
        fields: tuple[str, ...] = (
            *("number", "commission", "line", "surface", "technique", "palette"),
            *("count", "good_count", "judged_count", "poured_at", "minutes", "faults", "notes"),
            *("room_c", "humidity_percent", "by", "set_aside", "base", "amounts_are_right"),
            *("entry", "booked_on", "undone_by", "layers"),
            *("moves", "heat", "rest_minutes", "was_covered"),
        )
        read_only_fields = fields


DETAILS = (*("topcoatings", "pieces", "spent", "looks_like_a_slip", "standing", "last_time"),)


class PourDetailOut(PourOut):
    """A pour with its topcoats, its pieces by their ids, and what all of it took."""

    topcoatings = TopcoatingOut(many=True)
    pieces: "serializers.PrimaryKeyRelatedField[FinishedPiece]" = (
        serializers.PrimaryKeyRelatedField(many=True, read_only=True)
    )
    spent = serializers.SerializerMethodField()
    looks_like_a_slip = serializers.SerializerMethodField()
    last_time = serializers.SerializerMethodField()
    standing = serializers.SerializerMethodField()
    sights: ClassVar = {"spent": COSTS}

    class Meta(PourOut.Meta):
        fields = (*PourOut.Meta.fields, *DETAILS)

    def get_looks_like_a_slip(self, pour: Pour) -> bool:
        return slip_in(pour, hand_of(pour.studio))

    @extend_schema_field(StandingOut)
    def get_standing(self, pour: Pour) -> dict[str, Any]:
        (stands,) = standing_of([pour]).values()
        return StandingOut(stands).data

    @extend_schema_field(
        serializers.IntegerField(
            allow_null=True, help_text="The last pour like it of which is known how it was moved."
        )
    )
    def get_last_time(self, pour: Pour) -> int | None:
        known = last_time(pour)
        return known.pour.number if known else None

    @extend_schema_field(SpentOut)
    def get_spent(self, pour: Pour) -> dict[str, Any]:
        return SpentOut(cost_of_pour(pour)).data


def rating() -> serializers.IntegerField:
    return serializers.IntegerField(
        min_value=LEAST, max_value=MOST, required=False, allow_null=True
    )


class FromMixIn(serializers.Serializer):
    """So much out of one bottle of mix."""

    bottle = OwnCode(queryset=Bottle.objects.select_related("material__recipe"))
    ml = VolumeField()


class PourLayerIn(serializers.Serializer):
    """What was mixed of one layer, left in cups, scraped back, and taken from reclaimed paint.

    ``mixes`` says what of it came from bottles of mix; the rest was mixed from its recipes.
    """

    layer = serializers.ChoiceField(choices=PourLayer.Layer.choices)
    mixed_ml = VolumeField()
    left_ml = VolumeField(required=False, allow_zero=True)
    kept_ml = VolumeField(required=False, allow_zero=True)
    reclaimed_ml = VolumeField(required=False, allow_zero=True)
    mixes: serializers.ListSerializer = serializers.ListSerializer(
        child=FromMixIn(), required=False, max_length=40
    )


class PourIn(serializers.Serializer):
    """A pour for a line of a commission, or of a surface, technique and palette for stock."""

    line = OwnId(queryset=CommissionLine.objects, through="commission__studio", required=False)
    surface = OwnId(queryset=SavedSurface.objects, required=False)
    technique = OwnSlug(queryset=Technique.objects.filter(is_offered=True), required=False)
    palette = OwnId(queryset=Palette.objects, required=False)
    base = serializers.ChoiceField(choices=BASE_CHOICES, required=False)
    count = serializers.IntegerField(min_value=1, max_value=200)
    minutes = minutes_in(required=False, help_text="Left out, what such a pour usually takes.")
    layers: serializers.ListSerializer = serializers.ListSerializer(
        child=PourLayerIn(), allow_empty=False, max_length=len(PourLayer.Layer)
    )
    notes = serializers.CharField(max_length=10_000, required=False, allow_blank=True)
    poured_at = MomentField(required=False)
    room_c, humidity_percent = room_in(), humidity_in()
    used = UsedField()

    def validate_layers(self, layers: list[dict[str, Any]]) -> list[dict[str, Any]]:
        if len({one["layer"] for one in layers}) < len(layers):
            raise serializers.ValidationError("Name each layer once.", code="unique")
        return layers

    def validate(self, data: dict[str, Any]) -> dict[str, Any]:
        missing = [name for name in ("surface", "technique", "palette") if name not in data]
        if "line" not in data and missing:
            words = ["Name it, or the line of a commission that it is for."]
            raise serializers.ValidationError(dict.fromkeys(missing, words), code="required")
        return data


class SeenIn(serializers.Serializer):
    """What was seen of one piece, by its number; what is left out is not known.

    An empty ``verdict`` takes back what was judged of it before.
    """

    piece = serializers.IntegerField(min_value=1, max_value=200)
    verdict = serializers.ChoiceField(choices=FinishedPiece.Verdict.choices, allow_blank=True)
    faults = serializers.ListField(
        child=serializers.ChoiceField(choices=Judgement.Fault.choices),
        required=False,
        max_length=len(Judgement.Fault),
    )
    cells = rating()
    composition = rating()
    note = serializers.CharField(max_length=1000, required=False, allow_blank=True)


class JudgingIn(serializers.Serializer):
    """Pieces judged together; without a ``stage``, with their topcoat where they have one."""

    pieces: serializers.ListSerializer = serializers.ListSerializer(
        child=SeenIn(), allow_empty=False, max_length=200
    )
    stage = serializers.ChoiceField(choices=Judgement.Stage.choices, required=False)
    judged_at = MomentField(required=False)


class RecoverIn(serializers.Serializer):
    """Failed pieces that were wiped, by their numbers."""

    pieces = serializers.ListField(
        child=serializers.IntegerField(min_value=1, max_value=200),
        allow_empty=False,
        max_length=200,
    )


class SetAsideIn(serializers.Serializer):
    """Why the estimates should not learn from a pour; empty takes it back."""

    why = serializers.CharField(max_length=200, allow_blank=True)


def pours_of(studio: Studio) -> QuerySet[Pour]:
    """Return the pours of a studio with their layers, ready to be written out."""
    rows = studio.pours.select_related(
        "surface", "technique", "palette", "line__commission", "by", "entry__reversed_by"
    )
    return rows.prefetch_related("layers")


class PourFilters(Filters):
    commission = IdFilter("line__commission__number", label="The commission's number.")
    line = IdFilter(label="The id of a commission's line.")


class Pours(Listed, Read, Added):
    """The pours, newest first."""

    model, out, takes = Pour, PourDetailOut, PourIn
    dated_by = "poured_at"
    lookup_field = "number"
    filterset_class = PourFilters
    sort_fields = ("number", "poured_at")
    changed_by = ("changed_at", "layers__changed_at", "entry__reversed_by__recorded_at")

    def rows(self) -> QuerySet[Pour]:
        rows = pours_of(self.studio)
        if self.action == "list":
            return rows
        return rows.prefetch_related(
            "pieces", "topcoatings__kit", "topcoatings__entry__reversed_by"
        )

    @describes(gives=PourOut)
    def list(self, request: Request) -> Response:
        return self.page_response(self.filter_queryset(self.get_queryset()), PourOut)

    def add(self, layers: Sequence[dict[str, Any]], **sent: Any) -> Pour:
        """Log a pour: what it took leaves the shelf in one entry, and the estimates learn."""
        logs = {one.pop("layer"): _log(one) for one in layers}
        return log_pour(studio=self.studio, by=self.request.user, layers=logs, **sent)

    @act(NoteMovesIn)
    def note_moves(self, pour: Pour, **sent: Any) -> Pour:
        """Note how a pour was moved, or correct it."""
        return note_moves(pour=pour, noted=noted_from(pour, sent))

    @act(AsBeforeIn)
    def as_before(self, pour: Pour, like: Pour) -> Pour:
        """Confirm that a pour was moved as an earlier one like it, ``last_time`` or another."""
        return as_before(pour=pour, like=like)

    @act(SetAsideIn)
    def set_aside(self, pour: Pour, why: str) -> Pour:
        """Keep a pour out of what the estimates learn from, or take it back in."""
        return set_pour_aside(pour=pour, why=why)

    @act(JudgingIn)
    def judge(self, pour: Pour, pieces: Sequence[dict[str, Any]], **sent: Any) -> Pour:
        """Say how pieces came out, each in place of what was said of it at that stage before."""
        seen = [Seen(**one) for one in pieces]
        return judge_pieces(pour=pour, by=self.request.user, seen=seen, **sent)

    @act(RecoverIn)
    def recover(self, pour: Pour, pieces: Sequence[int]) -> Pour:
        """Bring the surfaces of failed pieces that were wiped back to the shelf, at no cost."""
        recover_surfaces(pour=pour, by=self.request.user, pieces=pieces)
        return pour

    @act()
    def confirm(self, pour: Pour) -> Pour:
        """Answer that a pour far off its forecast was no slip: the estimates believe it."""
        return confirm_amounts(pour=pour)

    @answer(AgainOut)
    def again(self, pour: Pour) -> Again:
        """Read what a pour was beside what it would take now, what changed and what is gone."""
        return again(pour)

    @answer(ComparedOut)
    def compared(self, pour: Pour) -> Compared:
        """Read what goes with the good ones of the judged pours like this one."""
        return compared(pour)

    @act(gives=PaletteOut, status=201)
    def old_mixes(self, pour: Pour) -> Palette:
        """Write the mixes of a pour down again as they were, as a palette to pour from.

        Where they are still as they were, or were written down before, that palette is answered.
        """
        return write_old_mixes(pour=pour, by=self.request.user)

    @act(WhyIn)
    def undo(self, pour: Pour, why: str) -> Pour:
        """Undo a pour logged by mistake: everything it took is back on the shelf."""
        undo_pour(pour=pour, by=self.request.user, why=why)
        return pour


def _log(one: dict[str, Any]) -> LayerLog:
    mixes = tuple((mix["bottle"], mix["ml"]) for mix in one.pop("mixes", ()))
    return LayerLog(mixes=mixes, **one)
