"""Quotes: drafted from the cost, sent as a frozen paper, answered."""

from decimal import Decimal
from typing import Any

from django.db.models import QuerySet
from django.http import HttpResponse
from django.urls import reverse
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from pricing.models import Channel, Commission, Quote, QuoteLine
from pricing.quoting import papers, quote_links
from pricing.quoting import quotes as quoting
from pricing.readiness.api.reasons import reason_in
from studio.api.acts import act, answer, file
from studio.api.asked import Filters, IdFilter
from studio.api.fields import MomentField, MoneyField
from studio.api.rows import OwnId, OwnNumber, RowOut
from studio.api.viewsets import Added, Listed, Read, StudioViewSet
from studio.pdf import pdf_response
from studio.sight import ADDRESSES, COSTS, PRICES, PROFIT
from studio.site import BEGINS, address


class QuoteLineOut(RowOut):
    class Meta:
        model = QuoteLine
        fields = read_only_fields = ("description", "quantity", "unit_price", "amount")


class QuoteOut(RowOut):
    """A price as the customer reads it; nothing in it changes once it is sent."""

    label = serializers.CharField()  # type: ignore[assignment]  # what is written out, not the serializer's own
    commission = serializers.IntegerField(source="commission.number")
    lines = QuoteLineOut(many=True)

    class Meta:
        model = Quote
        fields = read_only_fields = (
            *("id", "label", "number", "version", "status", "commission", "created_at", "sent_at"),
            *("viewed_at", "valid_until", "answered_at", "answered_by", "answer_note"),
            *("answered_by_link", "currency", "net", "tax", "gross", "deposit", "lines"),
        )


def share(highest: str) -> serializers.DecimalField:
    """A share of one, such as 0.35; left out, the studio's own stands."""
    return serializers.DecimalField(
        6, 4, min_value=Decimal(0), max_value=Decimal(highest), required=False
    )


class QuoteIn(serializers.Serializer):
    """A commission by its number, and what differs from the studio's own terms.

    Shares are of one; a margin is of the price before tax, a markup of the cost, and one of them
    may be given. Shipping is before tax.
    """

    commission = OwnNumber(queryset=Commission.objects)
    margin, markup = share("0.95"), share("10")
    rush, discount, deposit = share("2"), share("0.9"), share("1")
    shipping = MoneyField(required=False)
    channel = OwnId(queryset=Channel.objects, required=False, allow_null=True)

    def validate(self, data: dict[str, Any]) -> dict[str, Any]:
        if "margin" in data and "markup" in data:
            raise serializers.ValidationError({"markup": ["Give a margin or a markup, not both."]})
        return data


class SendIn(serializers.Serializer):
    """For how long the quote stands, as the studio's usually do if not said; why it is sent."""

    valid_days = serializers.IntegerField(min_value=1, max_value=365, required=False)
    reason = reason_in()


class AnswerIn(serializers.Serializer):
    """The customer's answer, taken down by the studio."""

    name = serializers.CharField(max_length=120, required=False)
    note = serializers.CharField(max_length=300, required=False, allow_blank=True)


class QuoteCostsOut(serializers.Serializer):
    """Every input and amount a quote was computed from, as frozen with it."""

    settings, terms, channel, prices, lines, totals, asking, risk, advice = (
        serializers.JSONField(default=None) for _ in range(9)
    )


class LinkOut(serializers.Serializer):
    """The customer's private link; ``url`` is shown this once and kept nowhere."""

    url = serializers.URLField(help_text=BEGINS)
    expires_at = MomentField()


class QuoteFilters(Filters):
    commission = IdFilter("commission__number", label="The commission's number.")

    class Meta:
        model = Quote
        fields = ("status",)


class QuoteRows(StudioViewSet):
    """Quotes and what belongs to one: an owner prices and sends."""

    model, out = Quote, QuoteOut
    write_role = "owner"
    sights = (PRICES,)

    def rows(self) -> QuerySet[Quote]:
        rows = self.studio.quotes.select_related("commission__customer", "studio").defer("frozen")
        return rows.prefetch_related("lines")


class Quotes(QuoteRows, Listed, Read, Added):
    """The quotes, newest first."""

    takes = QuoteIn
    dated_by = "created_at"
    filterset_class = QuoteFilters
    sort_fields = ("created_at", "number", "valid_until")
    changed_by = ("changed_at", "lines__changed_at")

    def add(self, **sent: Any) -> Quote:
        """Work out the price of a commission, in place of its earlier draft."""
        return quoting.draft_quote(by=self.request.user, **sent)

    @act(SendIn)
    def send(self, quote: Quote, **sent: Any) -> Quote:
        """Number a draft and freeze it; an earlier quote is superseded."""
        return quoting.send_quote(quote=quote, by=self.request.user, **sent)

    @act(AnswerIn, role="maker")
    def accept(self, quote: Quote, **sent: Any) -> Quote:
        """Take down that the customer accepted; stock is held from then on."""
        return quoting.accept_quote(quote=quote, by=self.request.user, **sent)

    @act(AnswerIn, role="maker")
    def decline(self, quote: Quote, **sent: Any) -> Quote:
        """Take down that the customer declined, and why."""
        return quoting.decline_quote(quote=quote, by=self.request.user, **sent)

    @answer(QuoteCostsOut, sights=(COSTS, PROFIT))
    def costs(self, quote: Quote) -> dict[str, Any]:
        """Every input and amount a quote was computed from, as frozen with it."""
        return quote.frozen

    @file(sights=(ADDRESSES,))
    def pdf(self, quote: Quote) -> HttpResponse:
        """The quote as a PDF, the same bytes each time."""
        return pdf_response(papers.quote_pdf(quote), papers.file_name(quote))

    @file(sights=(COSTS, PROFIT))
    def cost_sheet(self, quote: Quote) -> HttpResponse:
        """The internal cost sheet as a PDF: no paper for the customer."""
        return pdf_response(papers.cost_sheet_pdf(quote), f"cost-sheet-{quote.pk}.pdf")


class QuoteLinks(QuoteRows):
    """The customer's private link to a quote."""

    tell_secrets = ("make",)

    @act(gives=LinkOut, status=201)
    def make(self, quote: Quote) -> dict[str, object]:
        """Make the link by which the customer reads and answers; an earlier one stops working."""
        link, secret = quote_links.make_link(quote=quote, by=self.request.user)
        url = address(reverse("customer-quote", args=[secret]))
        return {"url": url, "expires_at": link.expires_at}

    def destroy(self, request: Request, **key: Any) -> Response:
        """Make the link of a quote, whose version is named, stop working at once."""
        quote = self.row()
        self.refuse_stale(quote)
        quote_links.revoke_link(quote=quote)
        return Response(status=204)
