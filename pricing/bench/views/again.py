"""Pages of a pour once more: what it was, what changed since, and where to go on from it."""

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path, reverse
from django.utils.http import urlencode
from django.views.decorators.http import require_POST, require_safe

from pricing.bench.again import Again, again
from pricing.bench.moving import heat_hazards
from pricing.bench.old_mixes import write_old_mixes
from pricing.bench.views.pictures import picture_or_404
from pricing.commissions.likeness import likeness, pour_behind
from pricing.commissions.views.address import number_in
from pricing.commissions.views.commissions import OPEN
from pricing.costing.forms.catalogue import PRODUCT_MADE_OF
from pricing.estimating.answers import PieceEstimate
from pricing.models import Palette, Pour, Product
from studio.access import member_page
from studio.requests import StudioRequest
from studio.views.form_page import action

# Open commissions offered to add the same to, and pictures shown of what came out.
MOST_OFFERED, MOST_PICTURES = 6, 3
MADE_OF = ("surface__material", "technique", "palette__studio", "line__topcoat", "line__packaging")


def _pour(request: StudioRequest, number: int) -> Pour:
    rows = request.studio.pours.select_related(*MADE_OF, "entry__reversed_by", "studio")
    return get_object_or_404(rows.prefetch_related("layers"), number=number)


def plan_url(known: Again, palette: Palette | None = None) -> str:
    """Return the planner filled in with what a pour was, and the pour to be shown beside it."""
    return f"{reverse('planner')}?{_plan_query(known, palette or known.used)}"


def _plan_query(known: Again, palette: Palette) -> str:
    pour = known.pour
    fields: dict[str, Any] = {
        "size": pour.surface.size if pour.surface.archived_at else pour.surface.name,
        "technique": pour.technique.slug,
        "base": pour.base,
        "count": pour.count,
        "palette": "" if palette.archived_at else palette.pk,
        "topcoat": known.kit.pk if known.kit and not known.kit.archived_at else "",
        "again": pour.number,
    }
    return urlencode({name: value for name, value in fields.items() if value != ""})


def _pour_url(known: Again) -> str:
    """Return the form of a pour, filled in with the amounts that were mixed then."""
    amounts = {
        f"{one.layer.layer}_mixed": f"{one.layer.mixed_ml:f} mL"
        for one in known.layers
        if one.layer.mixed_ml
    }
    return f"{reverse('pour-new')}?{_plan_query(known, known.used)}&{urlencode(amounts)}"


def _like_url(known: Again, place: str, *args: int) -> str:
    """Return the form of a commission or a line, which starts from what a pour was."""
    fields: dict[str, Any] = {"like": known.pour.number}
    if known.used != known.pour.palette:
        fields["palette"] = known.used.pk
    return f"{reverse(place, args=args)}?{urlencode(fields)}"


def _product_url(known: Again) -> str:
    """Return the form of a product, filled in with what a pour was."""
    like = likeness(known.pour) | {"palette": known.used}
    fields = {name: getattr(like[name], "pk", like[name]) for name in PRODUCT_MADE_OF}
    return f"{reverse('product-new')}?{urlencode({n: v for n, v in fields.items() if v})}"


@require_safe
@member_page("viewer")
def pour_again(request: StudioRequest, number: int) -> HttpResponse:
    """Show a pour as it was beside what it would take now, and where to go on from it."""
    pour = _pour(request, number)
    known = again(pour)
    commissions = request.studio.commissions.filter(status__in=OPEN).select_related("customer")
    context = {
        "pour": pour,
        "known": known,
        "like": likeness(pour),
        "heat_hazards": heat_hazards(pour),
        "pictures": pour.pictures.all()[:MOST_PICTURES],
        "plan_url": plan_url(known),
        "plan_now_url": plan_url(known, pour.palette),
        "pour_url": _pour_url(known),
        "product_url": _product_url(known),
        "customer_url": _like_url(known, "commission-new"),
        "commissions": [
            (one, _like_url(known, "line-new", one.number)) for one in commissions[:MOST_OFFERED]
        ],
    }
    return render(request, "pricing/bench/again.html", context)


@require_POST
@member_page("maker")
def pour_old_mixes(request: StudioRequest, number: int) -> HttpResponse:
    """Write the mixes of a pour down again as they were, to pour from."""
    pour = _pour(request, number)
    here = reverse("pour-again", args=[number])
    return action(
        request,
        lambda: write_old_mixes(pour=pour, by=request.user),
        lambda palette: (f"{palette} has the mixes as they were.", here),
        back=here,
    )


def _go_on(request: StudioRequest, pour: Pour | None, sentence: str, back: str) -> HttpResponse:
    if pour is None:
        messages.info(request, sentence)
        return redirect(back)
    return redirect("pour-again", pour.number)


@require_safe
@member_page("viewer")
def set_again(request: StudioRequest, number: int) -> HttpResponse:
    """Go on to the pour that most pieces of a set came of."""
    row = get_object_or_404(request.studio.sets, number=number)
    return _go_on(
        request, pour_behind(row), "No pour is known of this set.", reverse("set", args=[number])
    )


@require_safe
@member_page("viewer")
def picture_again(request: StudioRequest, pk: int) -> HttpResponse:
    """Go on to the pour that a picture shows."""
    row = picture_or_404(request.studio, pk)
    return _go_on(
        request,
        pour_behind(row),
        "Nothing was poured yet for what this picture shows.",
        reverse("picture", args=[pk]),
    )


@require_safe
@member_page("viewer")
def product_again(request: StudioRequest, pk: int) -> HttpResponse:
    """Go on to the latest pour of a product; before the first one, to a plan of it."""
    rows = request.studio.products.select_related("surface", "technique")
    product: Product = get_object_or_404(rows, pk=pk)
    asked: dict[str, Any] = {
        "size": product.surface.name,
        "technique": product.technique.slug,
        "base": product.base,
        "count": product.pieces_each,
        "palette": product.palette_id,
        "topcoat": product.topcoat_id,
    }
    plan = urlencode({name: value for name, value in asked.items() if value})
    return _go_on(
        request,
        pour_behind(product),
        f"{product} was not poured yet. This is a plan of one.",
        f"{reverse('planner')}?{plan}",
    )


def then_beside(
    request: StudioRequest, asked: dict[str, Any], piece: PieceEstimate
) -> dict[str, object]:
    """Return for the planner what the pour named in its address took then."""
    number = number_in(request.GET.get("again", ""))
    rows = request.studio.pours.select_related(*MADE_OF, "studio")
    pour = rows.filter(number=number).first() if number else None
    return {"then": again(pour, piece)} if pour else {}


urlpatterns = [
    path("pours/<int:number>/again/", pour_again, name="pour-again"),
    path("pours/<int:number>/old-mixes/", pour_old_mixes, name="pour-old-mixes"),
    path("sets/<int:number>/again/", set_again, name="set-again"),
    path("pictures/<int:pk>/again/", picture_again, name="picture-again"),
    path("products/<int:pk>/again/", product_again, name="product-again"),
]
