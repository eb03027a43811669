"""The shelf: materials, what is on hand, promised and coming."""

from django.core.paginator import Paginator
from django.db.models import Q
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from inventory.alerts import alerts
from inventory.forms import MaterialForm
from inventory.models import Material
from studio.access import member_page
from studio.views.form_page import form_page


@require_GET
@member_page("viewer")
def materials(request):
    """List what the studio keeps, filtered by words and kind."""
    words, kind = request.GET.get("q", "").strip(), request.GET.get("kind", "")
    rows = request.studio.materials.current().with_promises()
    if words:
        rows = rows.filter(Q(name__icontains=words) | Q(pigments__icontains=words))
    if kind in Material.Kind.values:
        rows = rows.filter(kind=kind)
    page = Paginator(rows, 50).get_page(request.GET.get("page"))
    context = {"page": page, "words": words, "kind": kind, "kinds": Material.Kind.choices}
    part = request.headers.get("HX-Request")
    template = "inventory/_material_rows.html" if part else "inventory/materials.html"
    return render(request, template, context)


@require_GET
@member_page("viewer")
def material(request, pk):
    """Show one material: bottles, promises, packs and its latest movements."""
    found = get_object_or_404(request.studio.materials.with_promises(), pk=pk)
    context = {
        "material": found,
        "bottles": found.bottles.on_shelf().filter(remaining__gt=0).in_issue_order(),
        "holds": found.holds.open(),
        "packs": found.packs.on_offer().select_related("supplier"),
        "movements": found.movements.select_related("entry", "bottle").order_by("-pk")[:15],
    }
    return render(request, "inventory/material.html", context)


@member_page("maker")
def material_new(request):
    """Add a material."""
    form = MaterialForm(request.POST or None, studio=request.studio)
    return form_page(
        request,
        form,
        title="New material",
        act=lambda _: form.save(),
        done=lambda made: (f"{made} is on the list.", reverse("material", args=[made.pk])),
        back=reverse("materials"),
    )


@member_page("maker")
def material_edit(request, pk):
    """Change what is said of a material, never what is on the shelf."""
    found = get_object_or_404(request.studio.materials, pk=pk)
    form = MaterialForm(request.POST or None, instance=found, studio=request.studio)
    here = reverse("material", args=[pk])
    return form_page(
        request,
        form,
        title=f"Change {found.name}",
        act=lambda _: form.save(),
        done=lambda kept: (f"{kept} is saved.", here),
        back=here,
    )


@require_POST
@member_page("maker")
def material_archive(request, pk):
    """Put a material away, or bring it back; its history stays."""
    found = get_object_or_404(request.studio.materials, pk=pk)
    found.archived_at = None if found.archived_at else timezone.now()
    found.save(update_fields=["archived_at"])
    return redirect("materials" if found.archived_at else reverse("material", args=[pk]))


@require_GET
@member_page("viewer")
def alert_list(request):
    """List what needs doing about stock, what stops work first on top."""
    return render(request, "inventory/alerts.html", {"alerts": alerts(request.studio)})
