"""The asking price with its forecast, beside a plan and on products: for as many as are named."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property
from typing import Any

from django.db.models import prefetch_related_objects

from pricing.costing.asking import Asking, ask, usual_channel
from pricing.costing.breakdown import Breakdown, asking_breakdown
from pricing.costing.material_prices import no_price
from pricing.costing.product_runs import Production, RunBasis
from pricing.costing.replacement import known_replacement_prices, replacement_prices
from pricing.costing.shelf_costs import forecast_profit
from pricing.costing.worth import PriceBook
from pricing.estimating.answers import LineEstimate, PieceEstimate
from pricing.estimating.layers import Need, add_needs
from pricing.estimating.planning import plan_of
from pricing.estimating.step_materials import all_steps, needs_of_steps, with_steps
from pricing.models import CommissionLine, Palette, Product, ResinKit, SavedSurface, Technique
from studio.errors import Refused, StudioError
from studio.models import Studio
from studio.requests import StudioRequest
from studio.sight import PRICES


@dataclass(frozen=True)
class Priced:
    """What to ask for so many made in one go, and the profit forecast of all of them, [currency].

    ``forecast`` is None where something of it has no price on the shelf; ``without_surface`` tells
    that what they are poured on is not in the price.
    """

    asking: Asking
    forecast: Decimal | None
    without_surface: bool = False

    @property
    def goes(self) -> Breakdown:
        """Where the money of the price of one goes."""
        return asking_breakdown(self.asking)

    @property
    def forecast_each(self) -> Decimal | None:
        """What one is forecast to leave, [currency]."""
        return None if self.forecast is None else self.forecast / self.asking.count


def price_of_plan(
    studio: Studio,
    piece: PieceEstimate,
    *,
    technique: Technique,
    palette: Palette,
    topcoat: ResinKit | None = None,
    kept: SavedSurface | None = None,
) -> Priced:
    """Return what to ask for the pieces of a plan, made and sold together.

    A size that the studio does not keep has no canvas or tile of its own, and is priced without.

    Raises `NoPriceKnown`, or `Refused` when margin and fees leave nothing.
    """
    line = CommissionLine(
        surface=kept,
        technique=technique,
        base=piece.base,
        palette=palette,
        topcoat=topcoat,
        quantity=piece.count,
        pieces_each=1,
    )
    material = kept.material if kept else None
    surface = add_needs({material: Need(*[Decimal(piece.count)] * 3)}) if material else {}
    used = all_steps().filter(technique=technique)
    steps = needs_of_steps(used, piece.surface, piece.count, coated=topcoat is not None)
    estimate = LineEstimate(line, piece, surface, {}, steps)
    asking = ask(studio, [estimate], replacement_prices(studio, estimate.needs))
    return Priced(asking, forecast_profit(studio, [estimate], asking), material is None)


def planned_price(
    request: StudioRequest, data: dict[str, Any], plan: PieceEstimate
) -> dict[str, object]:
    """Return what a plan is priced at, and one of it alone, for those who may see prices.

    ``data`` is what the planner's form asked for; without any palette there is no price. As many
    pieces as the studio sells together are priced as that set, as a quote for them is.
    """
    if data["palette"] is None or not request.membership.sees(PRICES):
        return {}
    sold = as_sold(request.studio, data)
    try:
        if sold:
            sets = plan.count // sold.pieces_each
            priced = price_of_product(sold, sets)
            alone = price_of_product(sold) if sets > 1 else None
        else:
            priced, alone = _of_pieces(request.studio, data, plan)
    except StudioError as error:
        return {"no_price": str(error)}
    return {"priced": priced, "alone": alone, "sold": sold}


def _of_pieces(
    studio: Studio, data: dict[str, Any], plan: PieceEstimate
) -> tuple[Priced, Priced | None]:
    chosen = {name: data[name] for name in ("technique", "palette", "topcoat", "kept")}
    one = plan_of(studio, data | {"count": 1}) if plan.count > 1 else None
    alone = price_of_plan(studio, one, **chosen) if one else None
    return price_of_plan(studio, plan, **chosen), alone


def as_sold(studio: Studio, planned: dict[str, Any]) -> Product | None:
    """Return the product that planned pieces are whole sets of, so that its box is in the price.

    ``planned`` says size, technique, base, palette, resin and how many, as the planner's form does;
    None where the studio sells none such.
    """
    if planned["kept"] is None or planned["palette"] is None:
        return None
    same = {name: planned[name] for name in ("technique", "base", "palette", "topcoat")}
    products = studio.products.filter(archived_at=None, surface=planned["kept"], **same)
    rows = products.select_related("packaging").order_by("pk")
    return next((one for one in rows if not planned["count"] % one.pieces_each), None)


class ProductPrices:
    """What to ask for so many of each of some products, made in one go.

    It is worked out when the first is asked for, in a number of queries that does not grow with
    them, so that nobody waits for what is not shown.
    """

    def __init__(self, studio: Studio, products: Sequence[Product], count: int = 1) -> None:
        self.studio, self.products, self.count = studio, products, count

    def of(self, product: Product) -> Priced | str:
        """Return the price of a product, or why it has none."""
        return self._by_key[product.pk]

    @cached_property
    def _by_key(self) -> dict[int, Priced | str]:
        prefetch_related_objects(
            self.products,
            *("surface__material", with_steps(), "palette__studio", "palette__colours"),
            *("topcoat__resin", "topcoat__hardener", "packaging"),
        )
        basis, channel = RunBasis(self.studio), usual_channel(self.studio)
        found: dict[int, Priced | str] = {}
        able: dict[int, Production] = {}
        for product in self.products:
            production = Production(product, basis)
            try:
                production.estimate(self.count)
            except StudioError as error:
                found[product.pk] = str(error)
            else:
                able[product.pk] = production
        used = {key: None for one in able.values() for key in one.estimate(self.count).needs}
        anew, unknown = known_replacement_prices(self.studio, used)
        shelf = PriceBook(self.studio, used, anew=anew)
        for key, production in able.items():
            needs = production.estimate(self.count).needs
            if lacking := [material for material in unknown if material in needs]:
                found[key] = no_price(lacking)
                continue
            try:
                asking = production.asking(anew, channel, self.count)
            except StudioError as error:
                found[key] = str(error)
            else:
                found[key] = Priced(asking, production.forecast(asking, shelf))
        return found


def price_of_product(product: Product, count: int = 1) -> Priced:
    """Return what to ask for so many of a product, or raise `Refused` saying why there is none."""
    priced = ProductPrices(product.studio, [product], count).of(product)
    if isinstance(priced, str):
        raise Refused(priced)
    return priced
