"""The shelf: materials, what is on hand, promised and coming."""

from django.contrib import messages
from django.db.models import Case, Q, When
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from inventory.alert_mail import choose_alert_mail, gets_alert_mail
from inventory.alerts import alerts, work_alerts
from inventory.demand import level_of, levels
from inventory.forms import MaterialForm
from inventory.models import Material
from inventory.price_history import price_chart, price_file, price_history
from inventory.reasons import quoted_words, reorder_reasons, use_facts
from inventory.running_out import run_out_days
from studio.access import member_page
from studio.tables import FORMATS
from studio.views.form_page import form_page
from studio.views.lists import list_page, page_of, words_of
from studio.views.registers import put_away

BY_KIND = Case(*[When(kind=kind, then=place) for place, kind in enumerate(Material.Kind.values)])
LATEST = 12


@require_safe
@member_page("viewer")
def materials(request):
    """List what the studio keeps, filtered by words and kind, or what was put away."""
    words, kind = words_of(request), request.GET.get("kind", "")
    away = "away" in request.GET
    rows = request.studio.materials.filter(archived_at__isnull=not away)
    if words:
        rows = rows.filter(Q(name__icontains=words) | Q(pigments__icontains=words))
    if kind in Material.Kind.values:
        rows = rows.filter(kind=kind)
    page = page_of(request, rows.with_promises().order_by(BY_KIND, "name"))
    standing = {level.material.pk: level for level in levels(request.studio, page)}
    days = run_out_days(request.studio, standing.values())
    for row in page:
        row.level, row.runs_out_on = standing.get(row.pk), days.get(row.pk)
    context = {
        "page": page,
        "words": words,
        "kind": kind,
        "kinds": Material.Kind.choices,
        "away": away,
    }
    return list_page(request, "inventory/materials.html", "inventory/_material_rows.html", context)


@require_safe
@member_page("viewer")
def material(request, pk):
    """Show one material: what is free and when it runs out, bottles, promises, packs, movements."""
    found = get_object_or_404(request.studio.materials.with_promises(), pk=pk)
    movements = found.movements.select_related("entry__by", "entry__reversed_by", "bottle")
    movements = movements.order_by("-pk")
    level = level_of(request.studio, found)
    context = {
        "material": found,
        "level": level,
        "runs_out_on": level and run_out_days(request.studio, [level])[pk],
        **(_in_words(level, request.studio) if level else {}),
        "bottles": found.bottles.on_shelf().in_issue_order(),
        "holds": found.holds.open(),
        "packs": found.packs.on_offer().select_related("supplier"),
        "chart": price_chart(request.studio, found, price_history(found)),
        "movements": movements[:LATEST],
    }
    return render(request, "inventory/material.html", context)


@require_safe
@member_page("viewer")
def material_prices(request, pk, extension):
    """What a material has cost, delivery by delivery, as a file."""
    if extension not in FORMATS:
        raise Http404("There is no such file.")
    found = get_object_or_404(request.studio.materials, pk=pk)
    return HttpResponse(
        price_file(found, extension),
        content_type=FORMATS[extension],
        headers={"Content-Disposition": f'attachment; filename="prices-{pk}.{extension}"'},
    )


def _in_words(level, studio):
    return {
        "use": use_facts(level, studio),
        "quoted": quoted_words(level),
        "reasons": reorder_reasons(level, studio),
    }


def _form(request, found, title, back, message):
    return form_page(
        request,
        form := MaterialForm(request.POST or None, instance=found, studio=request.studio),
        template="inventory/material_form.html",
        title=title,
        act=lambda _: form.save(),
        done=lambda kept: (message.format(kept), reverse("material", args=[kept.pk])),
        back=back,
    )


@member_page("maker")
def material_new(request):
    """Add a material."""
    message = "{} is on the list. Receive what you have of it."
    return _form(request, None, "New material", reverse("materials"), message)


@member_page("maker")
def material_edit(request, pk):
    """Change what is said of a material, never what is on the shelf."""
    found = get_object_or_404(request.studio.materials, pk=pk)
    here = reverse("material", args=[pk])
    return _form(request, found, f"Change {found}", here, "{} is saved.")


@require_POST
@member_page("maker")
def material_archive(request, pk):
    """Put a material away, or bring it back; its history stays."""
    found = get_object_or_404(request.studio.materials, pk=pk)
    return put_away(request, found, back=reverse("material", args=[pk]))


@require_safe
@member_page("viewer")
def alert_list(request):
    """List what needs doing about work and stock, what stops work first on top."""
    context = {
        "alerts": alerts(request.studio, with_money=request.membership.may("owner")),
        "work_alerts": work_alerts(request.studio),
        "gets_mail": gets_alert_mail(request.membership),
    }
    return render(request, "inventory/alerts.html", context)


@require_POST
@member_page("viewer")
def alert_mail(request):
    """Switch the daily mail of alerts to oneself on or off."""
    wanted = "wanted" in request.POST
    choose_alert_mail(membership=request.membership, wanted=wanted)
    words = "You get a mail on days with something new." if wanted else "You get no mail of alerts."
    messages.success(request, words)
    return redirect("alerts")
