"""Consignment: sets at shops, and settling with them."""

from datetime import date
from typing import Any

from django.db.models import QuerySet
from django.http import HttpResponse
from rest_framework import serializers

from pricing.costing.api.names import ChannelName
from pricing.models import Channel, ConsignedSet, Consignment, PieceSet
from pricing.readiness.api.reasons import reason_in
from pricing.selling import consigning
from pricing.selling import consignment_papers as papers
from pricing.selling.api.sales import PricedSetIn
from studio.api.acts import act, file
from studio.api.asked import Filters, IdFilter
from studio.api.fields import DayField, OwnMoneyField
from studio.api.rows import OwnId, OwnNumber, RowOut
from studio.api.viewsets import Added, Listed, Read
from studio.pdf import pdf_response
from studio.sight import PRICES

MOST = 100


class ConsignedSetOut(RowOut):
    """One set by its number, the price asked, and what became of it."""

    set = serializers.IntegerField(source="piece_set.number")
    name = serializers.CharField(source="piece_set.name")
    sale = serializers.IntegerField(
        source="sale_line.sale.number", allow_null=True, default=None, read_only=True
    )
    sold_for = serializers.DecimalField(
        12, 3, source="sale_line.price", allow_null=True, default=None, read_only=True
    )

    class Meta:
        model = ConsignedSet
        fields = read_only_fields = (
            *("set", "name", "asked", "outcome", "settled_on", "sale", "sold_for", "note"),
        )


class ConsignmentOut(RowOut):
    """Sets at one shop; ``to_pay`` is what the shop passes on of what it has sold."""

    channel = ChannelName()
    lines = ConsignedSetOut(many=True)
    out = serializers.IntegerField(source="shown.out")
    days_out = serializers.IntegerField(source="shown.days_out", allow_null=True)
    is_late = serializers.BooleanField(source="shown.is_late")
    out_asked = serializers.DecimalField(12, 3, source="shown.out_asked")
    sold_for = serializers.DecimalField(12, 3, source="shown.sold_for")
    fees = serializers.DecimalField(12, 3, source="shown.fees")
    to_pay = serializers.DecimalField(12, 3, source="shown.to_pay")

    class Meta:
        model = Consignment
        fields = read_only_fields = (
            *("number", "channel", "share", "sent_on", "due_back_on", "note", "out", "days_out"),
            *("is_late", "currency", "out_asked", "sold_for", "fees", "to_pay", "lines"),
        )


class ConsignmentIn(serializers.Serializer):
    """Sets that go to a shop that sells on consignment."""

    channel = OwnId(queryset=Channel.objects)
    sent_on = DayField(required=False)
    due_back_on = DayField(required=False, allow_null=True)
    note = serializers.CharField(max_length=300, required=False, allow_blank=True)
    reason = reason_in()
    items: serializers.ListSerializer = serializers.ListSerializer(
        child=PricedSetIn(), allow_empty=False, max_length=MOST
    )


class SettleItemIn(serializers.Serializer):
    """What became of one set; what was sold has the price paid, tax included."""

    set = OwnNumber(queryset=PieceSet.objects)
    outcome = serializers.ChoiceField(choices=ConsignedSet.Outcome.choices[1:])
    price = OwnMoneyField(required=False)

    def validate(self, data: dict[str, Any]) -> dict[str, Any]:
        if data["outcome"] == ConsignedSet.Outcome.SOLD and data.get("price") is None:
            raise serializers.ValidationError(
                {"price": ["Say what it was sold for."]}, code="required"
            )
        return data


class SettleIn(serializers.Serializer):
    """What became of some of the sets, all on one day: today, if not said."""

    on = DayField(required=False)
    items: serializers.ListSerializer = serializers.ListSerializer(
        child=SettleItemIn(), allow_empty=False, max_length=MOST
    )
    note = serializers.CharField(max_length=200, required=False, allow_blank=True)


class ConsignmentFilters(Filters):
    channel = IdFilter(label="The shop.")


class Consignments(Listed, Read, Added):
    """The consignment notes, newest first."""

    model, out, takes = Consignment, ConsignmentOut, ConsignmentIn
    sights = (PRICES,)
    dated_by = "sent_on"
    lookup_field = "number"
    filterset_class = ConsignmentFilters
    sort_fields = ("number", "sent_on", "due_back_on")
    changed_by = ("changed_at", "lines__changed_at")

    def rows(self) -> QuerySet[Consignment]:
        return consigning.consignments_of(self.studio)

    def with_details(self, page: list[Any]) -> list[Any]:
        """Put on each note what it comes to today."""
        for one in page:
            one.shown = consigning.account(one, self.studio.today())
        return page

    def add(self, items: list[dict[str, Any]], **sent: Any) -> Consignment:
        """Send sets to a shop; they are not for sale elsewhere until they are settled."""
        sent.setdefault("sent_on", self.studio.today())
        priced = [(one["set"], one["price"]) for one in items]
        return consigning.send_out(studio=self.studio, by=self.request.user, items=priced, **sent)

    @act(SettleIn)
    def settle(
        self,
        consignment: Consignment,
        items: list[dict[str, Any]],
        on: date | None = None,
        note: str = "",
    ) -> Consignment:
        """Record what sold (as one sale), came back and is lost: all of it, or nothing."""
        by_outcome: dict[str, list[dict[str, Any]]] = {
            value: [] for value in ConsignedSet.Outcome.values
        }
        for one in items:
            by_outcome[one["outcome"]].append(one)
        consigning.settle(
            consignment=consignment,
            by=self.request.user,
            on=on or self.studio.today(),
            sold=[(one["set"], one["price"]) for one in by_outcome["sold"]],
            returned=[one["set"] for one in by_outcome["returned"]],
            lost_sets=[one["set"] for one in by_outcome["lost"]],
            note=note,
        )
        return consignment

    @file()
    def note(self, consignment: Consignment) -> HttpResponse:
        """The note that both sides sign as a PDF; without costs."""
        return pdf_response(papers.note_pdf(consignment), papers.file_name(consignment, "note"))

    @file()
    def statement(self, consignment: Consignment) -> HttpResponse:
        """What the shop sold and passes on, as a PDF."""
        statement = papers.statement_pdf(consignment, self.studio.today())
        return pdf_response(statement, papers.file_name(consignment, "statement"))
