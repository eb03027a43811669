"""Invoices and the credit notes that take them back."""

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_safe

from pricing.commissions import money_papers
from pricing.commissions.forms.payments import InvoiceForm
from pricing.commissions.views.commissions import commission_or_404, page_of
from pricing.models import Invoice
from pricing.quoting import invoicing
from studio.access import member_page
from studio.forms import WhyForm
from studio.pdf import pdf_response
from studio.requests import StudioRequest
from studio.sight import ADDRESSES, PRICES
from studio.views.form_page import form_page
from studio.views.lists import period_page


@require_safe
@member_page("viewer", PRICES)
def invoice_list(request: StudioRequest) -> HttpResponse:
    """List the invoices and credit notes, newest first."""
    rows = request.studio.invoices.select_related("commission__customer", "credited_by", "credits")
    context = period_page(request, rows.defer("frozen"), "issued_on")
    return render(request, "pricing/quoting/invoices.html", context)


@member_page("owner")
def invoice_new(request: StudioRequest, number: int) -> HttpResponse:
    """Issue the invoice of a commission."""
    commission = commission_or_404(request, number)
    return form_page(
        request,
        InvoiceForm(request.POST or None, studio=request.studio),
        title=f"Invoice {commission.title}",
        lead="It takes the next number and what was agreed, and does not change any more.",
        act=lambda data: invoicing.issue_invoice(commission=commission, by=request.user, **data),
        done=lambda invoice: (f"{invoice} is issued.", page_of(commission)),
        button="Issue the invoice",
        back=page_of(commission),
        back_label=commission.title,
    )


def _invoice(request: StudioRequest, number: int) -> Invoice:
    return get_object_or_404(request.studio.invoices.select_related("commission"), number=number)


@member_page("owner")
def invoice_credit(request: StudioRequest, number: int) -> HttpResponse:
    """Take an invoice back by a credit note."""
    invoice = _invoice(request, number)
    return form_page(
        request,
        WhyForm(request.POST or None),
        title=f"Take {invoice} back",
        lead="A credit note with a number of its own takes back all of it; then a new invoice can "
        "be issued.",
        act=lambda data: invoicing.credit_invoice(invoice=invoice, by=request.user, **data),
        done=lambda note: (f"{note} takes {invoice} back.", page_of(invoice.commission)),
        button="Issue the credit note",
        back=reverse("invoices"),
        back_label="Invoices",
    )


@require_safe
@member_page("viewer", PRICES, ADDRESSES)
def invoice_pdf(request: StudioRequest, number: int) -> HttpResponse:
    """An invoice or credit note as a PDF, the same bytes each time."""
    invoice = _invoice(request, number)
    return pdf_response(money_papers.invoice_pdf(invoice), money_papers.file_name(invoice))
