"""The bench: pours logged with what they really took, topcoats, and their undoing."""

from typing import Any

from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from pricing.bench.forms.bench import PourForm, SetAsideForm, TopcoatForm
from pricing.bench.mixing_sheets import left_to_do
from pricing.bench.pictures import add_pictures
from pricing.bench.pours import log_pour, set_pour_aside, undo_pour
from pricing.bench.topcoats import log_topcoat, undo_topcoat
from pricing.bench.views.pictures import pictures_of
from pricing.bench.work import pour_of_line, pour_of_plan
from pricing.commissions.views.asked import asked_line, number_in
from pricing.costing.habits import habits_of
from pricing.costing.piece_costs import cost_of_pour
from pricing.estimating.advice import warnings
from pricing.estimating.estimates import estimate
from pricing.estimating.judgement import judge_base, judge_topcoat
from pricing.estimating.learning import hand_of
from pricing.estimating.views.planner import asked_form
from pricing.models import CommissionLine, Pour, PourLayer, ResinKit, Technique
from studio.access import member_page
from studio.forms import WhyForm
from studio.models import Studio
from studio.requests import StudioRequest
from studio.units import format_volume
from studio.views.form_page import form_page

NAMES = ("surface", "technique", "palette")
# What an address may fill in, beside the bottles of mix: the work list and a batch do.
PLANNED = ("count", *(f"{layer}_mixed" for layer in PourLayer.Layer.values))
MOST = 200


def _pour(request: StudioRequest, number: int) -> Pour:
    rows = request.studio.pours.select_related(*NAMES, "entry__reversed_by", "line__commission")
    return get_object_or_404(rows, number=number)


@require_safe
@member_page("viewer")
def pours(request: StudioRequest) -> HttpResponse:
    """List the pours, newest first."""
    rows = request.studio.pours.select_related(*NAMES, "entry__reversed_by", "line__commission")
    rows = rows.prefetch_related("layers")
    page = Paginator(rows, 50).get_page(request.GET.get("page"))
    return render(request, "pricing/bench/pours.html", {"page": page})


@require_safe
@member_page("viewer")
def pour(request: StudioRequest, number: int) -> HttpResponse:
    """Show one pour: forecast beside what it took, its pieces, its topcoats, its cost."""
    found = _pour(request, number)
    context = {
        "pour": found,
        "layers": found.layers.all(),
        "pieces": found.pieces.select_related("piece_set"),
        "topcoatings": found.topcoatings.select_related("kit", "entry__reversed_by"),
        "movements": found.entry.movements.select_related("material", "bottle", "entry"),
        "spent": cost_of_pour(found),
        "base_warned": warnings(judge_base(found)),
        **pictures_of(found),
    }
    return render(request, "pricing/bench/pour.html", context)


def _planned(request: StudioRequest, line: CommissionLine | None) -> dict[str, object]:
    """Return what a pour's form starts from: a line's pieces or a plan's, mixed as planned.

    What is mixed already is what is poured from. What the address says, by the name of a field,
    stands in place of it.
    """
    said: dict[str, Any] = {name: text for name, text in request.GET.items() if name in PLANNED}
    said |= {name: text for name, text in request.GET.items() if "_from_" in name}
    if line is None:
        return said | _planned_for_stock(request)
    (left,), _ = (one.values() for one in left_to_do(line.commission.lines.filter(pk=line.pk)))
    asked = number_in(said.get("count", ""))
    count = asked if 1 <= asked <= MOST else min(left or 1, MOST)
    how_many = _how_many(request.studio, line.technique, count)
    planned = {} if said.keys() - {"count"} else pour_of_line(line, count)
    return {**planned, **said, **how_many}


def _planned_for_stock(request: StudioRequest) -> dict[str, object]:
    """Return what a pour of a plan starts from, by the planner's address; nothing without one."""
    form = asked_form(request)
    if not form.is_valid():
        return {}
    asked = form.cleaned_data
    count, palette = min(asked["count"], MOST), asked["palette"]
    kept = {one.name.casefold(): one for one in form.surfaces}
    piece = estimate(request.studio, asked["size"], asked["technique"].slug, count, palette=palette)
    return {
        **(pour_of_plan(request.studio, piece, palette) if palette else {}),
        **_how_many(request.studio, asked["technique"], count),
        "surface": kept.get(request.GET["size"].strip().casefold()),
        "technique": asked["technique"],
        "palette": palette,
    }


def _how_many(studio: Studio, technique: Technique, count: int) -> dict[str, object]:
    minutes = habits_of(studio)[technique.pk].minutes("pour", count)
    return {"count": count, "good_count": count, "minutes": minutes}


@member_page("maker")
def pour_new(request: StudioRequest) -> HttpResponse:
    """Log a pour, for a commission's line or for stock."""
    line = asked_line(request)
    wanted = {} if request.method == "POST" else _planned(request, line)
    sent = (request.POST, request.FILES) if request.method == "POST" else ()
    form = PourForm(*sent, studio=request.studio, line=line, initial=wanted)
    back = reverse("commission", args=[line.commission.number]) if line else reverse("pours")

    def act(data: dict[str, Any]) -> Pour:
        chosen = {name: data[name] for name in NAMES if name in data}
        made = log_pour(
            studio=request.studio,
            by=request.user,
            line=line,
            layers=form.layers(),
            faults=form.faults(),
            **{name: data[name] for name in ("count", "good_count", "minutes", "notes")},
            **chosen,
        )
        add_pictures(thing=made, by=request.user, pictures=data["pictures"])
        return made

    return form_page(
        request,
        form,
        template="pricing/bench/pour_form.html",
        title="Log a pour",
        act=act,
        done=lambda made: (
            f"{made} is logged. The next estimate knows it.",
            reverse("pour", args=[made.number]),
        ),
        button="Log the pour",
        back=back,
        line=line,
    )


@member_page("maker")
def pour_set_aside(request: StudioRequest, number: int) -> HttpResponse:
    """Keep a pour out of what the estimates learn from, or take it back in."""
    found = _pour(request, number)
    here = reverse("pour", args=[number])
    return form_page(
        request,
        SetAsideForm(request.POST or None, initial={"why": found.set_aside}),
        title=f"Set {found} aside",
        lead="What it took stays on record; only the estimates stop learning from it.",
        act=lambda data: set_pour_aside(pour=found, why=data["why"]),
        done=lambda kept: (
            f"{kept} is set aside." if kept.set_aside else f"{kept} counts again.",
            here,
        ),
        back=here,
    )


@member_page("maker")
def pour_undo(request: StudioRequest, number: int) -> HttpResponse:
    """Undo a pour logged by mistake: everything it took is back on the shelf."""
    found = _pour(request, number)
    here = reverse("pour", args=[number])
    return form_page(
        request,
        WhyForm(request.POST or None),
        title=f"Undo {found}",
        lead="For a pour logged by mistake. What it took goes back on the shelf.",
        act=lambda data: undo_pour(pour=found, by=request.user, why=data["why"]),
        done=lambda kept: (f"{kept} is undone.", here),
        button="Undo the pour",
        back=here,
    )


def _planned_topcoat(studio: Studio, pour: Pour, kit: ResinKit) -> dict[str, object]:
    """Return what a topcoat starts from: resin for the loose good pieces, and the usual minutes."""
    count = pour.pieces.filter(state="good", piece_set=None).count()
    if not count:
        return {}
    slug = pour.technique.slug
    layer = estimate(studio, pour.surface, slug, count, topcoat=kit).layer("topcoat")
    assert layer is not None  # there is a kit
    minutes = habits_of(studio)[pour.technique_id].minutes("topcoat", count)
    return {"mixed_ml": format_volume(layer.to_mix_ml), "minutes": minutes}


@member_page("maker")
def topcoat_new(request: StudioRequest, number: int) -> HttpResponse:
    """Log the resin poured over a pour's good pieces."""
    found = _pour(request, number)
    kit = found.line.topcoat if found.line else None
    here = reverse("pour", args=[number])
    planned = _planned_topcoat(request.studio, found, kit) if kit else {}
    judged = judge_topcoat(found, hand_of(request.studio), timezone.now())
    return form_page(
        request,
        TopcoatForm(request.POST or None, studio=request.studio, kit=kit, initial=planned),
        template="pricing/bench/topcoat_form.html",
        title=f"Topcoat {found}",
        hazard="resin",
        advice=judged,
        warned=warnings(judged),
        act=lambda data: log_topcoat(pour=found, by=request.user, **data),
        done=lambda made: (f"{made} is logged.", here),
        button="Log the topcoat",
        back=here,
    )


@member_page("maker")
def topcoat_undo(request: StudioRequest, number: int, pk: int) -> HttpResponse:
    """Undo a topcoat logged by mistake."""
    found = _pour(request, number)
    coat = get_object_or_404(found.topcoatings, pk=pk)
    here = reverse("pour", args=[number])
    return form_page(
        request,
        WhyForm(request.POST or None),
        title=f"Undo {coat}",
        act=lambda data: undo_topcoat(coat=coat, by=request.user, why=data["why"]),
        done=lambda kept: ("The topcoat is undone.", here),
        button="Undo the topcoat",
        back=here,
    )
