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
from pricing.costing.asking import Asking, usual_channel
from pricing.costing.breakdown import Breakdown, SideBySide, asking_breakdown, side_by_side
from pricing.costing.material_prices import MaterialPrice, no_price
from pricing.costing.product_runs import Production, RunBasis
from pricing.costing.replacement import known_replacement_prices
from pricing.costing.worth import PriceBook
from pricing.errors import CatalogueError
from pricing.estimating.bases import base_problem
from pricing.estimating.fitting import finish_under
from pricing.estimating.step_materials import with_steps
from pricing.fitness import HOT, Doubt, doubts, words_of
from pricing.models import Palette, Product, ResinKit, SaleLine, SavedSurface, Technique
from studio.errors import StudioError
from studio.models import Studio
from studio.money import ZERO, minor_unit, to_payable
from studio.pdf import paper, render_pdf

MM_PER_INCH, TENTH = Decimal("25.4"), Decimal("0.1")
COLUMNS = (
    "Size",
    "Made together",
    "Square inches",
    "United inches",
    "Cost",
    "Price",
    "Profit",
    "Forecast profit",
    "Margin",
    "Markup",
    "By the square inch",
    "By the united inch",
    "Own price",
    "Heat and food",
    "Remark",
)


@dataclass(frozen=True)
class SizePrices:
    """One size: what a piece costs, and prices as the customer reads them, [currency].

    ``asked`` is worked out from the cost; ``by_area`` and ``by_united`` follow the rules; ``own``
    is what the studio took on average, or None. ``profit`` is what ``asked`` leaves when its
    materials are bought anew and ``forecast`` when they come off the shelf; ``margin`` and
    ``markup`` are the first as shares of the price before tax and of the cost, [-]. ``goes`` is
    where the money of ``asked`` goes. ``problem`` says why nothing is known.
    """

    surface: SavedSurface
    area_in2: Decimal
    united_in: Decimal
    cost: Decimal | None = None
    asked: Decimal | None = None
    profit: Decimal | None = None
    forecast: Decimal | None = None
    margin: Decimal | None = None
    markup: Decimal | None = None
    by_area: Decimal | None = None
    by_united: Decimal | None = None
    own: Decimal | None = None
    losing: tuple[str, ...] = ()
    problem: str = ""
    goes: Breakdown | None = None

    @property
    def remark(self) -> str:
        """What is wrong with it, in words."""
        if self.problem:
            return self.problem
        return f"Loses money {' and '.join(self.losing)}." if self.losing else ""


@dataclass(frozen=True)
class PriceList:
    """All sizes, smallest first; the rates of both rules, [currency/in2] and [currency/in].

    Prices are of one piece of ``together`` that are made in one session. ``guesses`` says what of
    success and minutes has no source yet. ``own_prices`` is how many of the studio's own prices the
    rules are fitted to; with none they are fitted to the prices worked out here.
    """

    technique: Technique
    base: str
    palette: Palette
    topcoat: ResinKit | None
    together: int
    rows: tuple[SizePrices, ...]
    area_rate: Decimal | None
    united_rate: Decimal | None
    own_prices: int
    guesses: tuple[str, ...] = ()

    @property
    def care(self) -> tuple[str, ...]:
        """What is said of heat and food to whoever buys by the list."""
        return words_of("", finish_under(self.topcoat))

    @property
    def doubts(self) -> tuple[Doubt, ...]:
        """Why what it lists is not fit for hot drinks, which a coaster not spoken of counts as."""
        return doubts(HOT, finish_under(self.topcoat))

    @property
    def poured_as(self) -> str:
        """Its technique, and the base it is poured over where that is told."""
        return self.technique.over(self.base)

    @property
    def beside(self) -> SideBySide | None:
        """Where the money of each price goes."""
        return side_by_side(
            [(row.surface.name, row.goes) for row in self.rows if row.goes],
            "Where the money of each price goes; the numbers are those of the table",
        )


def price_list(
    studio: Studio,
    technique: Technique,
    palette: Palette,
    topcoat: ResinKit | None = None,
    together: int = 1,
    base: str = "",
) -> PriceList:
    """Return the `PriceList` of one technique and palette, in a fixed number of queries.

    Parameters
    ----------
    studio : Studio
    technique : Technique
    palette : Palette
    topcoat : ResinKit, optional
    together : int
        How many of a size are made in one session, which shares its set-up, [-]
    base : str
        What it is poured over, where the technique is poured over more than one

    Raises
    ------
    CatalogueError
        If the technique is not poured over that base.
    """
    if problem := base_problem(technique, base):
        raise CatalogueError(problem)
    prefetch_related_objects([palette], "colours")
    prefetch_related_objects([technique], with_steps("steps"))
    basis = RunBasis(studio)
    productions: dict[SavedSurface, Production] = {}
    refused: dict[SavedSurface, str] = {}
    for surface in studio.surfaces.filter(archived_at=None).select_related("material"):
        product = Product(
            studio=studio,
            surface=surface,
            technique=technique,
            base=base,
            palette=palette,
            topcoat=topcoat,
        )
        production = Production(product, basis)
        try:
            production.needs(together)
        except StudioError as error:
            refused[surface] = str(error)
        else:
            productions[surface] = production
    costed = _prices(studio, productions, refused, together)
    own, channel = _own_prices(studio, technique), usual_channel(studio)
    shelf = PriceBook(studio, costed, anew=costed)
    rows, guesses = [], dict[str, None]()
    for surface, production in productions.items():
        if surface not in refused:
            asking = production.asking(costed, channel, together)
            forecast = production.forecast(asking, shelf)
            rows.append(_row(surface, asking, forecast, own.get(surface.pk)))
            guesses |= dict.fromkeys(asking.guesses)
    rows.sort(key=lambda row: (row.area_in2, row.surface.name))
    area_rate, united_rate, own_count = _rates(rows)
    if area_rate is not None and united_rate is not None:
        rows = [_ruled(studio, row, area_rate, united_rate) for row in rows]
    rows += [
        SizePrices(surface, *_measures(surface), problem=text) for surface, text in refused.items()
    ]
    return PriceList(
        technique,
        base,
        palette,
        topcoat,
        together,
        tuple(rows),
        area_rate,
        united_rate,
        own_count,
        tuple(guesses),
    )


def price_list_pdf(studio: Studio, listed: PriceList) -> bytes:
    """Return a price list for customers as the bytes of a PDF: sizes and prices, no cost."""
    context = {
        "studio": studio,
        "paper": paper(studio.locale),
        "found": listed,
        "rows": [row for row in listed.rows if row.asked is not None],
        "day": studio.today(),
    }
    return render_pdf("pricing/earnings/pdf/price_list.html", context)


def table_of(listed: PriceList) -> list[list[str | Decimal | None]]:
    """Return the rows of the list as cells under `COLUMNS`."""
    return [
        [
            row.surface.name,
            Decimal(listed.together),
            row.area_in2,
            row.united_in,
            row.cost,
            row.asked,
            row.profit,
            row.forecast,
            row.margin,
            row.markup,
            row.by_area,
            row.by_united,
            row.own,
            " ".join(listed.care),
            row.remark,
        ]
        for row in listed.rows
    ]


def _prices(
    studio: Studio,
    productions: Mapping[SavedSurface, Production],
    refused: dict[SavedSurface, str],
    together: int,
) -> dict[Material, MaterialPrice]:
    """Return what all materials cost; where one has no price, its sizes are refused by its name."""
    used = {material: None for one in productions.values() for material in one.needs(together)}
    costs, unknown = known_replacement_prices(studio, used)
    for surface, production in productions.items():
        if lacking := [material for material in unknown if material in production.needs(together)]:
            refused[surface] = no_price(lacking)
    return costs


def _measures(surface: SavedSurface) -> tuple[Decimal, Decimal]:
    """Return a size's face in square inches, and its width and height together in inches."""
    width, height = surface.width_mm / MM_PER_INCH, surface.height_mm / MM_PER_INCH
    return (width * height).quantize(TENTH), (width + height).quantize(TENTH)


def _row(
    surface: SavedSurface, asking: Asking, forecast: Decimal | None, own: Decimal | None
) -> SizePrices:
    return SizePrices(
        surface,
        *_measures(surface),
        cost=asking.cost_each,
        asked=asking.each,
        profit=asking.profit_each,
        forecast=None if forecast is None else forecast / asking.count,
        margin=asking.offer.margin,
        markup=asking.offer.markup,
        own=own,
        goes=asking_breakdown(asking),
    )


def _own_prices(studio: Studio, technique: Technique) -> dict[int, Decimal]:
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


def _rates(rows: Sequence[SizePrices]) -> tuple[Decimal | None, Decimal | None, int]:
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


def _ruled(studio: Studio, row: SizePrices, area_rate: Decimal, united_rate: Decimal) -> SizePrices:
    """Add to a size what the rules would ask, and which of its prices lose money."""
    by_area = to_payable(row.area_in2 * area_rate, studio.currency)
    by_united = to_payable(row.united_in * united_rate, studio.currency)
    price_by_rule = {
        "by the square inch": by_area,
        "by the united inch": by_united,
        "at your own price": row.own,
    }
    losing = tuple(
        words
        for words, displayed in price_by_rule.items()
        if displayed is not None and row.cost is not None and _net(studio, displayed) < row.cost
    )
    return replace(row, by_area=by_area, by_united=by_united, losing=losing)


def _net(studio: Studio, displayed: Decimal) -> Decimal:
    """Return what the studio keeps of a price as the customer reads it."""
    if not studio.tax_inclusive:
        return displayed
    return displayed - price.tax_inside(displayed, studio.tax_rate, minor_unit(studio.currency))
