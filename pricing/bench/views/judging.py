"""Pages on which pieces are judged, looked at and wiped."""

from typing import Any

from django import forms
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import path, reverse
from django.views.decorators.http import require_safe

from pricing.bench.forms.judging import JudgingForm
from pricing.bench.judging import COATED, DRY, judge_pieces, latest_coat
from pricing.bench.recovering import recover_surfaces
from pricing.bench.views.pictures import pictures_of
from pricing.models import FinishedPiece, Pour
from pricing.readiness.standing import standing_of
from studio.access import member_page
from studio.requests import StudioRequest
from studio.views.form_page import form_page

# So many pieces are judged on a page.
PAGE = 12


def pieces_of(pour: Pour) -> dict[str, object]:
    """Return what the part of a pour's page with its pieces is drawn from."""
    pieces = list(pour.pieces.select_related("piece_set").prefetch_related("judgements"))
    by_verdict = [
        (label, sum(piece.verdict == verdict for piece in pieces))
        for verdict, label in FinishedPiece.Verdict.choices
    ]
    return {
        "pieces": pieces,
        "verdicts": [(label, count) for label, count in by_verdict if count],
        "to_judge": len(_left(pour, pieces)),
    }


def _left(pour: Pour, pieces: list[FinishedPiece]) -> list[int]:
    """Return the numbers of the pieces that are not judged at the stage that the pour is at."""
    coat = latest_coat(pour)
    left = []
    for piece in pieces:
        if piece.state != FinishedPiece.State.GOOD:
            continue
        stages = {one.stage: one.coat_id for one in piece.judgements.all()}
        done = stages.get(COATED) == coat.pk if coat else DRY in stages
        if not done:
            left.append(piece.number)
    return left


def _pour(request: StudioRequest, number: int) -> Pour:
    rows = request.studio.pours.select_related("surface__material", "entry__reversed_by", "studio")
    return get_object_or_404(rows, number=number)


def _piece(request: StudioRequest, number: int, piece: int) -> FinishedPiece:
    rows = request.studio.pieces.select_related(
        *("pour__surface__material", "pour__technique", "pour__palette"),
        *("pour__entry__reversed_by", "piece_set", "recovery", "studio"),
    )
    return get_object_or_404(rows, pour__number=number, number=piece)


@member_page("maker")
def judge(request: StudioRequest, number: int) -> HttpResponse:
    """Judge the pieces of a pour: as paint, or with their topcoat once they have one."""
    pour = _pour(request, number)
    stage = COATED if latest_coat(pour) else DRY
    if request.GET.get("stage") == DRY:
        stage = DRY
    pieces = list(pour.pieces.select_related("pour").prefetch_related("judgements"))
    judged = {
        piece.pk: one for piece in pieces for one in piece.judgements.all() if one.stage == stage
    }
    there = [one for one in pieces if stage == DRY or one.pk in judged or one.state == "good"]
    page = Paginator(there, PAGE).get_page(request.GET.get("page"))
    left = (
        _left(pour, pieces)
        if stage == COATED
        else [one.number for one in there if one.pk not in judged and one.state == "good"]
    )
    sent = (request.POST, request.FILES) if request.method == "POST" else ()
    form = JudgingForm(*sent, stage=stage, shown=page, left=left, judged=judged)
    here = reverse("pour", args=[number])

    def act(data: dict[str, Any]) -> Pour:
        return judge_pieces(
            pour=pour, by=request.user, seen=form.seen(), stage=stage, judged_at=form.moment()
        )

    return form_page(
        request,
        form,
        template="pricing/bench/judge.html",
        title=f"Judge {pour}",
        act=act,
        done=lambda saved: (f"{saved} is judged.", f"{here}#pieces"),
        is_valid=form.all_valid,
        back=here,
        pour=pour,
        page=page,
        stage=stage,
        was_coated=stage == COATED,
        can_judge_paint=stage == COATED,
    )


@require_safe
@member_page("viewer")
def piece(request: StudioRequest, number: int, piece: int) -> HttpResponse:
    """Show one piece: how it was judged, its pictures, where it is."""
    row = _piece(request, number, piece)
    judgements = list(row.judgements.select_related("by", "coat__kit").order_by("-stage"))
    context = {
        "piece": row,
        "pour": row.pour,
        "judgements": judgements,
        "standings": standing_of([row.pour]),
        "can_recover": row.state == FinishedPiece.State.FAILED
        and not row.recovery
        and row.pour.surface.material is not None,
        **pictures_of(row),
    }
    return render(request, "pricing/bench/piece.html", context)


@member_page("maker")
def piece_recover(request: StudioRequest, number: int, piece: int) -> HttpResponse:
    """Bring the surface of a failed piece back to the shelf."""
    row = _piece(request, number, piece)
    here = reverse("piece", args=[number, piece])
    return form_page(
        request,
        forms.Form(request.POST if request.method == "POST" else None),
        title=f"Recover {row.pour.surface}",
        lead=f"{row} is wiped, and one {row.pour.surface} is back on the shelf at no cost: what "
        "it cost stays with the pour. It can be undone in the ledger.",
        hazards=("tile", "sanding", "paint-waste"),
        act=lambda data: recover_surfaces(pour=row.pour, by=request.user, pieces=[piece]),
        done=lambda entry: (f"One {row.pour.surface} is back on the shelf.", here),
        button="It is wiped",
        back=here,
    )


urlpatterns = [
    path("pours/<int:number>/judge/", judge, name="judge"),
    path("pours/<int:number>/pieces/<int:piece>/", piece, name="piece"),
    path("pours/<int:number>/pieces/<int:piece>/recover/", piece_recover, name="piece-recover"),
]
