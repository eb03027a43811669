"""Money for commissions: what is owed, payments and their receipts."""

from django.db.models import QuerySet
from django.http import HttpResponse
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from pricing.commissions import money_papers, owing, payments
from pricing.commissions.owed_files import owed_file
from pricing.costing.api.costs import money
from pricing.models import Commission, Payment
from studio.api.acts import act, describes, file
from studio.api.asked import AS_OF, Filters, IdFilter, asked_past_day
from studio.api.fields import DayField, OwnMoneyField
from studio.api.files import AS, TABLES, asked_format
from studio.api.rows import RowOut
from studio.api.serializers import WhyIn
from studio.api.viewsets import Listed, Read, StudioViewSet
from studio.pdf import pdf_response
from studio.sight import ADDRESSES, PRICES


class AccountOut(serializers.Serializer):
    """The money of one commission, tax included; ``owed`` below zero: to be given back."""

    commission = serializers.IntegerField(source="commission.number")
    customer = serializers.CharField(source="commission.customer.name")
    currency = serializers.CharField()
    agreed, paid, owed, deposit_owed = money(), money(), money(), money()


class PaymentOut(RowOut):
    """Money paid, or below zero, given back; named by the number of its receipt."""

    commission = serializers.IntegerField(source="commission.number")
    sale = serializers.IntegerField(source="sale.number", allow_null=True, default=None)
    strikes = serializers.IntegerField(source="reverses.number", allow_null=True, default=None)

    class Meta:
        model = Payment
        fields = read_only_fields = (
            *("number", "commission", "sale", "currency", "amount", "how"),
            *("paid_on", "booked_on", "note", "owed_after", "strikes"),
        )


class PaymentIn(serializers.Serializer):
    """An amount above zero, how and on which day; today, if not said."""

    amount = OwnMoneyField()
    how = serializers.ChoiceField(choices=Payment.How.choices, required=False)
    paid_on = DayField(required=False)
    note = serializers.CharField(max_length=200, required=False, allow_blank=True)


class PaymentFilters(Filters):
    commission = IdFilter("commission__number", label="The commission's number.")

    class Meta:
        model = Payment
        fields = ("how",)


class Payments(Listed, Read):
    """The payments, newest first."""

    model, out = Payment, PaymentOut
    sights = (PRICES,)
    dated_by = "booked_on"
    lookup_field = "number"
    filterset_class = PaymentFilters
    sort_fields = ("number", "paid_on", "amount")

    def rows(self) -> QuerySet[Payment]:
        rows = self.studio.payments.select_related("commission__customer", "studio", "sale")
        return rows.select_related("reverses")

    @act(WhyIn, gives=PaymentOut, status=201, role="owner")
    def strike(self, payment: Payment, why: str) -> Payment:
        """Take a payment off the record by its opposite, which is answered."""
        return payments.strike_payment(payment=payment, by=self.request.user, note=why)

    @file(sights=(ADDRESSES,))
    def receipt(self, payment: Payment) -> HttpResponse:
        """The receipt of a payment as a PDF."""
        return pdf_response(money_papers.receipt_pdf(payment), money_papers.file_name(payment))


class Owed(StudioViewSet):
    """The commissions of which something is owed or to be given back."""

    model, out = Commission, AccountOut
    sights = (PRICES,)

    @describes(parameters=AS_OF)
    def list(self, request: Request) -> Response:
        accounts = owing.accounts(self.studio, day=asked_past_day(self))
        return self.page_response([one for one in accounts if one.owed])

    @file(media_types=TABLES, on_row=False, parameters=(AS, *AS_OF), path="file")
    def table(self) -> HttpResponse:
        """What is owed, as a table."""
        return owed_file(self.studio, asked_format(self.request), asked_past_day(self))
