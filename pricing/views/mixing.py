"""Mixing sheets, for a plan or a day's commissions, and the batches mixed from them."""

from django.core.paginator import Paginator
from django.http import Http404
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.http import require_GET, require_POST

from inventory.batches import log_batch, take_out_batch
from pricing.advice import off_trace
from pricing.forms.mixing import BatchForm
from pricing.mixing_sheets import commission_sheet, plan_sheet, sheet_pdf
from pricing.resin import CAUTIONS
from pricing.views.asked import asked_numbers
from pricing.views.planner import asked_form, plan_of
from studio.access import member_page
from studio.errors import StudioError
from studio.pdf import pdf_response
from studio.units import format_volume
from studio.views.form_page import action, form_page

# Work that may be on the bench; an enquiry can be mixed for once it is accepted.
AT_THE_BENCH = ("accepted", "in_work")


def _chosen(request):
    """Return the commissions named in the address; one the studio lacks is a 404."""
    numbers = asked_numbers(request, "commission")
    found = list(request.studio.commissions.filter(number__in=numbers).order_by("number"))
    if len(found) < len(numbers):
        raise Http404
    return found


@require_GET
@member_page("viewer")
def mixing(request):
    """Show what to mix for the commissions chosen, all of them together."""
    chosen = _chosen(request)
    offered = request.studio.commissions.filter(status__in=AT_THE_BENCH).select_related("customer")
    context = {"chosen": chosen, "offered": offered.order_by("due_on", "number")}
    if chosen:
        context |= _sheet(lambda: commission_sheet(request.studio, chosen))
        context["pdf_url"] = f"{reverse('mixing-pdf')}?{request.GET.urlencode()}"
    return render(request, "pricing/mixing.html", context)


@require_GET
@member_page("viewer")
def mixing_pdf(request):
    """The mixing sheet of the commissions chosen, as a PDF."""
    chosen = _chosen(request)
    if not chosen:
        raise Http404
    names = ", ".join(str(one.number) for one in chosen)
    title = f"Mixing sheet, commission{'' if len(chosen) == 1 else 's'} {names}"
    sheet = commission_sheet(request.studio, chosen)
    return pdf_response(
        sheet_pdf(request.studio, sheet, title, request.studio.today()), "mixing-sheet.pdf"
    )


@require_GET
@member_page("viewer")
def plan_mixing(request):
    """Show what to mix for a plan."""
    form = asked_form(request)
    query = request.GET.urlencode()
    context = {"form": form, "plan_url": f"{reverse('planner')}?{query}"}
    if form.is_valid():
        context |= _sheet(lambda: _plan_sheet(request, form.cleaned_data))
        context["pdf_url"] = f"{reverse('plan-mixing-pdf')}?{query}"
    return render(request, "pricing/plan_mixing.html", context)


@require_GET
@member_page("viewer")
def plan_mixing_pdf(request):
    """The mixing sheet of a plan, as a PDF."""
    form = asked_form(request)
    if not form.is_valid():
        raise Http404
    sheet = _plan_sheet(request, form.cleaned_data)
    return pdf_response(
        sheet_pdf(request.studio, sheet, "Mixing sheet", request.studio.today()),
        "mixing-sheet.pdf",
    )


def _plan_sheet(request, data):
    label = f"{data['count']} × {request.GET['size'].strip()}, {data['technique'].name.lower()}"
    return plan_sheet(request.studio, plan_of(request.studio, data), label)


def _sheet(make):
    """Return the sheet, its cups with where each is logged, or in words why there is none."""
    try:
        sheet = make()
    except StudioError as error:
        return {"problem": str(error)}
    cups = [(cup, _batch_url(cup)) for cup in sheet.cups]
    return {"sheet": sheet, "cups": cups, "cautions": CAUTIONS}


def _batch_url(cup):
    asked = {"recipe": cup.recipe.pk, "volume": f"{cup.volume_ml:f} mL", "purpose": cup.labels[0]}
    return f"{reverse('batch-new')}?{urlencode(asked)}"


@require_GET
@member_page("viewer")
def batches(request):
    """List the batches mixed, newest first, with how near each came to its trace."""
    rows = request.studio.batches.select_related("recipe", "by")
    page = Paginator(rows, 50).get_page(request.GET.get("page"))
    for batch in page.object_list:
        batch.judged = _judged(batch)
    return render(request, "pricing/batches.html", {"page": page})


def _judged(batch):
    """Return the advice on a batch's trace, or None where there is nothing to hold it against."""
    if batch.trace_seconds is None or batch.recipe.trace_seconds is None:
        return None
    return off_trace(batch.trace_seconds, batch.recipe.trace_seconds)


def _asked_batch(request):
    """Return what a batch's form starts from: the cup of the mixing sheet that leads to it."""
    names = {"recipe": "recipe", "volume": "volume_ml", "purpose": "purpose"}
    return {field: request.GET[name][:120] for name, field in names.items() if name in request.GET}


@member_page("maker")
def batch_new(request):
    """Log a batch with the trace it really had."""
    form = BatchForm(request.POST or None, studio=request.studio, initial=_asked_batch(request))
    return form_page(
        request,
        form,
        title="Log a batch",
        lead="What was mixed and the trace it had. Stock does not move here: it does when the pour "
        "is logged.",
        template="pricing/batch_form.html",
        act=lambda data: log_batch(studio=request.studio, by=request.user, **data),
        done=lambda made: (_said(made), reverse("batches")),
        button="Log the batch",
        back=reverse("batches"),
    )


def _said(batch):
    judged = _judged(batch)
    start = f"{format_volume(batch.volume_ml)} of {batch.recipe} is logged."
    return f"{start} {judged.sentence}" if judged else start


@require_POST
@member_page("maker")
def batch_take_out(request, pk):
    """Take out a batch logged by mistake."""
    batch = get_object_or_404(request.studio.batches, pk=pk)
    back = reverse("batches")
    return action(
        request,
        lambda: take_out_batch(batch=batch),
        lambda _: ("The batch is taken out.", back),
        back=back,
    )
