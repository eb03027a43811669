"""Money for commissions: what is owed, payments with their receipts, invoices."""

from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_safe

from pricing import invoicing, money_papers, owing, payments
from pricing.forms.bench import WhyForm
from pricing.forms.payments import InvoiceForm, PaymentForm
from pricing.views.commissions import asked_row, page_of
from studio.access import member_page
from studio.money import format_money
from studio.pdf import pdf_response
from studio.views.form_page import form_page
from studio.views.lists import page_of as paged


@require_safe
@member_page("viewer")
def owed(request):
    """List what customers owe, the most on top, and what the studio owes them."""
    rows = [one for one in owing.accounts(request.studio) if one.owed]
    rows.sort(key=lambda one: (-one.owed, one.commission.number))
    context = {"rows": rows, "total": sum((one.owed for one in rows), owing.ZERO)}
    return render(request, "pricing/owed.html", context)


@require_safe
@member_page("viewer")
def payment_list(request):
    """List the payments, newest first."""
    rows = request.studio.payments.select_related("commission__customer", "reversed_by")
    return render(request, "pricing/payments.html", {"page": paged(request, rows)})


@require_safe
@member_page("viewer")
def invoice_list(request):
    """List the invoices and credit notes, newest first."""
    rows = request.studio.invoices.select_related("commission__customer", "credited_by", "credits")
    return render(request, "pricing/invoices.html", {"page": paged(request, rows.defer("frozen"))})


def _payment_page(request, number, service, title, done, button, label, amount_of, hint):
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
def payment_new(request, number):
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
def payment_back(request, number):
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


def _payment(request, number):
    rows = request.studio.payments.select_related("commission__customer", "studio", "reverses")
    return get_object_or_404(rows, number=number)


@member_page("owner")
def payment_strike(request, number):
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
def receipt_pdf(request, number):
    """The receipt of a payment, as a PDF."""
    found = _payment(request, number)
    return pdf_response(money_papers.receipt_pdf(found), f"{money_papers.file_name(found)}.pdf")


@member_page("owner")
def invoice_new(request, number):
    """Issue the invoice of a commission."""
    found = asked_row(request, number)
    return form_page(
        request,
        InvoiceForm(request.POST or None, studio=request.studio),
        title=f"Invoice {found.title}",
        lead="It takes the next number and what was agreed, and does not change any more.",
        act=lambda data: invoicing.issue_invoice(commission=found, by=request.user, **data),
        done=lambda made: (f"{made} is issued.", page_of(found)),
        button="Issue the invoice",
        back=page_of(found),
        back_label=found.title,
    )


def _invoice(request, number):
    return get_object_or_404(request.studio.invoices.select_related("commission"), number=number)


@member_page("owner")
def invoice_credit(request, number):
    """Take an invoice back by a credit note."""
    found = _invoice(request, number)
    return form_page(
        request,
        WhyForm(request.POST or None),
        title=f"Take {found} back",
        lead="A credit note with a number of its own takes back all of it; then a new invoice can "
        "be issued.",
        act=lambda data: invoicing.credit_invoice(invoice=found, by=request.user, **data),
        done=lambda note: (f"{note} takes {found} back.", page_of(found.commission)),
        button="Issue the credit note",
        back=reverse("invoices"),
        back_label="Invoices",
    )


@require_safe
@member_page("viewer")
def invoice_pdf(request, number):
    """An invoice or credit note as a PDF, the same bytes each time."""
    found = _invoice(request, number)
    return pdf_response(money_papers.invoice_pdf(found), f"{money_papers.file_name(found)}.pdf")
