"""The price list by size: a page, a paper for customers, and a file with every number."""

from collections.abc import Callable

from django import forms
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_safe

from pricing.earnings.forms.price_list import PriceListForm
from pricing.earnings.price_list import COLUMNS, PriceList, price_list, price_list_pdf, table_of
from studio.access import member_page
from studio.errors import StudioError
from studio.formfields import field_of
from studio.pdf import pdf_response
from studio.requests import StudioRequest
from studio.sight import COSTS, PRICES, PROFIT
from studio.tables import csv_bytes


def _form_from_address(request: StudioRequest) -> PriceListForm:
    """Return the form filled in from the address, with the first choice where nothing is said."""
    query = request.GET.copy()
    form = PriceListForm(studio=request.studio)
    for name in ("technique", "palette"):
        rows = field_of(form, name, forms.ModelChoiceField).queryset
        first = rows.first() if rows is not None else None
        if first is not None:
            query.setdefault(name, first.slug if name == "technique" else first.pk)
    query.setdefault("together", "4")
    return PriceListForm(query, studio=request.studio)


def _price_list(request: StudioRequest, form: PriceListForm) -> PriceList:
    return price_list(request.studio, **form.cleaned_data)


@require_safe
@member_page("maker", PRICES)
def prices_by_size(request: StudioRequest) -> HttpResponse:
    """Show a price for each size from its cost, beside the rules makers use."""
    form = _form_from_address(request)
    context = {"form": form, "query": request.GET.urlencode()}
    if form.is_valid():
        try:
            context["found"] = _price_list(request, form)
        except StudioError as error:
            context["problem"] = str(error)
    return render(request, "pricing/earnings/price_list.html", context)


def _or_back(request: StudioRequest, answer: Callable[[PriceList], HttpResponse]) -> HttpResponse:
    """Answer with a file of the list, or send back to the page that says what is missing."""
    form = _form_from_address(request)
    if form.is_valid():
        try:
            listed = _price_list(request, form)
        except StudioError:
            pass  # the page says it in words
        else:
            return answer(listed)
    return redirect(f"{reverse('price-list')}?{request.GET.urlencode()}")


@require_safe
@member_page("maker", PRICES)
def price_list_paper(request: StudioRequest) -> HttpResponse:
    """The list for customers as a PDF: sizes and prices, no cost."""
    return _or_back(
        request,
        lambda listed: pdf_response(price_list_pdf(request.studio, listed), "price-list.pdf"),
    )


@require_safe
@member_page("maker", PRICES, COSTS, PROFIT)
def price_list_csv(request: StudioRequest) -> HttpResponse:
    """Every number of the list as a file for a spreadsheet."""
    return _or_back(
        request,
        lambda listed: HttpResponse(
            csv_bytes(COLUMNS, table_of(listed)),
            content_type="text/csv; charset=utf-8",
            headers={"Content-Disposition": 'attachment; filename="price-list.csv"'},
        ),
    )
