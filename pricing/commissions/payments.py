"""Money for commissions: taken, given back, and taken off the record by its opposite."""

from datetime import date
from decimal import Decimal

from django.contrib.auth.models import User
from django.db import transaction

from pricing.commissions.owing import CommissionAccount, account
from pricing.commissions.progress import money_moved
from pricing.errors import PaymentRefused
from pricing.models import Commission, Payment, Sale
from studio.closing import booked_day, hold_months
from studio.money import ZERO, format_money, to_payable
from studio.numbering import next_number

How = Payment.How


@transaction.atomic
def take_payment(
    *,
    commission: Commission,
    by: User | None,
    amount: Decimal,
    paid_on: date | None = None,
    how: str = How.OTHER,
    note: str = "",
    sale: Sale | None = None,
) -> Payment:
    """Record what a customer paid for a commission, under the next number of a receipt.

    A delivered commission of which nothing is owed any more is paid. Raises `PaymentRefused` for
    more than is owed, for nothing, for a day to come, and where no quote was accepted.
    """
    now = account(_lock(commission))
    commission, balance = now.commission, now.owed
    amount = _checked(now, amount, paid_on)
    if amount > balance:
        raise PaymentRefused(
            f"{_money(now, max(balance, ZERO))} is owed for {commission}, so no more than "
            "that can be paid. Take extra money as a commission of its own."
        )
    return _record(now, by, amount, paid_on, how, note, sale)


@transaction.atomic
def give_back(
    *,
    commission: Commission,
    by: User | None,
    amount: Decimal,
    paid_on: date | None = None,
    how: str = How.OTHER,
    note: str = "",
    sale: Sale | None = None,
) -> Payment:
    """Record money given back to a customer, at most what they paid; returns the payment."""
    now = account(_lock(commission))
    amount = _checked(now, amount, paid_on)
    if amount > now.paid:
        raise PaymentRefused(
            f"{_money(now, now.paid)} was paid for {commission}, so no more than that can "
            "be given back."
        )
    return _record(now, by, -amount, paid_on, how, note, sale)


@transaction.atomic
def strike_payment(*, payment: Payment, by: User | None, note: str) -> Payment:
    """Undo a payment that was recorded by mistake; both stay on record. Returns the opposite."""
    commission = _lock(payment.commission)
    payment = Payment.objects.select_for_update().get(pk=payment.pk)
    if payment.reverses_id or Payment.objects.filter(reverses=payment).exists():
        raise PaymentRefused(f"{payment} is cancelled already, or cancels another.")
    return _record(
        account(commission),
        by,
        -payment.amount,
        payment.paid_on,
        payment.how,
        note,
        payment.sale,
        reverses=payment,
    )


def _record(
    now: CommissionAccount,
    by: User | None,
    amount: Decimal,
    paid_on: date | None,
    how: str,
    note: str,
    sale: Sale | None,
    reverses: Payment | None = None,
) -> Payment:
    commission = now.commission
    paid_on = paid_on or commission.studio.today()
    payment = Payment.objects.create(
        studio=commission.studio,
        number=next_number(commission.studio, "receipt"),
        commission=commission,
        sale=sale,
        currency=reverses.currency if reverses else now.currency,
        amount=amount,
        how=How(how),
        paid_on=paid_on,
        booked_on=booked_day(hold_months(commission.studio_id), paid_on),
        note=note,
        owed_after=now.owed - amount,
        by=by,
        reverses=reverses,
    )
    money_moved(commission, by, note=str(payment))
    return payment


def _lock(commission: Commission) -> Commission:
    Commission.objects.select_for_update().get(pk=commission.pk)
    return Commission.objects.select_related("studio").get(pk=commission.pk)


def _checked(now: CommissionAccount, amount: Decimal, paid_on: date | None) -> Decimal:
    amount = to_payable(amount, now.currency)
    if amount <= 0:
        raise PaymentRefused("Give an amount above zero.")
    if paid_on and paid_on > now.commission.studio.today():
        raise PaymentRefused("A payment is recorded once it is made. Choose a day that has come.")
    return amount


def _money(now: CommissionAccount, amount: Decimal) -> str:
    return format_money(amount, now.currency, now.locale)
