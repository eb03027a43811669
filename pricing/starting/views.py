"""The first pages of a new studio: four questions, the starter shelf, five prices."""

from collections.abc import Sequence
from typing import Any
from urllib.parse import urlencode

from babel import Locale, UnknownLocaleError
from babel.numbers import get_currency_name
from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST

from pricing.starting.answering import answer_questions, leave_first_steps
from pricing.starting.filling import fill_shelf
from pricing.starting.forms import PricesForm, QuestionsForm, ShelfForm, SizesForm
from pricing.starting.pricing import give_prices, things_to_price
from pricing.starting.shelf import MAKES, MIXES, Piece, read_piece
from pricing.starting.steps import first_plan
from studio.access import member_page
from studio.models import Studio
from studio.preferences import countries
from studio.requests import StudioRequest
from studio.units import UnitsError, parse_size
from studio.views.form_page import action, form_page

METHODS = ["GET", "HEAD", "POST"]
STEPS = ("Where and what", "Sizes and pay", "Shelf", "Prices")
MOST_PIECES = 40


def _steps(now: int) -> list[tuple[str, str]]:
    """Return the words of each page with its state, for the bar of steps."""
    states = ["done"] * now + ["now"] + ["next"] * (len(STEPS) - now - 1)
    return list(zip(STEPS, states, strict=True))


@member_page("owner")
@require_http_methods(METHODS)
def questions(request: StudioRequest) -> HttpResponse:
    """Ask where a studio is, what it charges in tax, and what it makes."""
    form = QuestionsForm(request.POST or None, initial={"country": _country_of(request)})

    def act(data: dict[str, Any]) -> Studio:
        names = ("country", "tax_rate", "tax_inclusive")
        return answer_questions(studio=request.studio, **{name: data[name] for name in names})

    def done(studio: Studio) -> tuple[str, str]:
        made = urlencode({"make": form.cleaned_data["makes"]}, doseq=True)
        return _followed(studio), f"{reverse('starting-sizes')}?{made}"

    return form_page(
        request,
        form,
        title="Four questions",
        template="pricing/starting/questions.html",
        act=act,
        done=done,
        button="Go on",
        steps=_steps(0),
    )


@member_page("owner")
@require_http_methods(METHODS)
def sizes(request: StudioRequest) -> HttpResponse:
    """Ask which sizes of it, and what an hour is paid."""
    asked = request.GET.getlist("make")
    makes = [one for one in MAKES if one.key in asked]
    if not makes:
        return redirect("starting")
    form = SizesForm(request.POST or None, studio=request.studio, makes=makes)

    def done(studio: Studio) -> tuple[str, str]:
        pieces = [one.key for one in form.pieces(form.cleaned_data)]
        query = urlencode({"piece": pieces}, doseq=True)
        return "Your answers are kept.", f"{reverse('starting-shelf')}?{query}"

    return form_page(
        request,
        form,
        title="Sizes and pay",
        template="pricing/starting/sizes.html",
        act=lambda data: answer_questions(studio=request.studio, hour=data["hour"]),
        done=done,
        button="Go on",
        steps=_steps(1),
        back=reverse("starting"),
    )


@member_page("owner")
@require_http_methods(METHODS)
def shelf(request: StudioRequest) -> HttpResponse:
    """Ask what of a starter shelf is there, roughly, and put it in."""
    pieces = _pieces_in_address(request)
    if not pieces:
        return redirect("starting")
    form = ShelfForm(request.POST or None, studio=request.studio, pieces=pieces)

    def act(data: dict[str, Any]) -> int:
        have, label = form.have(data), form.label(data)
        by, studio = request.user, request.studio
        return len(fill_shelf(studio=studio, by=by, have=have, pieces=pieces, label=label))

    return form_page(
        request,
        form,
        title="What have you got, roughly?",
        template="pricing/starting/shelf.html",
        act=act,
        done=lambda count: (f"{count} things are on your list.", reverse("starting-prices")),
        button="Put it in",
        steps=_steps(2),
        back=reverse("starting"),
        mixes=MIXES,
    )


@member_page("owner")
@require_http_methods(METHODS)
def prices(request: StudioRequest) -> HttpResponse:
    """Ask what the few things cost that make most of a piece's cost, and go on to its price."""
    if not request.studio.materials.exists():
        return redirect("starting")
    first, others = things_to_price(request.studio)
    form = PricesForm(request.POST or None, studio=request.studio, first=first, others=others)

    def done(count: int) -> tuple[str, str]:
        url = first_plan(request.studio) or reverse("home")
        return _kept(count), url

    return form_page(
        request,
        form,
        title="What do things cost?",
        template="pricing/starting/prices.html",
        act=lambda data: give_prices(
            studio=request.studio, by=request.user, given=form.given(data)
        ),
        done=done,
        button="See the price",
        steps=_steps(3),
        known=[one.label for one in (*first, *others) if one.is_known],
    )


@require_POST
@member_page("owner")
def leave(request: StudioRequest) -> HttpResponse:
    """Send the list of first steps away."""
    return action(
        request,
        lambda: leave_first_steps(studio=request.studio),
        lambda _: ("The list of first steps is gone.", reverse("home")),
        back=reverse("home"),
    )


def _pieces_in_address(request: StudioRequest) -> Sequence[Piece]:
    """Return the sizes that an address names, without what is no size."""
    found: dict[str, Piece] = {}
    for text in request.GET.getlist("piece")[:MOST_PIECES]:
        piece = read_piece(text)
        if piece is None:
            continue
        try:
            parse_size(piece.size)
        except UnitsError:
            continue
        found[piece.key] = piece
    return list(found.values())


def _country_of(request: StudioRequest) -> str:
    """Return the country that a browser says it is set up for, where it says one."""
    known = dict(countries())
    for part in request.headers.get("Accept-Language", "").split(","):
        try:
            territory = Locale.parse(part.partition(";")[0].strip(), sep="-").territory
        except (ValueError, UnknownLocaleError):
            continue
        if territory and territory.lower() in known:
            return territory.lower()
    return ""


def _kept(count: int) -> str:
    """Say how many prices were written down."""
    if not count:
        return "No price was given yet."
    return f"{count} price{' is' if count == 1 else 's are'} kept. What to ask follows from them."


def _followed(studio: Studio) -> str:
    """Say what followed from where a studio is."""
    money = get_currency_name(studio.currency, locale="en", count=2)
    city = studio.time_zone.rpartition("/")[2].replace("_", " ")
    lengths = studio.get_lengths_display().lower()
    return f"Money in {money}, sizes in {lengths}, the clock of {city}. Settings can change it."
