"""Shelf counts: started, weighed bottle by bottle, finished, and what they found."""

from django.shortcuts import get_object_or_404
from django.urls import path
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.response import Response

from inventory.api.imports import asked_format, describes_file
from inventory.models import Bottle, Material, ShelfCount, ShelfCountLine
from inventory.stock import counts
from inventory.stock.views.counts import report_answer
from inventory.supplies.api.materials import MaterialName
from studio.api.fields import AmountField, MassField, read_amount
from studio.api.papers import PaperView, describes_paper
from studio.api.rows import OwnCode, asked, asked_number
from studio.api.schema import pages_of
from studio.api.views import StudioView


class OnShelfCode(OwnCode):
    """A bottle by its code, one that is put away too: found again, it comes back."""

    def _is_chosen(self, row):
        return True


class ProgressOut(serializers.Serializer):
    """So many of so many bottles are weighed or left out."""

    done, total, left_out, left = (serializers.IntegerField() for _ in range(4))


class CountOut(serializers.ModelSerializer):
    """A count is named by its number; ``place`` and ``kinds`` are empty where all are counted."""

    kinds = serializers.ListField(child=serializers.CharField())

    class Meta:
        model = ShelfCount
        fields = ["number", "status", "place", "kinds", "started_at", "ended_at"]
        read_only_fields = fields


class CountWithProgressOut(CountOut):
    """A count and how far it is."""

    progress = serializers.SerializerMethodField()

    class Meta(CountOut.Meta):
        fields = [*CountOut.Meta.fields, "progress"]
        read_only_fields = fields

    @extend_schema(responses=ProgressOut)
    def get_progress(self, count) -> dict:
        return ProgressOut(counts.progress(count)).data


class CountLineOut(serializers.ModelSerializer):
    """One bottle of a count; amounts are in the material's unit. What the books expected is told
    only once it is weighed or left out."""

    bottle = serializers.CharField(source="bottle.code")
    material = MaterialName(source="bottle.material")
    by = serializers.CharField(source="by.username", allow_null=True, default=None)

    class Meta:
        model = ShelfCountLine
        fields = [
            "position",
            "place",
            "bottle",
            "material",
            "expected",
            "expected_value",
            "gross_g",
            "counted",
            "entry",
            "left_out",
            "by",
            "at",
            "undone_at",
        ]
        read_only_fields = fields


class NextLineOut(serializers.Serializer):
    """The line to weigh next; none when nothing waits."""

    progress = ProgressOut()
    line = CountLineOut(allow_null=True)


class StartCountIn(serializers.Serializer):
    """Where to count and which kinds; everything if not said."""

    place = serializers.CharField(max_length=60, required=False, allow_blank=True)
    kinds = serializers.MultipleChoiceField(choices=Material.Kind.choices, required=False)


class RecordLineIn(serializers.Serializer):
    """What the scale shows, [g], or how much there is by count or measure: one of them.

    A number far from the books is refused as ``surprising_count`` unless ``confirmed``.
    """

    bottle = OnShelfCode(queryset=Bottle.objects)
    gross_g = MassField(required=False)
    quantity = AmountField(required=False, allow_zero=True)
    confirmed = serializers.BooleanField(default=False)

    def validate(self, data):
        if isinstance(data.get("quantity"), str):  # a count of nothing is read already
            studio = self.context["request"].studio
            data["quantity"] = read_amount(data["quantity"], data["bottle"].material, studio)
        return data


class LeaveLineOutIn(serializers.Serializer):
    bottle = OnShelfCode(queryset=Bottle.objects)
    why = serializers.CharField(max_length=200)


class PutLineBackIn(serializers.Serializer):
    bottle = OnShelfCode(queryset=Bottle.objects)
    why = serializers.CharField(max_length=200, required=False, allow_blank=True)


class VarianceOut(serializers.Serializer):
    """Expected and counted in the material's unit; the difference, its value, and its share."""

    expected, counted, quantity = (serializers.DecimalField(14, 4) for _ in range(3))
    expected_value, value = (serializers.DecimalField(18, 6) for _ in range(2))
    share = serializers.DecimalField(20, 6, allow_null=True)


class CountedBottleOut(serializers.Serializer):
    line, variance = CountLineOut(), VarianceOut()
    undone_at = serializers.DateTimeField(allow_null=True)


class CountedMaterialOut(serializers.Serializer):
    material, bottles, variance = MaterialName(), serializers.IntegerField(), VarianceOut()


class VarianceTotalsOut(serializers.Serializer):
    """What the differences are worth; ``absolute`` is gains and losses together."""

    gains, losses, net, absolute = (serializers.DecimalField(18, 6) for _ in range(4))


class CountReportOut(serializers.Serializer):
    """What a count found, so far or in the end."""

    count = CountOut()
    totals = VarianceTotalsOut()
    expected_value = serializers.DecimalField(18, 6)
    different = serializers.IntegerField()
    undone_value = serializers.DecimalField(18, 6)
    materials = CountedMaterialOut(many=True)
    bottles = CountedBottleOut(many=True)
    left_out, waiting, put_back = (CountLineOut(many=True) for _ in range(3))


def _count(request, number):
    return get_object_or_404(request.studio.shelf_counts.select_related("studio"), number=number)


def _line_answer(line):
    rows = ShelfCountLine.objects.select_related("bottle__material", "by")
    return Response(CountLineOut(rows.get(pk=line.pk)).data)


class CountsEndpoint(StudioView):
    """Shelf counts."""

    @extend_schema(operation_id="counts_list", responses=pages_of(CountOut))
    def get(self, request):
        """List the counts, newest first."""
        return self.paginated(request.studio.shelf_counts.all(), CountOut)

    @extend_schema(
        operation_id="counts_start", request=StartCountIn, responses={201: CountWithProgressOut}
    )
    def post(self, request):
        """Start a count of a place, or of everything."""
        sent = asked(request, StartCountIn).validated_data
        made = counts.start_count(studio=request.studio, by=request.user, **sent)
        return Response(CountWithProgressOut(made).data, status=201)


class CountEndpoint(StudioView):
    """One count."""

    @extend_schema(operation_id="counts_read", responses=CountWithProgressOut)
    def get(self, request, number):
        """Read one count and how far it is."""
        return Response(CountWithProgressOut(_count(request, number)).data)


class CountLinesEndpoint(StudioView):
    """The bottles of a count."""

    @extend_schema(
        operation_id="counts_lines",
        parameters=[OpenApiParameter("waiting", bool, description="Only those still to weigh.")],
        responses=pages_of(CountLineOut),
    )
    def get(self, request, number):
        """List the bottles of a count in the order of the walk, those put back too."""
        rows = _count(request, number).lines.select_related("bottle__material", "by")
        if request.query_params.get("waiting") == "true":
            rows = rows.waiting()
        return self.paginated(rows, CountLineOut)


class NextEndpoint(StudioView):
    """What to weigh next."""

    @extend_schema(
        operation_id="counts_next",
        parameters=[OpenApiParameter("after", int, description="A position: what comes behind.")],
        responses=NextLineOut,
    )
    def get(self, request, number):
        """Read the bottle to weigh next."""
        found = _count(request, number)
        line = counts.next_line(found, asked_number(request, "after") or 0)
        return Response(NextLineOut({"progress": counts.progress(found), "line": line}).data)


class RecordEndpoint(StudioView):
    """Weighing."""

    @extend_schema(operation_id="counts_record", request=RecordLineIn, responses=CountLineOut)
    def post(self, request, number):
        """Weigh or count a bottle; the difference is posted at once."""
        found, sent = _count(request, number), asked(request, RecordLineIn).validated_data
        return _line_answer(counts.record(count=found, by=request.user, **sent))


class LeaveOutEndpoint(StudioView):
    """Leaving out."""

    @extend_schema(operation_id="counts_leave_out", request=LeaveLineOutIn, responses=CountLineOut)
    def post(self, request, number):
        """Leave a bottle out, for a reason that stays on its list."""
        found, sent = _count(request, number), asked(request, LeaveLineOutIn).validated_data
        return _line_answer(counts.leave_out(count=found, by=request.user, **sent))


class PutBackEndpoint(StudioView):
    """Weighing again."""

    @extend_schema(operation_id="counts_put_back", request=PutLineBackIn, responses=CountLineOut)
    def post(self, request, number):
        """Undo what was set for a bottle, and let it wait again; both stay on record."""
        found, sent = _count(request, number), asked(request, PutLineBackIn).validated_data
        return _line_answer(counts.put_back(count=found, by=request.user, **sent))


class FinishEndpoint(StudioView):
    """Finishing."""

    @extend_schema(operation_id="counts_finish", request=None, responses=CountWithProgressOut)
    def post(self, request, number):
        """Finish a count; refused while any bottle is neither weighed nor left out."""
        over = counts.finish_count(count=_count(request, number), by=request.user)
        return Response(CountWithProgressOut(over).data)


class CancelEndpoint(StudioView):
    """Breaking off."""

    @extend_schema(operation_id="counts_cancel", request=None, responses=CountWithProgressOut)
    def post(self, request, number):
        """Break a count off; what was weighed stays as it was set."""
        over = counts.cancel_count(count=_count(request, number), by=request.user)
        return Response(CountWithProgressOut(over).data)


class ReportEndpoint(StudioView):
    """What a count found."""

    @extend_schema(operation_id="counts_report", responses=CountReportOut)
    def get(self, request, number):
        """Read what was expected, counted and different, by bottle and by material."""
        return Response(CountReportOut(counts.report(_count(request, number))).data)


class ReportSheetEndpoint(PaperView):
    """The report on paper."""

    @describes_paper("counts_report_sheet", "What a count found, as a PDF.")
    def get(self, request, number):
        return report_answer(counts.report(_count(request, number)), "pdf")


class ReportFileEndpoint(PaperView):
    """The report for a spreadsheet."""

    @describes_file("counts_report_file", "What a count found, as a file.")
    def get(self, request, number):
        return report_answer(counts.report(_count(request, number)), asked_format(request))


ONE = "counts/<int:number>/"
urlpatterns = [
    path("counts/", CountsEndpoint.as_view(), name="api-counts"),
    path(ONE, CountEndpoint.as_view(), name="api-count"),
    path(f"{ONE}lines/", CountLinesEndpoint.as_view(), name="api-count-lines"),
    path(f"{ONE}next/", NextEndpoint.as_view(), name="api-count-next"),
    path(f"{ONE}record/", RecordEndpoint.as_view(), name="api-count-record"),
    path(f"{ONE}leave-out/", LeaveOutEndpoint.as_view(), name="api-count-leave-out"),
    path(f"{ONE}put-back/", PutBackEndpoint.as_view(), name="api-count-put-back"),
    path(f"{ONE}finish/", FinishEndpoint.as_view(), name="api-count-finish"),
    path(f"{ONE}cancel/", CancelEndpoint.as_view(), name="api-count-cancel"),
    path(f"{ONE}report/", ReportEndpoint.as_view(), name="api-count-report"),
    path(f"{ONE}report/sheet/", ReportSheetEndpoint.as_view(), name="api-count-report-sheet"),
    path(f"{ONE}report/file/", ReportFileEndpoint.as_view(), name="api-count-report-file"),
]
