"""Commissions: taken down, changed, moved on by hand, paid for."""

from typing import Any, ClassVar

from django.db.models import QuerySet
from rest_framework import serializers
from rest_framework.serializers import BaseSerializer

from pricing.commissions import orders, owing, payments
from pricing.commissions.api.lines import CommissionLineOut
from pricing.commissions.api.needs import CommissionEstimateOut, StockCheckOut
from pricing.commissions.api.payments import AccountOut, PaymentIn, PaymentOut
from pricing.commissions.owing import CommissionAccount
from pricing.commissions.stock_checks import StockCheck, stock_check
from pricing.costing.api.names import CustomerName
from pricing.costing.catalogue import add_customer
from pricing.estimating.answers import CommissionEstimate
from pricing.estimating.estimates import estimate_commission
from pricing.models import Commission, CommissionEvent, Customer, Payment
from pricing.readiness.api.reasons import reason_in
from studio.api.acts import act, answer
from studio.api.asked import Filters, IdFilter
from studio.api.rows import OwnId, RowOut, Sighted
from studio.api.viewsets import Added, Changed, Listed, Read
from studio.models import Studio
from studio.sight import ADDRESSES, PRICES


class CommissionEventOut(RowOut):
    by = serializers.CharField(source="by.username", allow_null=True, default=None)

    class Meta:
        model = CommissionEvent
        fields = read_only_fields = ("status", "at", "by", "note")


class CommissionOut(RowOut):
    """One customer's request; it is named by its number."""

    customer = CustomerName()
    lines = CommissionLineOut(many=True)
    events = CommissionEventOut(many=True)

    class Meta:
        model = Commission
        fields = read_only_fields = (
            *("number", "title", "customer", "status", "due_on", "promised_on"),
            *("notes", "created_at", "lines", "events"),
        )


class CommissionIn(Sighted, serializers.ModelSerializer):
    """Who asks for what, and by when; a customer the studio has, or a new one's name."""

    sights: ClassVar = {"new_email": ADDRESSES}

    customer = OwnId(queryset=Customer.objects, required=False)
    new_customer = serializers.CharField(max_length=120, required=False)
    new_email = serializers.EmailField(required=False, allow_blank=True)

    class Meta:
        model = Commission
        fields = ("title", "customer", "new_customer", "new_email", "due_on", "notes")

    def validate(self, data: dict[str, Any]) -> dict[str, Any]:
        named = ("customer" in data) + ("new_customer" in data)
        if named > 1 or (not named and not self.partial):
            raise serializers.ValidationError(
                {"customer": ["Name a customer, or give a new one's name; one of the two."]}
            )
        return data


class StepIn(serializers.Serializer):
    status = serializers.ChoiceField(choices=Commission.Status.choices)
    note = serializers.CharField(max_length=300, required=False, allow_blank=True)
    reason = reason_in()


def commissions_of(studio: Studio) -> QuerySet[Commission]:
    """Return the commissions of a studio with lines and events, ready to be written out."""
    made_of = ("surface", "technique", "palette", "topcoat", "packaging")
    rows = studio.commissions.select_related("customer", "studio")
    return rows.prefetch_related(*(f"lines__{part}" for part in made_of), "events__by")


class CommissionFilters(Filters):
    customer = IdFilter()

    class Meta:
        model = Commission
        fields = ("status",)


class Commissions(Listed, Read, Added, Changed):
    """The commissions, newest first."""

    model, out, takes = Commission, CommissionOut, CommissionIn
    dated_by = "created_at"
    lookup_field = "number"
    filterset_class = CommissionFilters
    search_fields = ("title", "customer__name")
    sort_fields = ("number", "title", "due_on", "promised_on", "created_at")
    changed_by = ("changed_at", "lines__changed_at", "events__changed_at")

    def rows(self) -> QuerySet[Commission]:
        return commissions_of(self.studio)

    def add(self, **sent: Any) -> Commission:
        """Take an enquiry down."""
        sent = self._with_customer(sent)
        return orders.open_commission(studio=self.studio, by=self.request.user, **sent)

    def change(self, commission: Commission, sent: BaseSerializer) -> Commission:
        """Change who it is for, its title, its date and notes."""
        changes = self._with_customer(sent.validated_data)
        return orders.change_commission(commission=commission, by=self.request.user, **changes)

    def _with_customer(self, sent: dict[str, Any]) -> dict[str, Any]:
        """Return the fields with the customer named, written down first where it is a new one."""
        name, email = sent.pop("new_customer", None), sent.pop("new_email", "")
        if name is not None:
            sent["customer"] = add_customer(studio=self.studio, name=name, email=email)
        return sent

    @act(StepIn)
    def step(self, commission: Commission, **sent: Any) -> Commission:
        """Take a step by hand, such as delivered, paid, declined or cancelled."""
        return orders.move_on(commission=commission, by=self.request.user, **sent)

    @answer(CommissionEstimateOut)
    def estimate(self, commission: Commission) -> CommissionEstimate:
        """How much a commission takes, by line, layer and material."""
        return estimate_commission(commission)

    @answer(StockCheckOut)
    def stock_check(self, commission: Commission) -> StockCheck:
        """What a commission needs beside what is there for it, what is short first."""
        return stock_check(commission)

    @answer(AccountOut, sights=(PRICES,))
    def account(self, commission: Commission) -> CommissionAccount:
        """Read what was agreed, paid and is owed for a commission."""
        return owing.account(commission)

    @act(PaymentIn, gives=PaymentOut, status=201, path="payments", sights=(PRICES,))
    def take_payment(self, commission: Commission, **sent: Any) -> Payment:
        """Record what a customer paid, at most what is owed."""
        return payments.take_payment(commission=commission, by=self.request.user, **sent)

    @act(PaymentIn, gives=PaymentOut, status=201, sights=(PRICES,))
    def give_back(self, commission: Commission, **sent: Any) -> Payment:
        """Record money given back, at most what was paid."""
        return payments.give_back(commission=commission, by=self.request.user, **sent)
