"""Shelf counts: started, weighed bottle by bottle, finished, and what they found."""

from typing import Any, ClassVar

from django.db.models import Count, Model, Q, QuerySet
from django.http import HttpResponse
from rest_framework import serializers

from inventory.models import Bottle, Material, ShelfCount, ShelfCountLine
from inventory.stock import counts
from inventory.stock.counts import CountReport
from inventory.stock.views.counts import report_answer
from inventory.supplies.api.materials import MaterialName
from studio.api.acts import act, answer, file
from studio.api.asked import Filters
from studio.api.fields import AmountField, MassField, MomentField, read_amount
from studio.api.files import AS, TABLES, asked_format
from studio.api.rows import OwnCode, RowOut, Sighted
from studio.api.viewsets import Added, Listed, Read
from studio.sight import COSTS


class OnShelfCode(OwnCode):
    """A bottle by its code, one that is archived too: found again, it comes back."""

    def _is_chosen(self, row: Model) -> bool:
        return True


class ProgressOut(serializers.Serializer):
    """So many of so many bottles are weighed or left out."""

    done, total, left_out = (serializers.IntegerField() for _ in range(3))
    left = serializers.SerializerMethodField()

    def get_left(self, one: Any) -> int:
        return one.total - one.done


class CountOut(RowOut):
    """A count, named by its number, and how far it is; ``place`` and ``kinds`` are empty where all
    are counted."""

    kinds = serializers.ListField(child=serializers.CharField())
    progress = ProgressOut(source="*")

    class Meta:
        model = ShelfCount
        fields = read_only_fields = (
            *("number", "status", "place", "kinds", "started_at", "ended_at", "progress"),
        )


class CountLineOut(RowOut):
    """One bottle of a count; amounts are in the material's unit. What the books expected is told
    only once it is weighed or left out."""

    bottle = serializers.CharField(source="bottle.code")
    material = MaterialName(source="bottle.material")
    sights: ClassVar = {"expected_value": COSTS}
    by = serializers.CharField(source="by.username", allow_null=True, default=None)

    class Meta:
        model = ShelfCountLine
        fields = read_only_fields = (
            *("position", "place", "bottle", "material", "expected", "expected_value", "gross_g"),
            *("counted", "entry", "left_out", "by", "at", "undone_at"),
        )


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

    def validate(self, data: dict[str, Any]) -> dict[str, Any]:
        if isinstance(data.get("quantity"), str):  # a count of nothing is read already
            studio = self.context["request"].studio
            data["quantity"] = read_amount(data["quantity"], data["bottle"].material, studio)
        return data


class PutLineBackIn(serializers.Serializer):
    bottle = OnShelfCode(queryset=Bottle.objects)
    why = serializers.CharField(max_length=200, required=False, allow_blank=True)


class LeaveLineOutIn(PutLineBackIn):
    why = serializers.CharField(max_length=200)


class WaitingIn(serializers.Serializer):
    waiting = serializers.BooleanField(default=False, help_text="Only those still to weigh.")


class AfterIn(serializers.Serializer):
    after = serializers.IntegerField(
        min_value=0, max_value=2**63 - 1, default=0, help_text="A position: what comes behind."
    )


class VarianceOut(Sighted):
    """Expected and counted in the material's unit; the difference, its value, and its share."""

    sights = dict.fromkeys(("expected_value", "value"), COSTS)

    expected, counted, quantity = (serializers.DecimalField(14, 4) for _ in range(3))
    expected_value, value = (serializers.DecimalField(18, 6) for _ in range(2))
    share = serializers.DecimalField(20, 6, allow_null=True)


class CountedBottleOut(serializers.Serializer):
    line, variance = CountLineOut(), VarianceOut()
    undone_at = MomentField(allow_null=True)


class CountedMaterialOut(serializers.Serializer):
    material, bottles, variance = MaterialName(), serializers.IntegerField(), VarianceOut()


class VarianceTotalsOut(serializers.Serializer):
    """What the differences are worth; ``absolute`` is gains and losses together."""

    gains, losses, net, absolute = (serializers.DecimalField(18, 6) for _ in range(4))


class CountReportOut(Sighted):
    """What a count found, so far or in the end."""

    sights = dict.fromkeys(("totals", "expected_value", "undone_value"), COSTS)

    count = CountOut()
    totals = VarianceTotalsOut()
    expected_value = serializers.DecimalField(18, 6)
    different = serializers.IntegerField()
    undone_value = serializers.DecimalField(18, 6)
    materials = CountedMaterialOut(many=True)
    bottles = CountedBottleOut(many=True)
    left_out, waiting, put_back = (CountLineOut(many=True) for _ in range(3))


class CountFilters(Filters):
    class Meta:
        model = ShelfCount
        fields = ("status", "place")


class Counts(Listed, Read, Added):
    """The shelf counts, newest first."""

    model, out, takes = ShelfCount, CountOut, StartCountIn
    dated_by = "started_at"
    lookup_field = "number"
    filterset_class = CountFilters
    sort_fields = ("number", "started_at", "ended_at")
    changed_by = ("changed_at", "lines__changed_at")

    def rows(self) -> QuerySet[ShelfCount]:
        live = Q(lines__undone_at=None)
        rows = self.studio.shelf_counts.select_related("studio").order_by("-number")
        return rows.annotate(
            total=Count("lines", filter=live),
            done=Count("lines", filter=live & Q(lines__at__isnull=False)),
            left_out=Count("lines", filter=live & ~Q(lines__left_out="")),
        )

    def add(self, **sent: Any) -> ShelfCount:
        """Start a count of a place, or of everything."""
        return counts.start_count(studio=self.studio, by=self.request.user, **sent)

    @answer(CountLineOut, pages=True, parameters=(WaitingIn,))
    def lines(self, count: ShelfCount) -> QuerySet[ShelfCountLine]:
        """List the bottles of a count in the order of the walk, those put back too."""
        rows = count.lines.select_related("bottle__material", "by")
        return rows.waiting() if self.checked_query(WaitingIn)["waiting"] else rows

    @answer(NextLineOut, parameters=(AfterIn,))
    def next(self, count: ShelfCount) -> dict[str, Any]:
        """Read the bottle to weigh next."""
        line = counts.next_line(count, self.checked_query(AfterIn)["after"])
        return {"progress": count, "line": line}

    @act(RecordLineIn, gives=CountLineOut)
    def record(self, count: ShelfCount, **sent: Any) -> ShelfCountLine:
        """Weigh or count a bottle; the difference is posted at once."""
        return _read(counts.record(count=count, by=self.request.user, **sent))

    @act(LeaveLineOutIn, gives=CountLineOut)
    def leave_out(self, count: ShelfCount, **sent: Any) -> ShelfCountLine:
        """Leave a bottle out, for a reason that stays on its list."""
        return _read(counts.leave_out(count=count, by=self.request.user, **sent))

    @act(PutLineBackIn, gives=CountLineOut)
    def put_back(self, count: ShelfCount, **sent: Any) -> ShelfCountLine:
        """Undo what was set for a bottle, and let it wait again; both stay on record."""
        return _read(counts.put_back(count=count, by=self.request.user, **sent))

    @act()
    def finish(self, count: ShelfCount) -> ShelfCount:
        """Finish a count; refused while any bottle is neither weighed nor left out."""
        return counts.finish_count(count=count, by=self.request.user)

    @act()
    def cancel(self, count: ShelfCount) -> ShelfCount:
        """Break a count off; what was weighed stays as it was set."""
        return counts.cancel_count(count=count, by=self.request.user)

    @answer(CountReportOut)
    def report(self, count: ShelfCount) -> CountReport:
        """Read what was expected, counted and different, by bottle and by material."""
        return counts.report(count)

    @file(path="report/sheet")
    def report_sheet(self, count: ShelfCount) -> HttpResponse:
        """What a count found, as a PDF."""
        return report_answer(self.request.membership, counts.report(count), "pdf")

    @file(path="report/file", media_types=TABLES, parameters=(AS,))
    def report_file(self, count: ShelfCount) -> HttpResponse:
        """What a count found, as a file."""
        return report_answer(
            self.request.membership, counts.report(count), asked_format(self.request)
        )


def _read(line: ShelfCountLine) -> ShelfCountLine:
    """Return a line as it is now, with what is written out of it."""
    return ShelfCountLine.objects.select_related("bottle__material", "by").get(pk=line.pk)
