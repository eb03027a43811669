"""Pages of paired tests: drawn, poured, rated, revealed, and what all of them say."""

from typing import Any

from django import forms
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path, reverse
from django.views.decorators.http import require_POST, require_safe

from pricing.bench.forms.paired import DrawForm, PouredForm, RateForm
from pricing.bench.paired import (
    draw_test,
    pour_test,
    rate_test,
    remove_test,
    reveal_test,
    series_of,
)
from pricing.models import PairedTest
from studio.access import member_page
from studio.requests import StudioRequest
from studio.views.form_page import action, form_page

PAGE = 20
NAMES = ("technique", "palette", "surface", "first__pour", "second")


def _test(request: StudioRequest, number: int) -> PairedTest:
    return get_object_or_404(request.studio.paired_tests.select_related(*NAMES), number=number)


@require_safe
@member_page("viewer")
def pairs(request: StudioRequest) -> HttpResponse:
    """Show what the paired tests say, and each of them, the newest first."""
    rows = request.studio.paired_tests.select_related(*NAMES)
    context = {
        "series": series_of(request.studio),
        "page": Paginator(rows, PAGE).get_page(request.GET.get("page")),
    }
    return render(request, "pricing/bench/pairs.html", context)


@member_page("maker")
def pair_new(request: StudioRequest) -> HttpResponse:
    """Begin a pair: name the change, and the lot is drawn."""
    names = ("surface", "technique", "palette", "base", "change")
    initial = {name: text for name, text in request.GET.items() if name in names}
    form = DrawForm(request.POST or None, studio=request.studio, initial=initial)

    def act(data: dict[str, Any]) -> PairedTest:
        change = data.pop("change")
        return draw_test(studio=request.studio, by=request.user, changes=[change], **data)

    return form_page(
        request,
        form,
        title="Test one change",
        lead="Two tiles from the same cups, poured one after the other. One of them gets the "
        "change, and a lot decides which. Later you rate both without being told which is which.",
        act=act,
        done=lambda test: ("The lot is drawn.", reverse("pair", args=[test.number])),
        button="Draw the lot",
        back=reverse("pairs"),
        back_label="Paired tests",
    )


@require_safe
@member_page("viewer")
def pair(request: StudioRequest, number: int) -> HttpResponse:
    """Show one pair: what to do with it next, or what came out."""
    return render(request, "pricing/bench/pair.html", {"pair": _test(request, number)})


@member_page("maker")
def pair_poured(request: StudioRequest, number: int) -> HttpResponse:
    """Say which pieces of which pour the two tiles are."""
    test = _test(request, number)
    here = reverse("pair", args=[number])
    if request.method != "POST" and test.is_poured:
        return redirect(here)
    return form_page(
        request,
        PouredForm(request.POST or None, test=test),
        title=f"{test} is poured",
        lead="From now on nobody is told which tile had the change, until both are rated.",
        act=lambda data: pour_test(test=test, **data),
        done=lambda saved: (f"{saved} is poured. Rate both tiles once they are dry.", here),
        back=here,
        back_label=str(test),
    )


@member_page("maker")
def pair_rate(request: StudioRequest, number: int) -> HttpResponse:
    """Rate both tiles of a pair."""
    test = _test(request, number)
    here = reverse("pair", args=[number])
    if request.method != "POST" and (not test.is_poured or test.revealed_at):
        return redirect(here)
    initial = {
        "first": test.first_rating,
        "second": test.second_rating,
        "better": test.better,
    }
    return form_page(
        request,
        RateForm(request.POST or None, initial=initial),
        template="pricing/bench/pair_rate.html",
        title=f"Rate {test}",
        act=lambda data: rate_test(test=test, by=request.user, **data),
        done=lambda saved: (f"{saved} is rated. Now you may reveal it.", here),
        back=here,
        back_label=str(test),
    )


@require_POST
@member_page("maker")
def pair_reveal(request: StudioRequest, number: int) -> HttpResponse:
    """Reveal which tile had the change."""
    test = _test(request, number)
    here = reverse("pair", args=[number])
    return action(
        request,
        lambda: reveal_test(test=test),
        lambda saved: (f"{saved} is revealed.", here),
        back=here,
    )


@member_page("maker")
def pair_remove(request: StudioRequest, number: int) -> HttpResponse:
    """Remove a pair that was never poured."""
    test = _test(request, number)
    here = reverse("pair", args=[number])
    if request.method != "POST" and test.is_poured:
        return redirect(here)
    return form_page(
        request,
        forms.Form(request.POST if request.method == "POST" else None),
        title=f"Remove {test}",
        lead="It was drawn and not poured, so nothing is lost.",
        act=lambda data: remove_test(test=test),
        done=lambda _: ("The pair is removed.", reverse("pairs")),
        button="Remove it",
        is_danger=True,
        back=here,
        back_label=str(test),
    )


urlpatterns = [
    path("pairs/", pairs, name="pairs"),
    path("pairs/new/", pair_new, name="pair-new"),
    path("pairs/<int:number>/", pair, name="pair"),
    path("pairs/<int:number>/poured/", pair_poured, name="pair-poured"),
    path("pairs/<int:number>/rate/", pair_rate, name="pair-rate"),
    path("pairs/<int:number>/reveal/", pair_reveal, name="pair-reveal"),
    path("pairs/<int:number>/remove/", pair_remove, name="pair-remove"),
]
