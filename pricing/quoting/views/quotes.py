"""Quotes: drafted from the cost, sent as a frozen paper, answered."""

from collections.abc import Callable

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from pricing.calendar.late import LateWork, late_of
from pricing.calendar.what_if import earliest_promise
from pricing.commissions.forms.commissions import AnswerForm, QuoteForm
from pricing.models import Commission, Quote
from pricing.quoting import papers
from pricing.quoting import quotes as quoting
from pricing.quoting.quote_links import working_link
from pricing.readiness.concerns import before_quoting
from pricing.readiness.forms import ReasonForm
from studio.access import member_page
from studio.errors import StudioError
from studio.pdf import pdf_response
from studio.requests import StudioRequest
from studio.sight import ADDRESSES, COSTS, PRICES, PROFIT
from studio.views.form_page import form_page

SEND = "Number it and mark as sent"


def _quote(request: StudioRequest, pk: int) -> Quote:
    rows = request.studio.quotes.select_related("commission__customer", "studio")
    return get_object_or_404(rows, pk=pk)


def _page(quote: Quote) -> str:
    return reverse("quote", args=[quote.pk])


def _late(commission: Commission) -> LateWork | None:
    """Return that a commission cannot be ready by the day wanted, or None."""
    try:
        return late_of(commission, earliest_promise(commission))
    except StudioError:  # what cannot be planned is told on its own page
        return None


@member_page("owner")
def quote_new(request: StudioRequest, number: int) -> HttpResponse:
    """Work out a price for a commission."""
    commission = get_object_or_404(request.studio.commissions, number=number)
    form = QuoteForm(request.POST or None, studio=request.studio)
    return form_page(
        request,
        form,
        title=f"Price {commission.title}",
        lead="Leave these as they are for the studio's own terms.",
        act=lambda _: quoting.draft_quote(commission=commission, by=request.user, **form.terms()),
        done=lambda quote: ("The price is worked out. Look it over, then send it.", _page(quote)),
        button="Work out the price",
        back=reverse("commission", args=[number]),
        back_label=commission,
        warning="pricing/quoting/_late.html",
        late=_late(commission),
    )


@require_safe
@member_page("viewer", PRICES)
def quote(request: StudioRequest, pk: int) -> HttpResponse:
    """Show a quote as the customer reads it and, where costs are seen, what it was made from."""
    row = _quote(request, pk)
    context = {"quote": row, "paper": papers.quote_context(row)}
    if request.membership.may("maker") and (row.status == "draft" or row.is_open):
        context["late"] = _late(row.commission)
    if request.membership.sees(COSTS) and request.membership.sees(PROFIT):
        context["sheet"] = papers.cost_sheet_context(row)
    if request.membership.may("owner"):
        context["link"] = working_link(row)
        if row.status == "draft":
            context |= _sending(row) | {"button": SEND}
    return render(request, "pricing/quoting/quote.html", context)


def _sending(quote: Quote) -> dict[str, object]:
    """Return what speaks against sending a draft, and the field for a reason to send it."""
    against, form = before_quoting(quote.commission), ReasonForm()
    form.ask_for(against, [quote.commission])
    return {"against": against, "form": form}


@require_POST
@member_page("owner")
def quote_send(request: StudioRequest, pk: int) -> HttpResponse:
    """Number a draft and freeze it; what is not fit for what it is for needs a reason."""
    quote = _quote(request, pk)
    return form_page(
        request,
        ReasonForm(request.POST),
        title=f"Send the price for {quote.commission.title}",
        lead="It gets its number, and nothing in it changes any more.",
        act=lambda data: quoting.send_quote(quote=quote, by=request.user, **data),
        done=lambda sent: (
            f"{sent} is numbered and frozen. Send the PDF to the customer.",
            _page(sent),
        ),
        button=SEND,
        back=_page(quote),
        back_label=quote,
    )


def _answer(
    request: StudioRequest,
    pk: int,
    service: Callable[..., Quote],
    title: str,
    past: str,
    button: str,
) -> HttpResponse:
    quote = _quote(request, pk)
    customer = quote.commission.customer
    return form_page(
        request,
        AnswerForm(request.POST or None, initial={"name": customer.name}),
        title=f"{title} {quote}",
        act=lambda data: service(quote=quote, by=request.user, **data),
        done=lambda answered_quote: (
            f"{answered_quote} is {past}.",
            reverse("commission", args=[answered_quote.commission.number]),
        ),
        button=button,
        back=_page(quote),
    )


@member_page("maker")
def quote_accept(request: StudioRequest, pk: int) -> HttpResponse:
    """Take down that the customer accepted; stock is held from then on."""
    return _answer(
        request, pk, quoting.accept_quote, "Accept", "accepted, and stock is held", "Accepted"
    )


@member_page("maker")
def quote_decline(request: StudioRequest, pk: int) -> HttpResponse:
    """Take down that the customer declined."""
    return _answer(request, pk, quoting.decline_quote, "Decline", "declined", "Declined")


@require_safe
@member_page("viewer", PRICES, ADDRESSES)
def quote_pdf(request: StudioRequest, pk: int) -> HttpResponse:
    """The quote as a PDF, the same bytes each time."""
    quote = _quote(request, pk)
    return pdf_response(papers.quote_pdf(quote), papers.file_name(quote))


@require_safe
@member_page("maker", COSTS, PROFIT)
def cost_sheet_pdf(request: StudioRequest, pk: int) -> HttpResponse:
    """The internal cost sheet of a quote: no paper for the customer."""
    quote = _quote(request, pk)
    return pdf_response(papers.cost_sheet_pdf(quote), f"cost-sheet-{quote.pk}.pdf")
