"""Batches: mixed from bottles into a bottle of mix, judged by their trace, undone."""

from decimal import ROUND_DOWN, Decimal

from django.db.models import QuerySet
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.http import require_safe

from inventory.models import Batch, Movement
from pricing.bench.batches import layers_poured_from, line_poured_from, mix_batch, undo_batch
from pricing.bench.forms.mixing import BatchForm
from pricing.commissions.views.address import commission_in_address
from pricing.estimating.advice import Advice, off_trace
from studio.access import member_page
from studio.forms import WhyForm
from studio.models import Studio
from studio.requests import StudioRequest
from studio.units import format_volume
from studio.views.form_page import form_page
from studio.views.lists import period_page

TENTH = Decimal("0.1")


def _batches(studio: Studio) -> QuerySet[Batch]:
    return studio.batches.select_related("recipe", "by", "bottle", "entry__reversed_by")


def _advice(batch: Batch) -> Advice | None:
    """Return the advice on a batch's trace, or None without a trace to compare with."""
    if batch.trace_seconds is None or batch.recipe.trace_seconds is None:
        return None
    return off_trace(batch.trace_seconds, batch.recipe.trace_seconds)


@require_safe
@member_page("viewer")
def batches(request: StudioRequest) -> HttpResponse:
    """List the batches mixed, newest first, with how near each came to its trace."""
    context = period_page(request, _batches(request.studio), "made_at")
    for one in context["page"].object_list:
        vars(one).update(judged=_advice(one))
    return render(request, "pricing/bench/batches.html", context)


@require_safe
@member_page("viewer")
def batch(request: StudioRequest, pk: int) -> HttpResponse:
    """Show one batch: what it took from which bottle, and the bottle of mix it made."""
    row = get_object_or_404(_batches(request.studio), pk=pk)
    moves = Movement.objects.filter(entry=row.entry_id) if row.entry_id else ()
    context = {
        "batch": row,
        "judged": _advice(row),
        "taken": moves and moves.filter(quantity__lt=0).select_related("material", "bottle"),
        "pour_url": _pour_url(row),
    }
    return render(request, "pricing/bench/batch.html", context)


def _pour_url(batch: Batch) -> str:
    """Return where a batch is poured: for the work it was mixed for, or for stock, filled in."""
    if batch.bottle is None:
        return ""
    fields: dict[str, str | int]
    line = line_poured_from(batch)
    if line is not None:
        fields = {"line": line.pk}
    else:
        amount = f"{batch.bottle.remaining.quantize(TENTH, ROUND_DOWN):f} mL"
        layers = layers_poured_from(batch)[:1]
        fields = {
            f"{one}_{of}": amount for one in layers for of in ("mixed", f"from_{batch.bottle_id}")
        }
    return f"{reverse('pour-new')}?{urlencode(fields)}"


def _initial(request: StudioRequest) -> dict[str, object]:
    """Return what a batch's form starts from: the cup of the mixing sheet that leads to it."""
    names = {"recipe": "recipe", "volume": "volume_ml", "purpose": "purpose"}
    fields = {field: request.GET[name] for name, field in names.items() if name in request.GET}
    return fields | {"commission": commission_in_address(request)}


def _sheet_of(request: StudioRequest) -> str:
    """Return the mixing sheet that a batch is mixed from, by its address, or an empty text."""
    address = request.GET.get("sheet", "")
    sheets = [f"{reverse(name)}?" for name in ("mixing", "plan-mixing")]
    return address if address.startswith(tuple(sheets)) else ""


@member_page("maker")
def batch_new(request: StudioRequest) -> HttpResponse:
    """Mix a batch: its ingredients leave their bottles and a bottle of mix is made."""
    sheet = _sheet_of(request)
    choosing = "choose" in request.POST
    form = BatchForm(
        None if choosing else request.POST or None,
        studio=request.studio,
        initial=request.POST.dict() if choosing else _initial(request),
    )
    return form_page(
        request,
        form,
        title="Mix a batch",
        lead="The ingredients leave their bottles, and the mix is kept as a bottle of its own: "
        "pour from it, and what is left stays on the shelf.",
        template="pricing/bench/batch_form.html",
        act=lambda data: mix_batch(
            studio=request.studio, by=request.user, bottles=form.bottles(), **data
        ),
        done=lambda batch: (_mixed_words(batch), sheet or reverse("batch", args=[batch.pk])),
        button="Mix the batch",
        back=sheet or reverse("batches"),
        back_label="Mixing sheet" if sheet else "Batches",
    )


def _mixed_words(batch: Batch) -> str:
    judged = _advice(batch)
    assert batch.bottle is not None  # it was just mixed
    start = f"{format_volume(batch.volume_ml)} of {batch.recipe} is in bottle {batch.bottle.code}."
    return f"{start} {judged.sentence}" if judged else start


@member_page("maker")
def batch_undo(request: StudioRequest, pk: int) -> HttpResponse:
    """Undo a batch logged by mistake: its ingredients are back in their bottles."""
    batch = get_object_or_404(_batches(request.studio), pk=pk)
    here = reverse("batch", args=[pk])
    return form_page(
        request,
        WhyForm(request.POST or None),
        title=f"Undo {batch}",
        lead="For a batch logged by mistake. What it took goes back into its bottles."
        if batch.entry_id
        else "It was written down before mixing moved stock, so nothing has to go back.",
        act=lambda data: undo_batch(batch=batch, by=request.user, why=data["why"]),
        done=lambda stays: (
            "The batch is undone." if stays else "The batch is taken off the list.",
            here if stays else reverse("batches"),
        ),
        button="Undo the batch",
        back=here,
    )
