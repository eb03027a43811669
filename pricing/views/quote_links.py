"""The customer's private link: made and stopped by the owner, used by whoever holds it."""

from django.contrib import messages
from django.http import Http404
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from pricing import papers, quote_links
from pricing.errors import LinkGone
from pricing.forms.commissions import CustomerAcceptForm, CustomerDeclineForm
from studio.access import link_page, member_page
from studio.errors import StudioError
from studio.pdf import pdf_response
from studio.views.form_page import action


def _own_quote(request, pk):
    rows = request.studio.quotes.select_related("commission__customer", "studio")
    return get_object_or_404(rows, pk=pk)


@require_POST
@member_page("owner")
def link_new(request, pk):
    """Make the customer's link, in place of an earlier one, and show it this once."""
    found = _own_quote(request, pk)
    try:
        link, secret = quote_links.make_link(quote=found, by=request.user)
    except StudioError as error:
        messages.error(request, str(error))
        return redirect("quote", pk)
    context = {
        "quote": found,
        "paper": papers.quote_context(found),
        "sheet": papers.cost_sheet_context(found),
        "link": link,
        "link_url": request.build_absolute_uri(reverse("customer-quote", args=[secret])),
    }
    return render(request, "pricing/quote.html", context)


@require_POST
@member_page("owner")
def link_revoke(request, pk):
    """Make the customer's link stop working."""
    found = _own_quote(request, pk)
    page = reverse("quote", args=[pk])
    return action(
        request,
        lambda: quote_links.revoke_link(quote=found),
        lambda _: ("The link no longer works.", page),
        back=page,
    )


def _link(secret):
    try:
        return quote_links.link_of(secret)
    except LinkGone as gone:
        raise Http404(str(gone)) from gone


def _is_the_customer(request, quote):
    """Tell a customer's look from a member's, and from a browser that only looks ahead."""
    ahead = "prefetch" in request.headers.get("Sec-Purpose", request.headers.get("Purpose", ""))
    return not ahead and not (request.membership and request.studio == quote.studio)


def _shown(request, link, secret, accept=None, decline=None, status=200):
    quote = link.quote
    figures = papers.quote_context(quote)
    context = {
        **figures,
        "figures": figures,
        "quote": quote,
        "secret": secret,
        "is_over": quote.is_open and quote.valid_until < quote.studio.today(),
        "accept": accept or CustomerAcceptForm(initial={"name": quote.commission.customer.name}),
        "decline": decline or CustomerDeclineForm(prefix="no"),
        "declining": decline is not None,
    }
    response = render(request, "pricing/customer_quote.html", context, status=status)
    response["X-Robots-Tag"] = "noindex"
    response["Referrer-Policy"] = "no-referrer"  # the address is the key
    return response


@require_GET
@link_page
def customer_quote(request, secret):
    """Show the customer their quote, and note that they saw it."""
    link = _link(secret)
    if _is_the_customer(request, link.quote):
        quote_links.open_link(link=link)
        link = _link(secret)
    return _shown(request, link, secret)


def _answered(request, secret, form, act, name):
    link = _link(secret)
    if not form.is_valid():
        return _shown(request, link, secret, status=422, **{name: form})
    try:
        act(link=link, **form.cleaned_data)
    except StudioError as error:
        messages.error(request, str(error))
    return redirect("customer-quote", secret)


@require_http_methods(["POST"])
@link_page
def customer_accept(request, secret):
    """Accept the quote in the customer's own name."""
    form = CustomerAcceptForm(request.POST)
    return _answered(request, secret, form, quote_links.accept_by_link, "accept")


@require_http_methods(["POST"])
@link_page
def customer_decline(request, secret):
    """Decline the quote with the customer's own reason."""
    form = CustomerDeclineForm(request.POST, prefix="no")
    return _answered(request, secret, form, quote_links.decline_by_link, "decline")


@require_GET
@link_page
def customer_pdf(request, secret):
    """The quote as a PDF, the same bytes each time."""
    quote = _link(secret).quote
    return pdf_response(papers.quote_pdf(quote), f"{papers.file_name(quote)}.pdf")
