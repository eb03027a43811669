"""The customer's private link: made and stopped by the owner, used by whoever holds it."""

from collections.abc import Callable
from functools import wraps
from typing import Concatenate, ParamSpec

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from pricing.commissions.forms.commissions import CustomerAcceptForm, CustomerDeclineForm
from pricing.errors import LinkGone
from pricing.models import Quote, QuoteLink
from pricing.quoting import papers, quote_links
from pricing.quoting.forms import CustomerTileForm
from pricing.quoting.tiles import Tile, tiles_shown
from studio.access import link_act, link_page, member_page
from studio.errors import StudioError
from studio.pdf import pdf_response
from studio.requests import PageRequest, StudioRequest
from studio.site import address
from studio.views.form_page import action

Params = ParamSpec("Params")


def _own_quote(request: StudioRequest, pk: int) -> Quote:
    rows = request.studio.quotes.select_related("commission__customer", "studio")
    return get_object_or_404(rows, pk=pk)


@require_POST
@member_page("owner")
def link_new(request: StudioRequest, pk: int) -> HttpResponse:
    """Make the customer's link, in place of an earlier one, and show it this once."""
    quote = _own_quote(request, pk)
    try:
        link, secret = quote_links.make_link(quote=quote, by=request.user)
    except StudioError as error:
        messages.error(request, str(error))
        return redirect("quote", pk)
    context = {
        "quote": quote,
        "paper": papers.quote_context(quote),
        "sheet": papers.cost_sheet_context(quote),
        "link": link,
        "link_url": address(reverse("customer-quote", args=[secret])),
    }
    return render(request, "pricing/quoting/quote.html", context)


@require_POST
@member_page("owner")
def link_revoke(request: StudioRequest, pk: int) -> HttpResponse:
    """Make the customer's link stop working."""
    quote = _own_quote(request, pk)
    page = reverse("quote", args=[pk])
    return action(
        request,
        lambda: quote_links.revoke_link(quote=quote),
        lambda _: ("The link no longer works.", page),
        back=page,
    )


def link_of(
    view: Callable[Concatenate[PageRequest, str, QuoteLink, Params], HttpResponse],
) -> Callable[Concatenate[PageRequest, str, Params], HttpResponse]:
    """Pass a view the link that its address opens, or answer with 404 and the reason."""

    @wraps(view)
    def with_link(
        request: PageRequest, secret: str, *args: Params.args, **kwargs: Params.kwargs
    ) -> HttpResponse:
        try:
            link = quote_links.link_of(secret)
        except LinkGone as gone:
            context = {"sentence": str(gone)}
            return _private(
                render(request, "pricing/quoting/customer_gone.html", context, status=404)
            )
        return _private(view(request, secret, link, *args, **kwargs))

    return with_link


def _private(response: HttpResponse) -> HttpResponse:
    """Keep the address secret: no search engine lists it, no other site is sent it."""
    response["X-Robots-Tag"] = "noindex"
    # Not "no-referrer": with it a browser hides, too, where the forms of the page come from.
    response["Referrer-Policy"] = "same-origin"
    return response


def _is_the_customer(request: PageRequest, quote: Quote) -> bool:
    """Return whether a customer opened the page: no member, and no browser fetching ahead."""
    ahead = "prefetch" in request.headers.get("Sec-Purpose", request.headers.get("Purpose", ""))
    return not ahead and not (request.membership and request.studio == quote.studio)


def customer_page(
    request: PageRequest,
    link: QuoteLink,
    secret: str,
    accept: CustomerAcceptForm | None = None,
    decline: CustomerDeclineForm | None = None,
    refusal: str = "",
    status: int = 200,
    tile_form: tuple[int, CustomerTileForm] | None = None,
) -> HttpResponse:
    """Show the customer their quote and their test tiles, with what they typed where it is wrong.

    ``tile_form`` is the number of a pour and what was typed of it.
    """
    quote, until = link.quote, link.quote.valid_until
    figures = papers.quote_context(quote)
    context = {
        **figures,
        "figures": figures,
        "quote": quote,
        "secret": secret,
        "refusal": refusal,
        "is_over": quote.is_open and until is not None and until < quote.studio.today(),
        "is_new": link.opened_at is None and _is_the_customer(request, quote),
        "accept": accept or CustomerAcceptForm(initial={"name": quote.commission.customer.name}),
        "decline": decline or CustomerDeclineForm(prefix="no"),
        "declining": decline is not None,
        "tiles": _tiles(quote, tile_form),
    }
    return render(request, "pricing/quoting/customer_quote.html", context, status=status)


def _tiles(
    quote: Quote, typed: tuple[int, CustomerTileForm] | None
) -> list[tuple[Tile, CustomerTileForm]]:
    """Return each test tile that is shown, with the form to answer about it."""
    forms, initial = dict([typed] if typed else []), {"name": quote.commission.customer.name}
    return [
        (tile, forms.get(number) or CustomerTileForm(initial=initial, number=number))
        for tile in tiles_shown(quote)
        for number in [tile.pour.number]
    ]


@require_safe
@link_page
@link_of
def customer_quote(request: PageRequest, secret: str, link: QuoteLink) -> HttpResponse:
    """Show the customer their quote; the page itself then says that it was seen."""
    return customer_page(request, link, secret)


@require_POST
@link_act
@link_of
def customer_seen(request: PageRequest, secret: str, link: QuoteLink) -> HttpResponse:
    """Note that the customer saw the quote: a messenger that draws a preview runs no page."""
    if _is_the_customer(request, link.quote):
        quote_links.open_link(link=link)
    return HttpResponse(status=204)


def _answer(
    request: PageRequest,
    secret: str,
    link: QuoteLink,
    form: CustomerAcceptForm,
    act: Callable[..., Quote],
) -> HttpResponse:
    if request.method != "POST":  # the address of an answer, opened anew
        return redirect("customer-quote", secret)
    if not form.is_valid():
        if isinstance(form, CustomerDeclineForm):
            return customer_page(request, link, secret, decline=form, status=422)
        return customer_page(request, link, secret, accept=form, status=422)
    try:
        act(link=link, **form.cleaned_data)
    except StudioError as error:
        link = quote_links.link_of(secret)
        return customer_page(request, link, secret, refusal=str(error), status=409)
    return redirect("customer-quote", secret)


@require_http_methods(["GET", "HEAD", "POST"])
@link_act
@link_of
def customer_accept(request: PageRequest, secret: str, link: QuoteLink) -> HttpResponse:
    """Accept the quote in the customer's own name."""
    form = CustomerAcceptForm(request.POST)
    return _answer(request, secret, link, form, quote_links.accept_by_link)


@require_http_methods(["GET", "HEAD", "POST"])
@link_act
@link_of
def customer_decline(request: PageRequest, secret: str, link: QuoteLink) -> HttpResponse:
    """Decline the quote with the customer's own reason."""
    form = CustomerDeclineForm(request.POST, prefix="no")
    return _answer(request, secret, link, form, quote_links.decline_by_link)


@require_safe
@link_page
@link_of
def customer_pdf(request: PageRequest, secret: str, link: QuoteLink) -> HttpResponse:
    """The quote as a PDF, the same bytes each time."""
    return pdf_response(papers.quote_pdf(link.quote), papers.file_name(link.quote))
