"""What is on hand, promised and coming of each material, and what needs doing about it."""

from typing import Any

from django.contrib import messages
from django.db.models import Q
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST, require_safe

from inventory.buying.alert_mail import choose_alert_mail, gets_alert_mail
from inventory.buying.alerts import alerts, work_alerts
from inventory.buying.demand import Level, level_of, levels
from inventory.buying.reasons import quoted_words, reorder_reasons, use_facts
from inventory.buying.running_out import run_out_days
from inventory.models import Material, with_promises
from inventory.supplies.hazards import hazards_of
from inventory.supplies.price_history import price_chart, price_file, price_history
from studio.access import member_page
from studio.models import Studio
from studio.requests import StudioRequest
from studio.sight import COSTS, PROFIT
from studio.tables import FORMATS
from studio.views.lists import list_page, page_of, words_of

LATEST = 12


@require_safe
@member_page("viewer")
def materials(request: StudioRequest) -> HttpResponse:
    """List what the studio keeps, filtered by words and kind, or what was archived."""
    words, kind = words_of(request), request.GET.get("kind", "")
    away = "away" in request.GET
    rows = request.studio.materials.filter(archived_at__isnull=not away)
    if words:
        rows = rows.filter(Q(name__icontains=words) | Q(pigments__icontains=words))
    if kind in Material.Kind.values:
        rows = rows.filter(kind=kind)
    page = page_of(request, with_promises(rows).by_kind())
    standing = {level.material.pk: level for level in levels(request.studio, page)}
    days = run_out_days(request.studio, standing.values())
    for row in page:
        vars(row).update(level=standing.get(row.pk), runs_out_on=days.get(row.pk))
    context = {
        "page": page,
        "words": words,
        "kind": kind,
        "kinds": Material.Kind.choices,
        "away": away,
    }
    return list_page(
        request, "inventory/buying/materials.html", "inventory/buying/_material_rows.html", context
    )


@require_safe
@member_page("viewer")
def material(request: StudioRequest, pk: int) -> HttpResponse:
    """Show one material: what is free and when it runs out, bottles, promises, packs, movements."""
    material = get_object_or_404(with_promises(request.studio.materials.all()), pk=pk)
    movements = material.movements.select_related("entry__by", "entry__reversed_by", "bottle")
    movements = movements.order_by("-pk")
    level = level_of(request.studio, material)
    context = {
        "material": material,
        "level": level,
        "runs_out_on": level and run_out_days(request.studio, [level])[pk],
        **(_in_words(level, request.studio) if level else {}),
        "bottles": material.bottles.on_shelf().in_issue_order(),
        "holds": material.holds.open(),
        "packs": material.packs.on_offer().select_related("supplier"),
        "chart": price_chart(request.studio, material, price_history(material)),
        "movements": movements[:LATEST],
        "hazards": hazards_of([material]),
    }
    return render(request, "inventory/buying/material.html", context)


@require_safe
@member_page("viewer", COSTS)
def material_prices(request: StudioRequest, pk: int, extension: str) -> HttpResponse:
    """What a material has cost, delivery by delivery, as a file."""
    if extension not in FORMATS:
        raise Http404("There is no such file.")
    material = get_object_or_404(request.studio.materials, pk=pk)
    return HttpResponse(
        price_file(material, extension),
        content_type=FORMATS[extension],
        headers={"Content-Disposition": f'attachment; filename="prices-{pk}.{extension}"'},
    )


def _in_words(level: Level, studio: Studio) -> dict[str, Any]:
    return {
        "use": use_facts(level, studio),
        "quoted": quoted_words(level),
        "reasons": reorder_reasons(level, studio),
    }


@require_safe
@member_page("viewer")
def alert_list(request: StudioRequest) -> HttpResponse:
    """List what needs doing about work and stock, what stops work first on top."""
    context = {
        "alerts": alerts(request.studio, with_money=request.membership.sees(PROFIT)),
        "work_alerts": work_alerts(request.studio),
        "gets_mail": gets_alert_mail(request.membership),
    }
    return render(request, "inventory/buying/alerts.html", context)


@require_POST
@member_page("viewer")
def alert_mail(request: StudioRequest) -> HttpResponse:
    """Switch the daily mail of alerts to oneself on or off."""
    is_on = "wanted" in request.POST
    choose_alert_mail(membership=request.membership, wanted=is_on)
    words = "You get a mail on days with something new." if is_on else "You get no mail of alerts."
    messages.success(request, words)
    return redirect("alerts")
