"""Test tiles: shown to whoever holds the link, and answered there or at the studio."""

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from pricing.bench.views.pictures import SIZES, picture_answer
from pricing.errors import TileAnswerRefused
from pricing.models import QuoteLink, TileAnswer
from pricing.quoting import quote_links
from pricing.quoting.forms import CustomerTileForm, TileAnswerForm
from pricing.quoting.tiles import answer_tile, pictures_shown, tiles_shown
from pricing.quoting.views.quote_links import customer_page, link_of
from studio.access import link_act, link_page, member_page
from studio.errors import StudioError
from studio.requests import PageRequest, StudioRequest
from studio.views.form_page import form_page


@member_page("maker")
def tile_answer(request: StudioRequest, number: int) -> HttpResponse:
    """Write down what the customer said of a test tile."""
    rows = request.studio.pours.filter(line__is_test=True)
    pour = get_object_or_404(rows.select_related("line__commission__customer"), number=number)
    assert pour.line is not None  # found by it
    commission = pour.line.commission
    form = TileAnswerForm(request.POST or None, initial={"name": commission.customer.name})

    def done(answer: TileAnswer) -> tuple[str, str]:
        return f"“{answer.words}” is noted.", reverse("commission", args=[commission.number])

    return form_page(
        request,
        form,
        title=f"What {commission.customer} says of the test tile",
        lead=f"{pour}, for {commission.title}. One answer a pour; pour it again for another.",
        act=lambda _: answer_tile(pour=pour, by=request.user, **form.answer),
        done=done,
        back=reverse("pour", args=[number]),
        back_label=str(pour),
    )


@require_http_methods(["GET", "HEAD", "POST"])
@link_act
@link_of
def customer_tile(request: PageRequest, secret: str, link: QuoteLink, number: int) -> HttpResponse:
    """Answer about a test tile in the customer's own name."""
    shown = {tile.pour.number: tile for tile in tiles_shown(link.quote)}
    if number not in shown:
        raise Http404
    page = f"{reverse('customer-quote', args=[secret])}#tile-{number}"
    if request.method != "POST":  # the address of an answer, opened anew
        return redirect(page)
    form = CustomerTileForm(request.POST, number=number)
    if not form.is_valid():
        return customer_page(request, link, secret, tile_form=(number, form), status=422)
    try:
        pour = shown[number].pour
        quote_links.answer_tile_by_link(link=link, pour=pour, **form.answer)
    except StudioError as error:
        status = 409 if isinstance(error, TileAnswerRefused) else 422
        return customer_page(request, link, secret, refusal=str(error), status=status)
    return redirect(page)


@require_safe
@link_page
@link_of
def customer_picture(
    request: PageRequest, secret: str, link: QuoteLink, pk: int, size: str
) -> HttpResponse:
    """Send a picture of a test tile of this commission; of no other pour, and of nothing else."""
    if size not in SIZES or pk not in pictures_shown(link.quote):
        raise Http404
    return picture_answer(request, link.quote.studio, pk, size)
