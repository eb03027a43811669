"""Money for commissions: what is owed, payments with their receipts."""

from collections.abc import Callable
from decimal import Decimal

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from pricing.commissions import money_papers, owing, payments
from pricing.commissions.forms.payments import PaymentForm
from pricing.commissions.owed_files import owed_file
from pricing.commissions.views.commissions import commission_or_404, page_of
from pricing.models import Payment
from studio.access import member_page
from studio.forms import WhyForm
from studio.money import by_currency, format_money
from studio.pdf import pdf_response
from studio.period_rows import past_day_of
from studio.requests import StudioRequest
from studio.sight import ADDRESSES, PRICES
from studio.tables import FORMATS
from studio.views.form_page import form_page
from studio.views.lists import period_page


@require_safe
@member_page("viewer", PRICES)
def owed(request: StudioRequest) -> HttpResponse:
    """List what customers owe, the most on top, and what the studio owes them; or owed then."""
    day = past_day_of(request)
    rows = owing.owed(request.studio, day)
    sums = by_currency(((one.currency, one.owed) for one in rows), request.studio.locale)
    context = {"rows": rows, "totals": sums, "day": day}
    return render(request, "pricing/commissions/owed.html", context)


@require_safe
@member_page("viewer", PRICES)
def owed_table(request: StudioRequest, extension: str) -> HttpResponse:
    """The same rows as a file for a spreadsheet."""
    if extension not in FORMATS:
        raise Http404
    return owed_file(request.studio, extension, past_day_of(request))


@require_safe
@member_page("viewer", PRICES)
def payment_list(request: StudioRequest) -> HttpResponse:
    """List the payments, newest first."""
    rows = request.studio.payments.select_related("commission__customer", "reversed_by")
    context = period_page(request, rows, "booked_on")
    return render(request, "pricing/commissions/payments.html", context)


def _payment_page(
    request: StudioRequest,
    number: int,
    service: Callable[..., Payment],
    title: str,
    message: str,
    button: str,
    label: str,
    amount_of: Callable[[owing.CommissionAccount], Decimal],
    hint: str,
) -> HttpResponse:
    commission = commission_or_404(request, number)
    studio, now = request.studio, owing.account(commission)
    money = format_money(amount_of(now), now.currency, now.locale)
    first = (now.deposit_owed or now.owed) if service is payments.take_payment else None
    form = PaymentForm(
        request.POST or None,
        studio=studio,
        currency=now.currency,
        amount=first if first and first > 0 else None,
        most=hint.format(money),
        label=label,
    )
    return form_page(
        request,
        form,
        title=f"{title} {commission.customer}",
        lead=f"For {commission.title}.",
        act=lambda data: service(commission=commission, by=request.user, **data),
        done=lambda payment: (message.format(payment), page_of(commission)),
        button=button,
        back=page_of(commission),
        back_label=commission.title,
    )


@member_page("maker")
def payment_new(request: StudioRequest, number: int) -> HttpResponse:
    """Record what a customer paid: a deposit, the balance, or a part."""
    return _payment_page(
        request,
        number,
        payments.take_payment,
        "Payment from",
        "{} is recorded.",
        "Record the payment",
        "Amount paid",
        lambda now: max(now.owed, owing.ZERO),
        "{} is owed in all.",
    )


@member_page("maker")
def payment_back(request: StudioRequest, number: int) -> HttpResponse:
    """Record money given back to a customer."""
    return _payment_page(
        request,
        number,
        payments.give_back,
        "Give money back to",
        "{} is recorded.",
        "Record it",
        "Amount given back",
        lambda now: now.paid,
        "{} was paid.",
    )


def _payment(request: StudioRequest, number: int) -> Payment:
    rows = request.studio.payments.select_related("commission__customer", "studio", "reverses")
    return get_object_or_404(rows, number=number)


@member_page("owner")
def payment_strike(request: StudioRequest, number: int) -> HttpResponse:
    """Take a payment off the record that was recorded by mistake."""
    payment = _payment(request, number)
    return form_page(
        request,
        WhyForm(request.POST or None),
        title=f"Cancel {payment}",
        lead="For a payment recorded by mistake. Both it and its opposite stay on record; to give "
        "real money back, record that instead.",
        act=lambda data: payments.strike_payment(
            payment=payment, by=request.user, note=data["why"]
        ),
        done=lambda opposite: (
            f"{payment} is cancelled by {opposite}.",
            page_of(payment.commission),
        ),
        button="Cancel it",
        back=page_of(payment.commission),
    )


@require_safe
@member_page("viewer", PRICES, ADDRESSES)
def receipt_pdf(request: StudioRequest, number: int) -> HttpResponse:
    """The receipt of a payment, as a PDF."""
    payment = _payment(request, number)
    return pdf_response(money_papers.receipt_pdf(payment), money_papers.file_name(payment))
