"""Consignment: sets at shops, and settling with them."""

from django.shortcuts import get_object_or_404
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.response import Response

from pricing.api.catalogue import ChannelName
from pricing.models import Channel, ConsignedSet, Consignment, PieceSet
from pricing.selling import consignment_papers as papers
from pricing.selling.consigning import account, consignments_of, send_out, settle
from studio.api.fields import DayField, MoneyField
from studio.api.papers import PaperView, describes_paper, paper
from studio.api.rows import OwnId, OwnNumber, asked
from studio.api.schema import pages_of
from studio.api.views import StudioView

MOST = 100


class ConsignedSetOut(serializers.ModelSerializer):
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
        fields = ["set", "name", "asked", "outcome", "settled_on", "sale", "sold_for", "note"]
        read_only_fields = fields


class ConsignmentOut(serializers.ModelSerializer):
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
        fields = [
            "number",
            "channel",
            "share",
            "sent_on",
            "due_back_on",
            "note",
            "out",
            "days_out",
            "is_late",
            "out_asked",
            "sold_for",
            "fees",
            "to_pay",
            "lines",
        ]
        read_only_fields = fields


class ConsignItemIn(serializers.Serializer):
    """A set by its number, and the price the shop asks, tax included."""

    set = OwnNumber(queryset=PieceSet.objects)
    price = MoneyField()


class ConsignmentIn(serializers.Serializer):
    """Sets that go to a shop that sells on consignment."""

    channel = OwnId(queryset=Channel.objects)
    sent_on = DayField(required=False)
    due_back_on = DayField(required=False, allow_null=True)
    note = serializers.CharField(max_length=300, required=False, allow_blank=True)
    items = ConsignItemIn(many=True, allow_empty=False, max_length=MOST)


class SettleItemIn(serializers.Serializer):
    """What became of one set; what was sold has the price paid, tax included."""

    set = OwnNumber(queryset=PieceSet.objects)
    outcome = serializers.ChoiceField(choices=ConsignedSet.Outcome.choices[1:])
    price = MoneyField(required=False)

    def validate(self, data):
        if data["outcome"] == ConsignedSet.Outcome.SOLD and data.get("price") is None:
            raise serializers.ValidationError(
                {"price": ["Say what it was sold for."]}, code="required"
            )
        return data


class SettleIn(serializers.Serializer):
    """What became of some of the sets, all on one day: today, if not said."""

    on = DayField(required=False)
    items = SettleItemIn(many=True, allow_empty=False, max_length=MOST)
    note = serializers.CharField(max_length=200, required=False, allow_blank=True)


def with_accounts(studio, rows):
    """Put on each note what it comes to today."""
    for one in rows:
        one.shown = account(one, studio.today())
    return rows


def _found(request, number):
    return get_object_or_404(consignments_of(request.studio), number=number)


class ConsignmentView(StudioView):
    """An endpoint of one note."""

    def answer(self, request, number, status=200):
        """Answer with the note as it is now."""
        (found,) = with_accounts(request.studio, [_found(request, number)])
        return Response(ConsignmentOut(found).data, status=status)


class ConsignmentsEndpoint(ConsignmentView):
    """The notes."""

    @extend_schema(operation_id="consignments_list", responses=pages_of(ConsignmentOut))
    def get(self, request):
        """List the consignment notes, newest first."""
        return self.paginated(
            consignments_of(request.studio),
            ConsignmentOut,
            prepare=lambda page: with_accounts(request.studio, page),
        )

    @extend_schema(
        operation_id="consignments_add", request=ConsignmentIn, responses={201: ConsignmentOut}
    )
    def post(self, request):
        """Send sets to a shop; they are not for sale elsewhere until they are settled."""
        sent = asked(request, ConsignmentIn).validated_data
        sent.setdefault("sent_on", request.studio.today())
        items = [(one["set"], one["price"]) for one in sent.pop("items")]
        made = send_out(studio=request.studio, by=request.user, items=items, **sent)
        return self.answer(request, made.number, status=201)


class ConsignmentEndpoint(ConsignmentView):
    """One note."""

    @extend_schema(operation_id="consignments_read", responses=ConsignmentOut)
    def get(self, request, number):
        """Read one consignment note."""
        return self.answer(request, number)


class SettleConsignmentEndpoint(ConsignmentView):
    """Settling."""

    @extend_schema(operation_id="consignments_settle", request=SettleIn, responses=ConsignmentOut)
    def post(self, request, number):
        """Record what sold (as one sale), came back and is lost: all of it, or nothing."""
        found = _found(request, number)
        sent = asked(request, SettleIn).validated_data
        by_outcome = {value: [] for value in ConsignedSet.Outcome.values}
        for one in sent["items"]:
            by_outcome[one["outcome"]].append(one)
        settle(
            consignment=found,
            by=request.user,
            on=sent.get("on") or request.studio.today(),
            sold=[(one["set"], one["price"]) for one in by_outcome["sold"]],
            returned=[one["set"] for one in by_outcome["returned"]],
            lost_sets=[one["set"] for one in by_outcome["lost"]],
            note=sent.get("note", ""),
        )
        return self.answer(request, number)


class ConsignmentNoteEndpoint(PaperView):
    """The note to sign."""

    @describes_paper("consignments_note", "The note that both sides sign as a PDF; without costs.")
    def get(self, request, number):
        found = _found(request, number)
        return paper(papers.note_pdf(found), papers.file_name(found, "note"))


class ConsignmentStatementEndpoint(PaperView):
    """The settlement statement."""

    @describes_paper("consignments_statement", "What the shop sold and passes on, as a PDF.")
    def get(self, request, number):
        found = _found(request, number)
        made = papers.statement_pdf(found, request.studio.today())
        return paper(made, papers.file_name(found, "statement"))
