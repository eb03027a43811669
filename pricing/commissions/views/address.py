"""What a page's address asks for, always among the studio's own rows."""

from django.shortcuts import get_object_or_404

from pricing.models import Commission, CommissionLine, Palette, Pour
from studio.requests import StudioRequest


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
