"""Money for commissions: what is owed, payments with receipts, invoices and credit notes."""

from django.shortcuts import get_object_or_404
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.response import Response

from pricing.api.commissions import CommissionView
from pricing.commissions import money_papers, owing, payments
from pricing.models import Invoice, Payment
from pricing.quoting import invoicing
from studio.api.fields import DayField, MoneyField
from studio.api.papers import PaperView, describes_paper, paper
from studio.api.rows import asked
from studio.api.schema import pages_of
from studio.api.views import StudioView


class AccountOut(serializers.Serializer):
    """The money of one commission, tax included; ``owed`` below zero: to be given back."""

    commission = serializers.IntegerField(source="commission.number")
    customer = serializers.CharField(source="commission.customer.name")
    agreed = serializers.DecimalField(12, 3)
    paid = serializers.DecimalField(12, 3)
    owed = serializers.DecimalField(12, 3)
    deposit_owed = serializers.DecimalField(12, 3)


class PaymentOut(serializers.ModelSerializer):
    """Money paid, or below zero, given back; named by the number of its receipt."""

    commission = serializers.IntegerField(source="commission.number")
    sale = serializers.IntegerField(source="sale.number", allow_null=True, default=None)
    strikes = serializers.IntegerField(source="reverses.number", allow_null=True, default=None)

    class Meta:
        model = Payment
        fields = [
            "number",
            "commission",
            "sale",
            "amount",
            "how",
            "paid_on",
            "note",
            "owed_after",
            "strikes",
        ]
        read_only_fields = fields


class PaymentIn(serializers.Serializer):
    """An amount above zero, how and on which day; today, if not said."""

    amount = MoneyField()
    how = serializers.ChoiceField(choices=Payment.How.choices, required=False)
    paid_on = DayField(required=False)
    note = serializers.CharField(max_length=200, required=False, allow_blank=True)


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


class OwedEndpoint(StudioView):
    """What customers owe."""

    @extend_schema(operation_id="owed_list", responses=pages_of(AccountOut))
    def get(self, request):
        """List the commissions of which something is owed or to be given back."""
        rows = [one for one in owing.accounts(request.studio) if one.owed]
        return self.paginated(rows, AccountOut)


class AccountEndpoint(CommissionView):
    """The money of one commission."""

    @extend_schema(operation_id="commissions_account", responses=AccountOut)
    def get(self, request, number):
        """Read what was agreed, paid and is owed for a commission."""
        return Response(AccountOut(owing.account(self.found(request, number))).data)


class PaymentsEndpoint(StudioView):
    """The payments."""

    @extend_schema(operation_id="payments_list", responses=pages_of(PaymentOut))
    def get(self, request):
        """List the payments, newest first."""
        rows = request.studio.payments.select_related("commission", "sale", "reverses")
        return self.paginated(rows, PaymentOut)


class TakePaymentEndpoint(CommissionView):
    """Money in."""

    @extend_schema(
        operation_id="commissions_take_payment", request=PaymentIn, responses={201: PaymentOut}
    )
    def post(self, request, number):
        """Record what a customer paid, at most what is owed."""
        found = self.found(request, number)
        sent = asked(request, PaymentIn).validated_data
        made = payments.take_payment(commission=found, by=request.user, **sent)
        return Response(PaymentOut(made).data, status=201)


class GiveBackEndpoint(CommissionView):
    """Money out."""

    @extend_schema(
        operation_id="commissions_give_back", request=PaymentIn, responses={201: PaymentOut}
    )
    def post(self, request, number):
        """Record money given back, at most what was paid."""
        found = self.found(request, number)
        sent = asked(request, PaymentIn).validated_data
        made = payments.give_back(commission=found, by=request.user, **sent)
        return Response(PaymentOut(made).data, status=201)


def _payment(request, number):
    rows = request.studio.payments.select_related("commission__customer", "studio", "sale")
    return get_object_or_404(rows.select_related("reverses"), number=number)


class StrikePaymentEndpoint(StudioView):
    """A payment recorded by mistake."""

    write_role = "owner"

    @extend_schema(operation_id="payments_strike", request=ReasonIn, responses={201: PaymentOut})
    def post(self, request, number):
        """Take a payment off the record by its opposite."""
        found = _payment(request, number)
        why = asked(request, ReasonIn).validated_data["why"]
        made = payments.strike_payment(payment=found, by=request.user, note=why)
        return Response(PaymentOut(made).data, status=201)


class ReceiptEndpoint(PaperView):
    """A receipt."""

    @describes_paper("payments_receipt", "The receipt of a payment as a PDF.")
    def get(self, request, number):
        found = _payment(request, number)
        return paper(money_papers.receipt_pdf(found), money_papers.file_name(found))


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
