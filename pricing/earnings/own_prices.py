"""What the studio itself asks for a size, and the rules by the inch that its prices follow.

They stand beside the price that is worked out, on the price list and beside a plan.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db.models import Count, Min

from pricing.costing import price
from pricing.costing.planned_price import Priced, planned_price
from pricing.estimating.answers import PieceEstimate
from pricing.models import SaleLine, SavedSurface, Technique
from studio.models import Studio
from studio.money import ZERO, minor_unit, to_payable
from studio.requests import StudioRequest

MM_PER_INCH, TENTH = Decimal("25.4"), Decimal("0.1")
BY_AREA, BY_SIDES, OWN = "by the square inch", "by width plus height", "at your own price"


@dataclass(frozen=True)
class InchRules:
    """So much a square inch of the face, and so much an inch of width plus height.

    [currency/in2] and [currency/in]; ``own_count`` is how many of the studio's own prices they are
    fitted to, [-].
    """

    area_rate: Decimal
    sides_rate: Decimal
    own_count: int = 0

    def prices(self, surface: SavedSurface, currency: str) -> dict[str, Decimal]:
        """Return {rule in words: what it asks for a size, as the customer reads it}."""
        area, sides = in_inches(surface)
        return {
            BY_AREA: to_payable(area * self.area_rate, currency),
            BY_SIDES: to_payable(sides * self.sides_rate, currency),
        }


def in_inches(surface: SavedSurface) -> tuple[Decimal, Decimal]:
    """Return a size's face in square inches, and its width plus height in inches."""
    width, height = surface.width_mm / MM_PER_INCH, surface.height_mm / MM_PER_INCH
    return (width * height).quantize(TENTH), (width + height).quantize(TENTH)


def fitted(prices: Iterable[tuple[SavedSurface, Decimal]], own_count: int = 0) -> InchRules | None:
    """Return the rules that lie nearest to some sizes' prices; None without a price."""
    pairs = [(*in_inches(surface), paid) for surface, paid in prices]
    if not pairs:
        return None
    return InchRules(
        price.fitted_rate([(area, paid) for area, _, paid in pairs]),
        price.fitted_rate([(sides, paid) for _, sides, paid in pairs]),
        own_count,
    )


def own_rules(surfaces: Iterable[SavedSurface], own: Mapping[int, Decimal]) -> InchRules | None:
    """Return the rules that the studio's own prices of some sizes follow; None without a price."""
    priced = [(surface, own[surface.pk]) for surface in surfaces if surface.pk in own]
    return fitted(priced, len(priced))


def own_prices(studio: Studio, technique: Technique) -> dict[int, Decimal]:
    """Return {surface: the mean price of one piece, as the customer reads it}, of what the studio
    asks for its products and took for its sets in this technique."""
    prices: defaultdict[int, list[Decimal]] = defaultdict(list)
    products = studio.products.filter(archived_at=None, technique=technique, price__isnull=False)
    for surface, price_asked, pieces in products.values_list("surface", "price", "pieces_each"):
        if price_asked is not None:
            prices[surface].append(price_asked / pieces)
    sold = SaleLine.objects.filter(
        sale__studio=studio, sale__currency=studio.currency, is_live=True
    ).annotate(
        pieces=Count("piece_set__pieces"),
        sizes=Count("piece_set__pieces__pour__surface", distinct=True),
        surface=Min("piece_set__pieces__pour__surface"),
    )
    sold = sold.filter(sizes=1, piece_set__pieces__pour__technique=technique)
    for surface, price_asked, pieces, rate in sold.values_list(
        "surface", "price", "pieces", "sale__tax_rate"
    ):
        displayed = price_asked if studio.tax_inclusive else price_asked / (1 + rate)
        prices[surface].append(displayed / pieces)
    return {
        surface: to_payable(sum(some, ZERO) / len(some), studio.currency)
        for surface, some in prices.items()
    }


def losing(studio: Studio, prices: Mapping[str, Decimal | None], cost: Decimal) -> tuple[str, ...]:
    """Return the names of the prices that leave the studio less than a piece costs, [currency]."""
    return tuple(
        words
        for words, displayed in prices.items()
        if displayed is not None and _net(studio, displayed) < cost
    )


def _net(studio: Studio, displayed: Decimal) -> Decimal:
    """Return what the studio keeps of a price as the customer reads it."""
    if not studio.tax_inclusive:
        return displayed
    return displayed - price.tax_inside(displayed, studio.tax_rate, minor_unit(studio.currency))


@dataclass(frozen=True)
class Beside:
    """What the studio's own prices say of a size that is planned, [currency].

    ``own`` is what one of it is sold for, None for one that never was; ``by_rule`` what each rule
    asks; ``above`` names those that ask more than was worked out, ``losing`` those below the cost.
    """

    own: Decimal | None
    by_rule: Mapping[str, Decimal]
    above: tuple[str, ...]
    losing: tuple[str, ...]


def planned_price_beside(
    request: StudioRequest, asked: dict[str, Any], piece: PieceEstimate
) -> dict[str, object]:
    """Return for the planner what to ask, beside the studio's own price and rules by the inch."""
    found = planned_price(request, asked, piece)
    priced = found.get("priced")
    if not isinstance(priced, Priced):
        return found
    return found | {"beside": _beside(request.studio, asked, priced)}


def _beside(studio: Studio, asked: dict[str, Any], priced: Priced) -> Beside | None:
    own, surface = own_prices(studio, asked["technique"]), asked["surface"]
    pieces = asked["count"]  # of which several may be sold as a set
    each = priced.asking.total / pieces
    rules = own_rules(studio.surfaces.filter(archived_at=None), own)
    if rules is None:
        return None
    by_rule = rules.prices(surface, studio.currency)
    all_prices = {OWN: own.get(surface.pk), **by_rule}
    return Beside(
        own=own.get(surface.pk),
        by_rule=by_rule,
        above=tuple(words for words, one in all_prices.items() if one and one > each),
        losing=losing(studio, all_prices, priced.asking.cost / pieces),
    )
