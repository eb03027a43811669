"""Pages of the bench: pours logged with what they really took, topcoats, and undoing either."""

from typing import Any

from django.db.models import prefetch_related_objects
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from pricing.bench.courses import hazards_of_steps
from pricing.bench.forms.bench import PourForm, SetAsideForm, TopcoatForm
from pricing.bench.mixing_sheets import left_to_do
from pricing.bench.pictures import add_pictures
from pricing.bench.pours import confirm_amounts, log_pour, set_pour_aside, undo_pour
from pricing.bench.topcoats import log_topcoat, undo_topcoat
from pricing.bench.views.judging import pieces_of
from pricing.bench.views.moving import moves_of
from pricing.bench.views.pictures import pictures_of
from pricing.bench.views.weighing import weighings_of
from pricing.bench.work import pour_of_line, pour_of_plan
from pricing.commissions.views.address import line_in_address, number_in
from pricing.costing.habits import usual_minutes
from pricing.costing.piece_costs import cost_of_pour
from pricing.estimating.advice import Advice, warnings
from pricing.estimating.estimates import estimate
from pricing.estimating.judgement import judge_base, judge_pour, judge_topcoat, judge_varnish
from pricing.estimating.learning import Hand, hand_of, slip_in
from pricing.estimating.planning import plan_of
from pricing.estimating.views.planner import form_in_address
from pricing.models import CommissionLine, LabourStep, Pour, PourLayer, ResinKit
from pricing.readiness.asking import gone_on_of
from pricing.readiness.rooms import judge_room
from pricing.readiness.standing import standing_of
from studio.access import member_page
from studio.forms import WhyForm
from studio.models import Studio
from studio.requests import StudioRequest
from studio.units import format_volume
from studio.views.form_page import action, form_page
from studio.views.lists import period_page

NAMES = ("surface", "technique", "palette")
KEPT = ("count", "minutes", "notes", "poured_at", "room_c", "humidity_percent")
# What an address may fill in, beside the bottles of mix: the work list and a batch do.
PLANNED = ("count", *(f"{layer}_mixed" for layer in PourLayer.Layer.values))
MOST = 200


def _pour(request: StudioRequest, number: int) -> Pour:
    rows = request.studio.pours.select_related(*NAMES, "entry__reversed_by", "line__commission")
    return get_object_or_404(rows.select_related("tile_answer__by"), number=number)


def _varnish(pour: Pour, hand: Hand) -> tuple[Advice, ...]:
    """Return the advice on varnishing a pour, where its technique has that and no resin."""
    steps = pour.technique.steps.filter(step=LabourStep.Step.VARNISH)
    coated = pour.topcoatings.exists() or (pour.line is not None and pour.line.topcoat_id)
    if coated or not any(one.is_done for one in steps):
        return ()
    early, silicone = judge_varnish(pour, hand, timezone.now())
    return (early, *warnings([silicone]))


@require_safe
@member_page("viewer")
def pours(request: StudioRequest) -> HttpResponse:
    """List the pours, newest first."""
    rows = request.studio.pours.select_related(*NAMES, "entry__reversed_by", "line__commission")
    rows = rows.prefetch_related("layers")
    return render(request, "pricing/bench/pours.html", period_page(request, rows, "poured_at"))


@require_safe
@member_page("viewer")
def pour(request: StudioRequest, number: int) -> HttpResponse:
    """Show one pour: forecast beside what it took, its pieces, its topcoats, its cost."""
    row = _pour(request, number)
    prefetch_related_objects([row], "layers")
    hand = hand_of(request.studio)
    judged = [*judge_base(row), *judge_pour(row, hand)]
    standings = standing_of([row])
    context = {
        "pour": row,
        "layers": row.layers.all(),
        **moves_of(row),
        **pieces_of(row),
        "topcoatings": row.topcoatings.select_related("kit", "entry__reversed_by"),
        "movements": row.entry.movements.select_related("material", "bottle", "entry"),
        "spent": cost_of_pour(row),
        "slip": slip_in(row, hand),
        "warned": warnings(judged),
        "notes": [one for one in judged if one.is_note],
        "varnish": _varnish(row, hand),
        "gone_on": gone_on_of(row),
        "standings": standings,
        "weighings": weighings_of(row),
        "may_weigh": standings[row].coated_on is None,
        **pictures_of(row),
    }
    return render(request, "pricing/bench/pour.html", context)


def _initial(request: StudioRequest, line: CommissionLine | None) -> dict[str, Any]:
    """Return what a pour's form starts from: a line's pieces or a plan's, mixed as planned.

    What is mixed already is what is poured from. What the address says, by the name of a field,
    stands in place of it.
    """
    from_address: dict[str, Any] = {
        name: text for name, text in request.GET.items() if name in PLANNED
    }
    from_address |= {name: text for name, text in request.GET.items() if "_from_" in name}
    if line is None:
        has_amounts = bool(from_address.keys() - {"count"})
        return from_address | _initial_for_stock(request, has_amounts)
    (unpoured,), _ = (one.values() for one in left_to_do(line.commission.lines.filter(pk=line.pk)))
    number = number_in(from_address.get("count", ""))
    count = number if 1 <= number <= MOST else min(unpoured or 1, MOST)
    planned = {} if from_address.keys() - {"count"} else pour_of_line(line, count)
    return {"base": line.base, **planned, **from_address, "count": count}


def _initial_for_stock(request: StudioRequest, has_amounts: bool) -> dict[str, object]:
    """Return what a pour of a plan starts from, by the planner's address; nothing without one.

    Where the address has amounts of its own, none are planned.
    """
    form = form_in_address(request)
    if not form.is_valid():
        return {}
    plan = form.cleaned_data
    count, palette = min(plan["count"], MOST), plan["palette"]
    surfaces = {one.name.casefold(): one for one in form.surfaces}
    piece = plan_of(request.studio, plan | {"count": count, "topcoat": None})
    return {
        **(pour_of_plan(request.studio, piece, palette) if palette and not has_amounts else {}),
        "count": count,
        "surface": surfaces.get(request.GET["size"].strip().casefold()),
        "technique": plan["technique"],
        "palette": palette,
        "base": plan["base"],
    }


@member_page("maker")
def pour_new(request: StudioRequest) -> HttpResponse:
    """Log a pour, for a commission's line or for stock."""
    line = line_in_address(request)
    initial = {} if request.POST else _initial(request, line)
    sent = (request.POST, request.FILES) if request.POST else ()
    form = PourForm(*sent, studio=request.studio, line=line, initial=initial)
    technique = line.technique if line else initial.get("technique")
    if initial and technique:
        coated = line is not None and line.topcoat_id is not None
        form.say_usual(technique, initial["count"], coated=coated)
    back = reverse("commission", args=[line.commission.number]) if line else reverse("pours")

    def act(data: dict[str, Any]) -> Pour:
        chosen = {name: data[name] for name in NAMES if name in data}
        pour = log_pour(
            studio=request.studio,
            by=request.user,
            line=line,
            layers=form.layers(),
            base=data.get("base", ""),
            used=form.used,
            **{name: data[name] for name in KEPT},
            **chosen,
        )
        add_pictures(thing=pour, by=request.user, pictures=data["pictures"])
        return pour

    return form_page(
        request,
        form,
        template="pricing/bench/pour_form.html",
        title="Log a pour",
        act=act,
        done=lambda pour: (
            f"{pour} is logged. The next estimate knows it. Judge its pieces once they are dry.",
            reverse("pour", args=[pour.number]),
        ),
        button="Log the pour",
        back=back,
        line=line,
        hazards=("flame", "paint-waste", *hazards_of_steps(form.steps.steps)),
    )


@member_page("maker")
def pour_set_aside(request: StudioRequest, number: int) -> HttpResponse:
    """Keep a pour out of what the estimates learn from, or take it back in."""
    pour = _pour(request, number)
    here = reverse("pour", args=[number])
    return form_page(
        request,
        SetAsideForm(request.POST or None, initial={"why": pour.set_aside}),
        title=f"Set {pour} aside",
        lead="What it took stays on record; only the estimates stop learning from it.",
        act=lambda data: set_pour_aside(pour=pour, why=data["why"]),
        done=lambda saved: (
            f"{saved} is left out." if saved.set_aside else f"{saved} counts again.",
            here,
        ),
        back=here,
    )


@require_POST
@member_page("maker")
def pour_confirm(request: StudioRequest, number: int) -> HttpResponse:
    """Answer that a pour far off its forecast was no slip."""
    pour = _pour(request, number)
    here = reverse("pour", args=[number])
    return action(
        request,
        lambda: confirm_amounts(pour=pour),
        lambda sure: (f"{sure} counts in full.", here),
        back=here,
    )


@member_page("maker")
def pour_undo(request: StudioRequest, number: int) -> HttpResponse:
    """Undo a pour logged by mistake: everything it took is back on the shelf."""
    pour = _pour(request, number)
    here = reverse("pour", args=[number])
    return form_page(
        request,
        WhyForm(request.POST or None),
        title=f"Undo {pour}",
        lead="For a pour logged by mistake. What it took goes back on the shelf.",
        act=lambda data: undo_pour(pour=pour, by=request.user, why=data["why"]),
        done=lambda undone: (f"{undone} is undone.", here),
        button="Undo the pour",
        back=here,
    )


def _initial_topcoat(studio: Studio, pour: Pour, kit: ResinKit) -> dict[str, object]:
    """Return what a topcoat starts from: resin for the loose good pieces, and the usual minutes."""
    count = pour.pieces.filter(state="good", piece_set=None).count()
    if not count:
        return {}
    slug = pour.technique.slug
    layer = estimate(studio, pour.surface, slug, count, topcoat=kit).layer("topcoat")
    assert layer is not None  # there is a kit
    minutes = usual_minutes(pour.technique, "topcoat", count, coated=True)
    return {"mixed_ml": format_volume(layer.to_mix_ml), "minutes": minutes}


@member_page("maker")
def topcoat_new(request: StudioRequest, number: int) -> HttpResponse:
    """Log the resin poured over a pour's good pieces."""
    pour = _pour(request, number)
    kit = pour.line.topcoat if pour.line else None
    form = TopcoatForm(request.POST or None, studio=request.studio, pour=pour, kit=kit)
    here = reverse("pour", args=[number])
    form.initial = _initial_topcoat(request.studio, pour, kit) if kit else {}
    (stands,) = standing_of([pour]).values()
    judged = [
        *judge_topcoat(pour, hand_of(request.studio), timezone.now(), stands.days.dry),
        *judge_room(form.room(), form.chosen_kit() or kit),
    ]
    return form_page(
        request,
        form,
        template="pricing/bench/topcoat_form.html",
        title=f"Topcoat {pour}",
        hazards=("resin", "flame", "sanding", "resin-waste", *hazards_of_steps(form.steps.steps)),
        advice=judged,
        warned=warnings(judged),
        act=lambda data: log_topcoat(pour=pour, by=request.user, **data),
        done=lambda coat: (f"{coat} is logged. Judge the pieces again once it is hard.", here),
        button="Log the topcoat",
        back=here,
    )


@member_page("maker")
def topcoat_undo(request: StudioRequest, number: int, pk: int) -> HttpResponse:
    """Undo a topcoat logged by mistake."""
    pour = _pour(request, number)
    coat = get_object_or_404(pour.topcoatings, pk=pk)
    here = reverse("pour", args=[number])
    return form_page(
        request,
        WhyForm(request.POST or None),
        title=f"Undo {coat}",
        act=lambda data: undo_topcoat(coat=coat, by=request.user, why=data["why"]),
        done=lambda undone: ("The topcoat is undone.", here),
        button="Undo the topcoat",
        back=here,
    )
