"""A price for each size the studio keeps, worked out from what it costs, beside makers' rules.

Paint does not grow with the area and set-up time does not grow at all, so a rule of so much an inch
is too dear for some sizes and loses money on others. The rules are fitted to the studio's own
prices, and where a price by rule, or the studio's own, is below the cost, that is marked.
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from django.db.models import Count, Min, prefetch_related_objects

from inventory.models import Material
from pricing.costing import price
from pricing.costing.product_runs import Bench, Making
from pricing.costing.worth import MaterialPrice, no_price, prices_known
from pricing.models import Palette, Product, ResinKit, SaleLine, SavedSurface, Technique
from studio.errors import StudioError, in_words
from studio.models import Studio
from studio.money import ZERO, minor_unit, to_payable
from studio.pdf import paper, render_pdf

MM_PER_INCH, TENTH = Decimal("25.4"), Decimal("0.1")
COLUMNS = (
    "Size",
    "Square inches",
    "United inches",
    "Cost",
    "Price",
    "Profit",
    "By the square inch",
    "By the united inch",
    "Own price",
    "Remark",
)


@dataclass(frozen=True)
class Sized:
    """One size: what a piece costs, and prices as the customer reads them, [currency].

    ``asked`` is worked out from the cost; ``by_area`` and ``by_united`` follow the rules; ``own``
    is what the studio took on average, or None. ``profit`` is what ``asked`` leaves. ``problem``
    says why nothing is known.
    """

    surface: SavedSurface
    area_in2: Decimal
    united_in: Decimal
    cost: Decimal | None = None
    asked: Decimal | None = None
    profit: Decimal | None = None
    by_area: Decimal | None = None
    by_united: Decimal | None = None
    own: Decimal | None = None
    losing: tuple[str, ...] = ()
    problem: str = ""

    @property
    def remark(self) -> str:
        """What is wrong with it, in words."""
        if self.problem:
            return self.problem
        return f"Loses money {' and '.join(self.losing)}." if self.losing else ""


@dataclass(frozen=True)
class PriceList:
    """All sizes, smallest first; the rates of both rules, [currency/in2] and [currency/in].

    ``own_prices`` is how many of the studio's own prices the rules are fitted to; with none they
    are fitted to the prices worked out here.
    """

    technique: Technique
    palette: Palette
    topcoat: ResinKit | None
    together: int
    rows: tuple[Sized, ...]
    area_rate: Decimal | None
    united_rate: Decimal | None
    own_prices: int


def price_list(
    studio: Studio,
    technique: Technique,
    palette: Palette,
    topcoat: ResinKit | None = None,
    together: int = 1,
) -> PriceList:
    """Work out the `PriceList` of one technique and palette, in a fixed number of queries.

    Parameters
    ----------
    studio : Studio
    technique : Technique
    palette : Palette
    topcoat : ResinKit, optional
    together : int
        How many of a size are made in one session, which shares its set-up, [-]
    """
    prefetch_related_objects([palette], "colours")
    bench = Bench(studio)
    makings: dict[SavedSurface, Making] = {}
    refused: dict[SavedSurface, str] = {}
    for surface in studio.surfaces.filter(archived_at=None).select_related("material"):
        product = Product(
            studio=studio,
            surface=surface,
            technique=technique,
            palette=palette,
            topcoat=topcoat,
            pieces_each=together,
        )
        making = Making(product, bench)
        try:
            making.needs(1)
        except StudioError as error:
            refused[surface] = str(error)
        else:
            makings[surface] = making
    costed = _prices(studio, makings, refused)
    own = _own_prices(studio, technique)
    rows = [
        _row(studio, surface, making.cost(costed).total / together, own.get(surface.pk))
        for surface, making in makings.items()
        if surface not in refused
    ]
    rows.sort(key=lambda row: (row.area_in2, row.surface.name))
    area_rate, united_rate, counted = _rates(rows)
    if area_rate is not None and united_rate is not None:
        rows = [_ruled(studio, row, area_rate, united_rate) for row in rows]
    rows += [Sized(surface, *_measures(surface), problem=text) for surface, text in refused.items()]
    return PriceList(
        technique, palette, topcoat, together, tuple(rows), area_rate, united_rate, counted
    )


def price_list_pdf(studio: Studio, found: PriceList) -> bytes:
    """Return a price list for customers as the bytes of a PDF: sizes and prices, no cost."""
    context = {
        "studio": studio,
        "paper": paper(studio.locale),
        "found": found,
        "rows": [row for row in found.rows if row.asked is not None],
        "day": studio.today(),
    }
    return render_pdf("pricing/earnings/pdf/price_list.html", context)


def table_of(found: PriceList) -> list[list[str | Decimal | None]]:
    """Return the rows of the list as cells under `COLUMNS`."""
    return [
        [
            row.surface.name,
            row.area_in2,
            row.united_in,
            row.cost,
            row.asked,
            row.profit,
            row.by_area,
            row.by_united,
            row.own,
            row.remark,
        ]
        for row in found.rows
    ]


def _prices(
    studio: Studio, makings: Mapping[SavedSurface, Making], refused: dict[SavedSurface, str]
) -> dict[Material, MaterialPrice]:
    """Return what all materials cost; where one has no price, its sizes are refused by its name."""
    needs: dict[Material, Decimal] = {}
    for making in makings.values():
        for material, need in making.needs(1).items():
            needs[material] = max(need.median, needs.get(material, ZERO))
    found, unknown = prices_known(studio, needs)
    for surface, making in makings.items():
        if lacking := [material for material in unknown if material in making.needs(1)]:
            refused[surface] = no_price(lacking)
    return found


def _measures(surface: SavedSurface) -> tuple[Decimal, Decimal]:
    """Return a size's face in square inches, and its width and height together in inches."""
    width, height = surface.width_mm / MM_PER_INCH, surface.height_mm / MM_PER_INCH
    return (width * height).quantize(TENTH), (width + height).quantize(TENTH)


def _row(studio: Studio, surface: SavedSurface, cost: Decimal, own: Decimal | None) -> Sized:
    with in_words(price.PriceError):
        found = price.price(
            cost,
            margin=studio.margin,
            tax_rate=studio.tax_rate,
            tax_inclusive=studio.tax_inclusive,
            rounding_step=studio.rounding_step,
            minor_unit=minor_unit(studio.currency),
            minimum_charge=studio.minimum_charge,
        )
    return Sized(
        surface,
        *_measures(surface),
        cost=cost,
        asked=found.gross if studio.tax_inclusive else found.net,
        profit=found.profit,
        own=own,
    )


def _own_prices(studio: Studio, technique: Technique) -> dict[int, Decimal]:
    """Return {surface: the mean price of one piece, as the customer reads it}, of what the studio
    asks for its products and took for its sets in this technique."""
    found: defaultdict[int, list[Decimal]] = defaultdict(list)
    products = studio.products.filter(archived_at=None, technique=technique, price__isnull=False)
    for surface, asked, pieces in products.values_list("surface", "price", "pieces_each"):
        if asked is not None:
            found[surface].append(asked / pieces)
    sold = SaleLine.objects.filter(sale__studio=studio, is_live=True).annotate(
        pieces=Count("piece_set__pieces"),
        sizes=Count("piece_set__pieces__pour__surface", distinct=True),
        surface=Min("piece_set__pieces__pour__surface"),
    )
    sold = sold.filter(sizes=1, piece_set__pieces__pour__technique=technique)
    for surface, asked, pieces, rate in sold.values_list(
        "surface", "price", "pieces", "sale__tax_rate"
    ):
        shown = asked if studio.tax_inclusive else asked / (1 + rate)
        found[surface].append(shown / pieces)
    return {
        surface: to_payable(sum(some, ZERO) / len(some), studio.currency)
        for surface, some in found.items()
    }


def _rates(rows: Sequence[Sized]) -> tuple[Decimal | None, Decimal | None, int]:
    """Return the rates of both rules and how many own prices they rest on."""
    own = [(row, row.own) for row in rows if row.own is not None]
    fitted = own or [(row, row.asked) for row in rows if row.asked is not None]
    if not fitted:
        return None, None, 0
    return (
        price.fitted_rate([(row.area_in2, paid) for row, paid in fitted]),
        price.fitted_rate([(row.united_in, paid) for row, paid in fitted]),
        len(own),
    )


def _ruled(studio: Studio, row: Sized, area_rate: Decimal, united_rate: Decimal) -> Sized:
    """Add to a size what the rules would ask, and which of its prices lose money."""
    by_area = to_payable(row.area_in2 * area_rate, studio.currency)
    by_united = to_payable(row.united_in * united_rate, studio.currency)
    asked = {
        "by the square inch": by_area,
        "by the united inch": by_united,
        "at your own price": row.own,
    }
    losing = tuple(
        words
        for words, shown in asked.items()
        if shown is not None and row.cost is not None and _net(studio, shown) < row.cost
    )
    return replace(row, by_area=by_area, by_united=by_united, losing=losing)


def _net(studio: Studio, shown: Decimal) -> Decimal:
    """Return what the studio keeps of a price as the customer reads it."""
    if not studio.tax_inclusive:
        return shown
    return shown - price.tax_inside(shown, studio.tax_rate, minor_unit(studio.currency))
