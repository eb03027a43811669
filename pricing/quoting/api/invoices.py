"""Invoices and credit notes."""

from typing import Any

from django.db.models import QuerySet
from django.http import HttpResponse
from rest_framework import serializers

from pricing.commissions import money_papers
from pricing.models import Commission, Invoice
from pricing.quoting import invoicing
from studio.api.acts import act, file
from studio.api.asked import Filters, IdFilter
from studio.api.rows import OwnNumber, RowOut
from studio.api.serializers import WhyIn
from studio.api.viewsets import Added, Listed, Read
from studio.pdf import pdf_response
from studio.sight import ADDRESSES, PRICES


class InvoiceOut(RowOut):
    """An invoice; ``credits`` names the invoice that a credit note takes back."""

    commission = serializers.IntegerField(source="commission.number")
    credits = serializers.IntegerField(source="credits.number", allow_null=True, default=None)

    class Meta:
        model = Invoice
        fields = read_only_fields = (
            *("number", "commission", "credits", "issued_on", "due_on", "currency"),
            *("net", "tax", "gross"),
        )


class InvoiceIn(serializers.Serializer):
    """A commission by its number, and within how many days it is to be paid.

    As the studio's invoices usually are, if not said.
    """

    commission = OwnNumber(queryset=Commission.objects)
    due_days = serializers.IntegerField(min_value=0, max_value=365, required=False)


class InvoiceFilters(Filters):
    commission = IdFilter("commission__number", label="The commission's number.")


class Invoices(Listed, Read, Added):
    """The invoices and credit notes, newest first."""

    model, out, takes = Invoice, InvoiceOut, InvoiceIn
    dated_by = "issued_on"
    lookup_field = "number"
    write_role = "owner"
    sights = (PRICES,)
    filterset_class = InvoiceFilters
    sort_fields = ("number", "issued_on", "due_on")

    def rows(self) -> QuerySet[Invoice]:
        return self.studio.invoices.select_related("commission", "credits").defer("frozen")

    def add(self, **sent: Any) -> Invoice:
        """Issue the invoice of a commission under the next number."""
        return invoicing.issue_invoice(by=self.request.user, **sent)

    @act(WhyIn, status=201)
    def credit(self, invoice: Invoice, why: str) -> Invoice:
        """Take an invoice back by a credit note of its own number, which is answered."""
        return invoicing.credit_invoice(invoice=invoice, by=self.request.user, why=why)

    @file(sights=(ADDRESSES,))
    def pdf(self, invoice: Invoice) -> HttpResponse:
        """An invoice or credit note as a PDF, always the same."""
        return pdf_response(money_papers.invoice_pdf(invoice), money_papers.file_name(invoice))
