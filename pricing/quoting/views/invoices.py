"""Invoices and the credit notes that take them back."""

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_safe

from pricing.commissions import money_papers
from pricing.commissions.forms.payments import InvoiceForm
from pricing.commissions.views.commissions import asked_row, page_of
from pricing.models import Invoice
from pricing.quoting import invoicing
from studio.access import member_page
from studio.forms import WhyForm
from studio.pdf import pdf_response
from studio.requests import StudioRequest
from studio.views.form_page import form_page
from studio.views.lists import page_of as paged


@require_safe
@member_page("viewer")
def invoice_list(request: StudioRequest) -> HttpResponse:
    """List the invoices and credit notes, newest first."""
    rows = request.studio.invoices.select_related("commission__customer", "credited_by", "credits")
    return render(
        request, "pricing/quoting/invoices.html", {"page": paged(request, rows.defer("frozen"))}
    )


@member_page("owner")
def invoice_new(request: StudioRequest, number: int) -> HttpResponse:
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


def _invoice(request: StudioRequest, number: int) -> Invoice:
    return get_object_or_404(request.studio.invoices.select_related("commission"), number=number)


@member_page("owner")
def invoice_credit(request: StudioRequest, number: int) -> HttpResponse:
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
def invoice_pdf(request: StudioRequest, number: int) -> HttpResponse:
    """An invoice or credit note as a PDF, the same bytes each time."""
    found = _invoice(request, number)
    return pdf_response(money_papers.invoice_pdf(found), money_papers.file_name(found))
