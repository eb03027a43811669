"""What a page's address asks for, always among the studio's own rows."""

from typing import Any

from django.shortcuts import get_object_or_404

from pricing.costing.planned_price import usual_palette
from pricing.estimating.views.planner import form_in_address
from pricing.models import Commission, CommissionLine, Palette, Pour
from studio.requests import StudioRequest

# What a plan's address holds.
PLAN = ("size", "technique", "count", "base", "palette", "topcoat", "use")


def number_in(text: str) -> int:
    """Return the whole number that a text holds, or 0."""
    return int(text) if text.isdecimal() and len(text) < 10 else 0


def numbers_in_address(request: StudioRequest, name: str) -> list[int]:
    """Return the numbers given under ``name``, each once; text that is none becomes 0."""
    return list(dict.fromkeys(number_in(text) for text in request.GET.getlist(name)))


def line_in_address(request: StudioRequest) -> CommissionLine | None:
    """Return the commission line named by ``?line=``, or None; another studio's is a 404."""
    key = request.GET.get("line")
    if not key:
        return None
    rows = CommissionLine.objects.filter(commission__studio=request.studio)
    rows = rows.select_related("commission", "surface", "technique", "palette", "topcoat")
    return get_object_or_404(rows, pk=number_in(key))


def commission_in_address(request: StudioRequest) -> Commission | None:
    """Return the commission named by ``?commission=``, or None; another studio's is a 404."""
    number = request.GET.get("commission")
    if not number:
        return None
    rows = request.studio.commissions.select_related("customer")
    return get_object_or_404(rows, number=number_in(number))


def pour_in_address(request: StudioRequest) -> Pour | None:
    """Return the pour named by ``?like=``, or None; another studio's is a 404."""
    number = request.GET.get("like")
    if not number:
        return None
    rows = request.studio.pours.select_related(
        "surface", "technique", "palette", "line__topcoat", "line__packaging"
    )
    return get_object_or_404(rows, number=number_in(number))


def palette_in_address(request: StudioRequest) -> Palette | None:
    """Return the palette named by ``?palette=``, or None; another studio's is a 404."""
    key = request.GET.get("palette")
    return get_object_or_404(request.studio.palettes, pk=number_in(key)) if key else None


def plan_in_address(request: StudioRequest) -> dict[str, str]:
    """Return what a plan asked for, as it stands in an address; nothing without a size."""
    asked = {name: request.GET.get(name, "") for name in PLAN}
    return {name: text for name, text in asked.items() if text} if asked["size"] else {}


def planned_line(request: StudioRequest) -> dict[str, object]:
    """Return what the form of a line starts from after a plan; nothing without one that holds.

    A plan without a palette was priced with the studio's usual one, so it goes on with that. As
    many as the studio sells together are a set, packed as it packs them.
    """
    form = form_in_address(request) if plan_in_address(request) else None
    if form is None or not form.is_valid():
        return {}
    data = form.cleaned_data
    kept = form.kept(data["size"])
    names = ("technique", "base", "topcoat", "use")
    initial = {name: data[name] for name in names} | {
        "surface": kept,
        "size": "" if kept else form.data["size"],
        "palette": data["palette"] or usual_palette(request.studio),
        "quantity": data["count"],
    }
    return initial | _as_sold(request, initial)


def _as_sold(request: StudioRequest, planned: dict[str, Any]) -> dict[str, object]:
    """Return how what is planned is sold and packed, where it is a product of the studio."""
    names = ("surface", "technique", "base", "palette", "topcoat")
    same = {name: planned[name] for name in names}
    products = request.studio.products.filter(archived_at=None, **same).order_by("pk")
    for product in products.select_related("packaging"):
        sets, rest = divmod(planned["quantity"], product.pieces_each)
        if sets and not rest:
            packed = product.packaging
            return {"quantity": sets, "pieces_each": product.pieces_each, "packaging": packed}
    return {}
