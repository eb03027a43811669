"""What a studio works with: surfaces, techniques, palettes, kits, channels and customers."""

from collections.abc import Iterable
from functools import partial
from typing import Any

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import path, reverse
from django.views.decorators.http import require_safe

from pricing.costing.catalogue import save_palette
from pricing.costing.forms.catalogue import (
    PRODUCT_MADE_OF,
    ChannelForm,
    CustomerForm,
    PaletteColourFormSet,
    PaletteColours,
    PaletteForm,
    ProductForm,
    ResinKitForm,
)
from pricing.costing.forms.techniques import TechniqueForm
from pricing.costing.habits import habits_of
from pricing.costing.planned_price import ProductPrices
from pricing.costing.products import save_product
from pricing.estimating.fitting import doubts_of
from pricing.estimating.forms.surfaces import SurfaceForm
from pricing.estimating.resins import kit_on_hand
from pricing.estimating.step_materials import with_steps
from pricing.models import Palette, Product
from pricing.readiness.asking import gone_on_of
from studio.access import member_page
from studio.models import Studio
from studio.requests import StudioRequest
from studio.sight import PRICES
from studio.views.form_page import form_page
from studio.views.registers import Register


def _with_shelf(studio: Studio, rows: Iterable[Any]) -> None:
    """Put on each resin kit what is on the shelf of its two parts."""
    for row in rows:
        row.on_shelf = kit_on_hand(row)


def _with_habits(studio: Studio, rows: Iterable[Any]) -> None:
    """Put on each technique how the studio really works it."""
    habits = habits_of(studio)
    for row in rows:
        row.habit = habits[row.pk]


def _with_prices(studio: Studio, rows: list[Any]) -> None:
    """Put on each product what to ask for one, worked out when a page shows it."""
    prices = ProductPrices(studio, rows)
    for row in rows:
        row.priced = partial(prices.of, row)
        row.doubts = doubts_of(row.line())
        row.went_on = partial(gone_on_of, row)


def _save_product(request: StudioRequest, form: ProductForm) -> Product:
    reason = form.cleaned_data["reason"]
    return save_product(product=form.instance, by=request.user, reason=reason)


customers = Register(
    name="customer",
    plural="customers",
    title="Customers",
    lede="People who commission and buy.",
    form_class=CustomerForm,
    rows=lambda studio: studio.customers.filter(archived_at=None),
    row_template="pricing/costing/rows/_customer.html",
    icon="user",
    empty="People who commission and buy stand here, each with what they asked for and paid.",
)

channels = Register(
    name="channel",
    plural="channels",
    title="Where you sell",
    lede="Where you sell, and what each keeps of the price.",
    form_class=ChannelForm,
    rows=lambda studio: studio.channels.filter(archived_at=None),
    row_template="pricing/costing/rows/_channel.html",
    icon="wallet",
    empty="The ways you sell stand here, such as the studio door, a fair or an online market.",
    role="owner",
    sights=(PRICES,),
)

surfaces = Register(
    name="surface",
    plural="surfaces",
    title="Sizes",
    lede="The sizes you pour on, as measured. Sides count: small deep pieces are mostly sides.",
    form_class=SurfaceForm,
    rows=lambda studio: studio.surfaces.filter(archived_at=None).select_related(
        "material", "studio"
    ),
    row_template="pricing/costing/rows/_surface.html",
    icon="shapes",
    empty="The sizes you pour on stand here, and every plan, price and pour can choose among them.",
)

techniques = Register(
    name="technique",
    plural="techniques",
    title="Techniques",
    lede="How often each comes out well, and how long its steps take.",
    form_class=TechniqueForm,
    rows=lambda studio: studio.techniques.prefetch_related(with_steps("steps")),
    row_template="pricing/costing/rows/_technique.html",
    icon="blend",
    empty="Techniques come with the studio.",
    role="owner",
    can_add=False,
    form_template="pricing/costing/technique_form.html",
    prepare=_with_habits,
)

resin_kits = Register(
    name="resin-kit",
    plural="resin-kits",
    title="Resin kits",
    lede="Two-part topcoats, with what you read off their labels.",
    form_class=ResinKitForm,
    rows=lambda studio: studio.resin_kits.filter(archived_at=None).select_related(
        "resin", "hardener"
    ),
    row_template="pricing/costing/rows/_resin_kit.html",
    icon="test-tubes",
    form_template="pricing/costing/resin_kit_form.html",
    prepare=_with_shelf,
    empty="Two-part topcoats stand here, with what their labels state.",
)


products = Register(
    name="product",
    plural="products",
    title="Products",
    lede="What you make again and again, with what to ask for one made by itself.",
    form_class=ProductForm,
    rows=lambda studio: studio.products.filter(archived_at=None).select_related(
        "surface", "technique", "palette", "topcoat", "packaging"
    ),
    row_template="pricing/costing/rows/_product.html",
    icon="tag",
    form_template="pricing/costing/product_form.html",
    prepare=_with_prices,
    filled_in=PRODUCT_MADE_OF,
    save=_save_product,
    empty="What you make again and again stands here, with what to ask for it.",
)


@require_safe
@member_page("viewer")
def palettes(request: StudioRequest) -> HttpResponse:
    """List the palettes with their colours."""
    rows = request.studio.palettes.filter(archived_at=None).select_related("base", "activator")
    rows = rows.prefetch_related("colours__recipe__parts__material")
    return render(request, "pricing/costing/palettes.html", {"palettes": rows})


def _palette(request: StudioRequest, palette: Palette | None, title: str) -> HttpResponse:
    form = PaletteForm(request.POST or None, instance=palette, studio=request.studio)
    colours_now = palette.colours.all() if palette else []
    colours = PaletteColourFormSet(
        request.POST or None,
        prefix="colours",
        initial=[
            {"recipe": colour.recipe_id, "parts": colour.parts.normalize()}
            for colour in colours_now
        ],
        form_kwargs={"studio": request.studio},
    )
    assert isinstance(colours, PaletteColours)
    return form_page(
        request,
        form,
        template="pricing/costing/palette_form.html",
        is_valid=lambda: form.is_valid() and colours.is_valid(),
        title=title,
        act=lambda data: save_palette(
            studio=request.studio, palette=palette, colours=colours.rows(), **data
        ),
        done=lambda saved: (f"{saved} is saved.", reverse("palettes")),
        back=reverse("palettes"),
        colours=colours,
    )


@member_page("maker")
def palette_new(request: StudioRequest) -> HttpResponse:
    """Put a palette together."""
    return _palette(request, None, "New palette")


@member_page("maker")
def palette_edit(request: StudioRequest, pk: int) -> HttpResponse:
    """Change a palette; quotes already sent keep theirs."""
    palette = get_object_or_404(request.studio.palettes, pk=pk)
    return _palette(request, palette, f"Change {palette}")


urlpatterns = [
    *customers.urls("customers/"),
    *channels.urls("channels/"),
    *surfaces.urls("surfaces/"),
    *techniques.urls("techniques/"),
    *resin_kits.urls("resin-kits/"),
    *products.urls("products/"),
    path("palettes/", palettes, name="palettes"),
    path("palettes/new/", palette_new, name="palette-new"),
    path("palettes/<int:pk>/edit/", palette_edit, name="palette-edit"),
]
