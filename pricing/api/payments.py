"""Invoices and credit notes."""

from django.shortcuts import get_object_or_404
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.response import Response

from pricing.api.commissions import CommissionView
from pricing.commissions import money_papers
from pricing.models import Invoice
from pricing.quoting import invoicing
from studio.api.papers import PaperView, describes_paper, paper
from studio.api.rows import asked
from studio.api.schema import pages_of
from studio.api.views import StudioView


class InvoiceOut(serializers.ModelSerializer):
    """An invoice; ``credits`` names the invoice that a credit note takes back."""

    commission = serializers.IntegerField(source="commission.number")
    credits = serializers.IntegerField(source="credits.number", allow_null=True, default=None)

    class Meta:
        model = Invoice
        fields = [
            "number",
            "commission",
            "credits",
            "issued_on",
            "due_on",
            "currency",
            "net",
            "tax",
            "gross",
        ]
        read_only_fields = fields


class InvoiceIn(serializers.Serializer):
    """Within how many days it is to be paid; as the studio's usually are, if not said."""

    due_days = serializers.IntegerField(min_value=0, max_value=365, required=False)


class ReasonIn(serializers.Serializer):
    why = serializers.CharField(max_length=200)


class InvoicesEndpoint(StudioView):
    """The invoices."""

    @extend_schema(operation_id="invoices_list", responses=pages_of(InvoiceOut))
    def get(self, request):
        """List the invoices and credit notes, newest first."""
        rows = request.studio.invoices.select_related("commission", "credits").defer("frozen")
        return self.paginated(rows, InvoiceOut)


class IssueInvoiceEndpoint(CommissionView):
    """Asking for the money."""

    write_role = "owner"

    @extend_schema(
        operation_id="commissions_issue_invoice", request=InvoiceIn, responses={201: InvoiceOut}
    )
    def post(self, request, number):
        """Issue the invoice of a commission under the next number."""
        found = self.found(request, number)
        sent = asked(request, InvoiceIn).validated_data
        made = invoicing.issue_invoice(commission=found, by=request.user, **sent)
        return Response(InvoiceOut(made).data, status=201)


class CreditInvoiceEndpoint(StudioView):
    """Taking an invoice back."""

    write_role = "owner"

    @extend_schema(operation_id="invoices_credit", request=ReasonIn, responses={201: InvoiceOut})
    def post(self, request, number):
        """Take an invoice back by a credit note of its own number."""
        found = get_object_or_404(request.studio.invoices, number=number)
        why = asked(request, ReasonIn).validated_data["why"]
        note = invoicing.credit_invoice(invoice=found, by=request.user, why=why)
        return Response(InvoiceOut(note).data, status=201)


class InvoicePaperEndpoint(PaperView):
    """The paper."""

    @describes_paper("invoices_pdf", "An invoice or credit note as a PDF, always the same.")
    def get(self, request, number):
        found = get_object_or_404(request.studio.invoices, number=number)
        return paper(money_papers.invoice_pdf(found), money_papers.file_name(found))
