"""Bottles, and lots of whole items: each with a code, what is left and what happened to it."""

from decimal import Decimal

from django.db.models import Q
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from inventory.models import Bottle
from inventory.stock import ledger as stock
from inventory.stock.counts import open_counts
from inventory.stock.forms.bottles import BottleForm
from inventory.supplies.hazards import hazards_of
from studio.access import member_page
from studio.charts import Chart, stock_life
from studio.requests import StudioRequest
from studio.views.form_page import action, form_page
from studio.views.lists import list_page, page_of, words_of


def bottle_of(request: StudioRequest, code: str) -> Bottle:
    """Return the studio's bottle with this code, or answer 404."""
    bottles = request.studio.bottles.select_related("material", "delivery__supplier")
    return get_object_or_404(bottles, code__iexact=code)


def page_of_bottle(bottle: Bottle) -> str:
    """Return the address of a bottle's page."""
    return reverse("bottle", args=[bottle.code])


@require_safe
@member_page("viewer")
def bottles(request: StudioRequest) -> HttpResponse:
    """List the bottles on the shelf, found by code, material or place."""
    words, with_empty = words_of(request), "all" in request.GET
    rows = request.studio.bottles.select_related("material")
    if not with_empty:
        rows = rows.on_shelf().filter(remaining__gt=0)
    if words:
        rows = rows.filter(
            Q(code__iexact=words) | Q(material__name__icontains=words) | Q(place__icontains=words)
        )
    context = {"page": page_of(request, rows), "words": words, "with_empty": with_empty}
    return list_page(
        request, "inventory/stock/bottles.html", "inventory/stock/_bottle_list.html", context
    )


@require_safe
@member_page("viewer")
def bottle(request: StudioRequest, code: str) -> HttpResponse:
    """Show one bottle or lot: what is left, and what happened to it as a chart and a list."""
    bottle = bottle_of(request, code)
    moves = bottle.movements.select_related("entry__by", "entry__reversed_by")
    page = page_of(request, moves.order_by("-pk"))
    context = {
        "bottle": bottle,
        "first": moves.first(),
        "page": page,
        "movements": page.object_list,
        "chart": _life(bottle),
        "counts": open_counts(request.studio) if request.membership.may("maker") else (),
        "hazards": hazards_of([bottle.material]),
    }
    return render(request, "inventory/stock/bottle.html", context)


def _life(bottle: Bottle) -> Chart | None:
    """Draw what was left at the end of each day something moved; None for a bottle just arrived."""
    left, days = Decimal(0), {}
    for quantity, happened_at in bottle.movements.values_list("quantity", "entry__happened_at"):
        left += quantity
        days[timezone.localdate(happened_at)] = float(left)
    if len(days) < 2:
        return None
    unit = bottle.material.get_unit_display()
    return stock_life(
        list(days.items()),
        y_title=f"Left ({unit})" if unit != "each" else "Left",
        caption=f"What was left in {bottle.code}",
    )


@member_page("maker")
def edit(request: StudioRequest, code: str) -> HttpResponse:
    """Change where a bottle stands, its dates, tare and density."""
    bottle = bottle_of(request, code)
    form = BottleForm(request.POST or None, instance=bottle, studio=request.studio)
    return form_page(
        request,
        form,
        title=f"Change {bottle.named}" if bottle.is_lot else f"Change bottle {bottle.code}",
        act=lambda _: form.save(),
        done=lambda saved_bottle: (
            f"{saved_bottle.called.capitalize()} {saved_bottle.code} is saved.",
            page_of_bottle(saved_bottle),
        ),
        back=page_of_bottle(bottle),
        back_label=bottle.code,
    )


@require_POST
@member_page("maker")
def open_bottle(request: StudioRequest, code: str) -> HttpResponse:
    """Note that a bottle was opened today."""
    bottle = bottle_of(request, code)
    bottle_url = page_of_bottle(bottle)
    return action(
        request,
        lambda: stock.open_bottle(bottle=bottle, day=request.studio.today()),
        lambda saved_bottle: (f"Opened {saved_bottle.code} today.", bottle_url),
        back=bottle_url,
    )
