"""Quotes: drafted from the cost, sent as a frozen paper, answered."""

from decimal import Decimal

from django.shortcuts import get_object_or_404
from django.urls import reverse
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.response import Response

from pricing.api.commissions import CommissionView
from pricing.models import Channel, Quote, QuoteLine
from pricing.quoting import quote_links
from pricing.quoting import quotes as quoting
from studio.api.fields import MoneyField
from studio.api.rows import OwnId, asked, asked_number
from studio.api.schema import pages_of
from studio.api.views import StudioView


class QuoteLineOut(serializers.ModelSerializer):
    class Meta:
        model = QuoteLine
        fields = ["description", "quantity", "unit_price", "amount"]
        read_only_fields = fields


class QuoteOut(serializers.ModelSerializer):
    """A price as the customer reads it; nothing in it changes once it is sent."""

    label = serializers.CharField()
    commission = serializers.IntegerField(source="commission.number")
    lines = QuoteLineOut(many=True)

    class Meta:
        model = Quote
        fields = [
            "id",
            "label",
            "number",
            "version",
            "status",
            "commission",
            "created_at",
            "sent_at",
            "viewed_at",
            "valid_until",
            "answered_at",
            "answered_by",
            "answer_note",
            "answered_by_link",
            "currency",
            "net",
            "tax",
            "gross",
            "deposit",
            "lines",
        ]
        read_only_fields = fields


def share(highest):
    """A share of one, such as 0.35; left out, the studio's own stands."""
    return serializers.DecimalField(
        6, 4, min_value=Decimal(0), max_value=Decimal(highest), required=False
    )


class QuoteIn(serializers.Serializer):
    """What differs from the studio's own terms; shares of one, and shipping before tax."""

    margin = share("0.95")
    rush = share("2")
    discount = share("0.9")
    deposit = share("1")
    shipping = MoneyField(required=False)
    channel = OwnId(queryset=Channel.objects, required=False, allow_null=True)


class SendIn(serializers.Serializer):
    """For how long the quote stands; as long as the studio's usually do, if not said."""

    valid_days = serializers.IntegerField(min_value=1, max_value=365, required=False)


class AnswerIn(serializers.Serializer):
    """The customer's answer, taken down by the studio."""

    name = serializers.CharField(max_length=120, required=False)
    note = serializers.CharField(max_length=300, required=False, allow_blank=True)


def quotes_of(studio):
    """Return the quotes of a studio with their lines, ready to be written out."""
    rows = studio.quotes.select_related("commission__customer", "studio").defer("frozen")
    return rows.prefetch_related("lines")


def found_quote(request, pk):
    """Return a quote of the studio, or a 404."""
    return get_object_or_404(quotes_of(request.studio), pk=pk)


class QuotesEndpoint(StudioView):
    """The quotes."""

    @extend_schema(
        operation_id="quotes_list",
        parameters=[OpenApiParameter("commission", int, description="The commission's number.")],
        responses=pages_of(QuoteOut),
    )
    def get(self, request):
        """List the quotes, newest first."""
        rows = quotes_of(request.studio)
        if (number := asked_number(request, "commission")) is not None:
            rows = rows.filter(commission__number=number)
        return self.paginated(rows, QuoteOut)


class DraftQuoteEndpoint(CommissionView):
    """A price worked out."""

    write_role = "owner"

    @extend_schema(
        operation_id="commissions_draft_quote", request=QuoteIn, responses={201: QuoteOut}
    )
    def post(self, request, number):
        """Work out the price of a commission, in place of its earlier draft."""
        found = self.found(request, number)
        sent = asked(request, QuoteIn).validated_data
        made = quoting.draft_quote(commission=found, by=request.user, **sent)
        return Response(QuoteOut(found_quote(request, made.pk)).data, status=201)


class QuoteEndpoint(StudioView):
    """One quote."""

    @extend_schema(operation_id="quotes_read", responses=QuoteOut)
    def get(self, request, pk):
        """Read a quote as the customer does."""
        return Response(QuoteOut(found_quote(request, pk)).data)


class SendQuoteEndpoint(StudioView):
    """Sending."""

    write_role = "owner"

    @extend_schema(operation_id="quotes_send", request=SendIn, responses=QuoteOut)
    def post(self, request, pk):
        """Number a draft and freeze it; an earlier quote is superseded."""
        found = found_quote(request, pk)
        sent = asked(request, SendIn).validated_data
        quoting.send_quote(quote=found, by=request.user, **sent)
        return Response(QuoteOut(found_quote(request, pk)).data)


class LinkOut(serializers.Serializer):
    """The customer's private link; ``url`` is shown this once and kept nowhere."""

    url = serializers.URLField()
    expires_at = serializers.DateTimeField()


class QuoteLinkEndpoint(StudioView):
    """The customer's private link."""

    write_role = "owner"
    remembers = False

    @extend_schema(operation_id="quotes_make_link", request=None, responses={201: LinkOut})
    def post(self, request, pk):
        """Make the link by which the customer reads and answers; an earlier one stops working."""
        link, secret = quote_links.make_link(quote=found_quote(request, pk), by=request.user)
        url = request.build_absolute_uri(reverse("customer-quote", args=[secret]))
        return Response(LinkOut({"url": url, "expires_at": link.expires_at}).data, status=201)

    @extend_schema(operation_id="quotes_revoke_link", responses={204: None})
    def delete(self, request, pk):
        """Make the link stop working at once."""
        quote_links.revoke_link(quote=found_quote(request, pk))
        return Response(status=204)


class AcceptQuoteEndpoint(StudioView):
    """Yes."""

    @extend_schema(operation_id="quotes_accept", request=AnswerIn, responses=QuoteOut)
    def post(self, request, pk):
        """Take down that the customer accepted; stock is held from then on."""
        found = found_quote(request, pk)
        sent = asked(request, AnswerIn).validated_data
        quoting.accept_quote(quote=found, by=request.user, **sent)
        return Response(QuoteOut(found_quote(request, pk)).data)


class DeclineQuoteEndpoint(StudioView):
    """No."""

    @extend_schema(operation_id="quotes_decline", request=AnswerIn, responses=QuoteOut)
    def post(self, request, pk):
        """Take down that the customer declined, and why."""
        found = found_quote(request, pk)
        sent = asked(request, AnswerIn).validated_data
        quoting.decline_quote(quote=found, by=request.user, **sent)
        return Response(QuoteOut(found_quote(request, pk)).data)
