"""Suppliers, their terms and the packs they sell."""

from django.db.models import Count
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from inventory.models import Pack, Supplier
from inventory.supplies.forms.suppliers import PackForm, SupplierForm
from studio.access import member_page
from studio.requests import StudioRequest
from studio.sight import COSTS
from studio.views.form_page import form_page
from studio.views.lists import page_of
from studio.views.registers import put_away


@require_safe
@member_page("viewer")
def suppliers(request: StudioRequest) -> HttpResponse:
    """List the suppliers, or those that were archived."""
    away = "away" in request.GET
    rows = request.studio.suppliers.filter(archived_at__isnull=not away)
    rows = rows.annotate(pack_count=Count("packs")).order_by("name")
    context = {"page": page_of(request, rows), "away": away}
    return render(request, "inventory/supplies/suppliers.html", context)


@require_safe
@member_page("viewer")
def supplier(request: StudioRequest, pk: int) -> HttpResponse:
    """Show one supplier, its terms and its packs."""
    supplier = get_object_or_404(request.studio.suppliers, pk=pk)
    packs = supplier.packs.select_related("material")
    packs = packs.order_by("-is_on_offer", "material__name", "size")
    return render(
        request, "inventory/supplies/supplier.html", {"supplier": supplier, "packs": packs}
    )


def _supplier_form(
    request: StudioRequest, supplier: Supplier | None, title: str, back: str
) -> HttpResponse:
    form = SupplierForm(request.POST or None, instance=supplier, studio=request.studio)
    return form_page(
        request,
        form,
        title=title,
        act=lambda _: form.save(),
        done=lambda saved_supplier: (
            f"{saved_supplier} is saved.",
            reverse("supplier", args=[saved_supplier.pk]),
        ),
        back=back,
    )


@member_page("maker")
def supplier_new(request: StudioRequest) -> HttpResponse:
    """Add a supplier."""
    return _supplier_form(request, None, "New supplier", reverse("suppliers"))


@member_page("maker")
def supplier_edit(request: StudioRequest, pk: int) -> HttpResponse:
    """Change a supplier's terms."""
    supplier = get_object_or_404(request.studio.suppliers, pk=pk)
    return _supplier_form(request, supplier, f"Change {supplier}", reverse("supplier", args=[pk]))


@require_POST
@member_page("maker")
def supplier_archive(request: StudioRequest, pk: int) -> HttpResponse:
    """Put a supplier away, or bring it back; nothing is bought there meanwhile."""
    supplier = get_object_or_404(request.studio.suppliers, pk=pk)
    return put_away(request, supplier, back=reverse("supplier", args=[pk]))


def _pack_form(
    request: StudioRequest, seller: Supplier, pack: Pack | None, title: str
) -> HttpResponse:
    form = PackForm(request.POST or None, instance=pack, studio=request.studio, supplier=seller)
    supplier_url = reverse("supplier", args=[seller.pk])
    return form_page(
        request,
        form,
        title=title,
        act=lambda _: form.save(),
        done=lambda saved_pack: (f"{saved_pack.material}, {saved_pack}, is saved.", supplier_url),
        back=supplier_url,
        back_label=str(seller),
    )


@member_page("maker", COSTS)
def pack_new(request: StudioRequest, pk: int) -> HttpResponse:
    """Add a pack to a supplier."""
    supplier = get_object_or_404(request.studio.suppliers, pk=pk)
    return _pack_form(request, supplier, None, f"New pack from {supplier}")


@member_page("maker", COSTS)
def pack_edit(request: StudioRequest, pk: int) -> HttpResponse:
    """Change a pack's size or price; past deliveries keep theirs."""
    pack = get_object_or_404(request.studio.packs.select_related("supplier", "material"), pk=pk)
    return _pack_form(request, pack.supplier, pack, f"Change {pack.material}, {pack}")
