"""The part of a pour's page that says how it was moved, and noting it."""

from dataclasses import replace
from datetime import timedelta
from typing import Any

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import path, reverse
from django.utils import timezone
from django.views.decorators.http import require_POST

from pricing.bench.forms.moving import MovesForm
from pricing.bench.moving import (
    LastTime,
    as_before,
    heat_hazards,
    last_time,
    mix_names,
    note_moves,
    noted_of,
)
from pricing.commissions.views.address import number_in
from pricing.models import Pour
from studio.access import member_page
from studio.requests import StudioRequest
from studio.views.form_page import action, form_page

# For so long after it was poured, the form stands open on a pour's page.
STILL_WET = timedelta(days=2)


def moves_of(pour: Pour) -> dict[str, object]:
    """Return what the part of a pour's page about its moves is drawn from."""
    like = None if pour.is_noted else last_time(pour)
    return {
        "last_time": like,
        "moves_form": None if pour.is_noted else _form(pour, like),
        "is_wet": timezone.now() - pour.poured_at < STILL_WET,
        "heat_hazards": heat_hazards(pour),
    }


def _form(pour: Pour, like: LastTime | None, sent: Any = None) -> MovesForm:
    noted = noted_of(pour)
    if like is not None:
        noted = replace(like.noted, traces={**noted.traces, **like.noted.traces})
    return MovesForm(sent, names=mix_names(pour), noted=noted)


def _pour(request: StudioRequest, number: int) -> Pour:
    rows = request.studio.pours.select_related("surface").prefetch_related("layers")
    return get_object_or_404(rows, number=number)


@member_page("maker")
def pour_moves(request: StudioRequest, number: int) -> HttpResponse:
    """Note how a pour was moved, or correct it."""
    pour = _pour(request, number)
    here = f"{reverse('pour', args=[number])}#moves"
    form = _form(pour, None, request.POST if request.method == "POST" else None)
    return form_page(
        request,
        form,
        template="pricing/bench/moves.html",
        title=f"How {pour} was moved",
        hazards=heat_hazards(pour) or ("flame",),
        act=lambda data: note_moves(pour=pour, noted=form.noted()),
        done=lambda noted: (f"It is noted how {noted} was moved.", here),
        button="Keep it",
        back=here,
        back_label=str(pour),
    )


@require_POST
@member_page("maker")
def pour_as_before(request: StudioRequest, number: int) -> HttpResponse:
    """Confirm that a pour was moved as the earlier one that its page shows."""
    pour = _pour(request, number)
    named = request.POST.get("like", "")
    like = _pour(request, number_in(named)) if named else None
    here = f"{reverse('pour', args=[number])}#moves"
    return action(
        request,
        lambda: as_before(pour=pour, like=like),
        lambda noted: (f"It is noted that {noted} was moved as {like}.", here),
        back=here,
    )


urlpatterns = [
    path("pours/<int:number>/moves/", pour_moves, name="pour-moves"),
    path("pours/<int:number>/as-before/", pour_as_before, name="pour-as-before"),
]
