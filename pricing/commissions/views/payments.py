"""Money for commissions: what is owed, payments with their receipts."""

from collections.abc import Callable
from decimal import Decimal

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from pricing.commissions import money_papers, owing, payments
from pricing.commissions.forms.payments import PaymentForm
from pricing.commissions.views.commissions import asked_row, page_of
from pricing.models import Payment
from studio.access import member_page
from studio.forms import WhyForm
from studio.money import format_money
from studio.pdf import pdf_response
from studio.requests import StudioRequest
from studio.views.form_page import form_page
from studio.views.lists import page_of as paged


@require_safe
@member_page("viewer")
def owed(request: StudioRequest) -> HttpResponse:
    """List what customers owe, the most on top, and what the studio owes them."""
    rows = [one for one in owing.accounts(request.studio) if one.owed]
    rows.sort(key=lambda one: (-one.owed, one.commission.number))
    context = {"rows": rows, "total": sum((one.owed for one in rows), owing.ZERO)}
    return render(request, "pricing/commissions/owed.html", context)


@require_safe
@member_page("viewer")
def payment_list(request: StudioRequest) -> HttpResponse:
    """List the payments, newest first."""
    rows = request.studio.payments.select_related("commission__customer", "reversed_by")
    return render(request, "pricing/commissions/payments.html", {"page": paged(request, rows)})


def _payment_page(
    request: StudioRequest,
    number: int,
    service: Callable[..., Payment],
    title: str,
    done: str,
    button: str,
    label: str,
    amount_of: Callable[[owing.Account], Decimal],
    hint: str,
) -> HttpResponse:
    found = asked_row(request, number)
    studio, now = request.studio, owing.account(found)
    money = format_money(amount_of(now), studio.currency, studio.locale)
    first = (now.deposit_owed or now.owed) if service is payments.take_payment else None
    form = PaymentForm(
        request.POST or None,
        studio=studio,
        amount=first if first and first > 0 else None,
        most=hint.format(money),
        label=label,
    )
    return form_page(
        request,
        form,
        title=f"{title} {found.customer}",
        lead=f"For {found.title}.",
        act=lambda data: service(commission=found, by=request.user, **data),
        done=lambda kept: (done.format(kept), page_of(found)),
        button=button,
        back=page_of(found),
        back_label=found.title,
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
    found = _payment(request, number)
    return form_page(
        request,
        WhyForm(request.POST or None),
        title=f"Strike {found}",
        lead="For a payment recorded by mistake. Both it and its opposite stay on record; to give "
        "real money back, record that instead.",
        act=lambda data: payments.strike_payment(payment=found, by=request.user, note=data["why"]),
        done=lambda kept: (f"{found} is struck by {kept}.", page_of(found.commission)),
        button="Strike it",
        back=page_of(found.commission),
    )


@require_safe
@member_page("viewer")
def receipt_pdf(request: StudioRequest, number: int) -> HttpResponse:
    """The receipt of a payment, as a PDF."""
    found = _payment(request, number)
    return pdf_response(money_papers.receipt_pdf(found), money_papers.file_name(found))
