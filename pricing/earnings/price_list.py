"""A price for each size the studio keeps, worked out from what it costs, beside makers' rules.

Paint does not grow with the area and set-up time does not grow at all, so a rule of so much an inch
is too dear for some sizes and loses money on others. The rules are fitted to the studio's own
prices, and where a price by rule, or the studio's own, is below the cost, that is marked.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal

from django.db.models import prefetch_related_objects

from inventory.models import Material
from pricing.costing.asking import Asking, usual_channel
from pricing.costing.breakdown import Breakdown, SideBySide, asking_breakdown, side_by_side
from pricing.costing.material_prices import MaterialPrice, no_price
from pricing.costing.product_runs import Production, RunBasis
from pricing.costing.replacement import known_replacement_prices
from pricing.costing.worth import PriceBook
from pricing.earnings.own_prices import (
    BY_AREA,
    BY_SIDES,
    OWN,
    InchRules,
    fitted,
    in_inches,
    losing,
    own_prices,
    own_rules,
)
from pricing.errors import CatalogueError
from pricing.estimating.bases import base_problem
from pricing.estimating.fitting import finish_under
from pricing.estimating.step_materials import with_steps
from pricing.fitness import HOT, Doubt, doubts, words_of
from pricing.models import Palette, Product, ResinKit, SavedSurface, Technique
from studio.errors import StudioError
from studio.models import Studio
from studio.pdf import paper, render_pdf

COLUMNS = (
    "Size",
    "Made in one go",
    "Square inches",
    "Width plus height, inches",
    "Cost",
    "Price",
    "Profit",
    "Forecast profit",
    "Margin",
    "Markup",
    "By the square inch",
    "By width plus height",
    "Own price",
    "Heat and food",
    "Remark",
)


@dataclass(frozen=True)
class SizePrices:
    """One size: what a piece costs, and prices as the customer reads them, [currency].

    ``asked`` is worked out from the cost; ``by_area`` and ``by_sides`` follow the rules; ``own``
    is what the studio took on average, or None. ``profit`` is what ``asked`` leaves when its
    materials are bought anew and ``forecast`` when they come off the shelf; ``margin`` and
    ``markup`` are the first as shares of the price before tax and of the cost, [-]. ``goes`` is
    where the money of ``asked`` goes. ``problem`` says why nothing is known.
    """

    surface: SavedSurface
    area_in2: Decimal
    sides_in: Decimal
    cost: Decimal | None = None
    asked: Decimal | None = None
    profit: Decimal | None = None
    forecast: Decimal | None = None
    margin: Decimal | None = None
    markup: Decimal | None = None
    by_area: Decimal | None = None
    by_sides: Decimal | None = None
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
    sides_rate: Decimal | None
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
    own, channel = own_prices(studio, technique), usual_channel(studio)
    shelf = PriceBook(studio, costed, anew=costed)
    rows, guesses = [], dict[str, None]()
    for surface, production in productions.items():
        if surface not in refused:
            asking = production.asking(costed, channel, together)
            forecast = production.forecast(asking, shelf)
            rows.append(_row(surface, asking, forecast, own.get(surface.pk)))
            guesses |= dict.fromkeys(asking.guesses)
    rows.sort(key=lambda row: (row.area_in2, row.surface.name))
    rules = own_rules({**dict.fromkeys(productions), **refused}, own) or fitted(
        (row.surface, row.asked) for row in rows if row.asked is not None
    )
    if rules:
        rows = [_ruled(studio, row, rules) for row in rows]
    rows += [
        SizePrices(surface, *in_inches(surface), problem=text) for surface, text in refused.items()
    ]
    return PriceList(
        technique,
        base,
        palette,
        topcoat,
        together,
        tuple(rows),
        rules.area_rate if rules else None,
        rules.sides_rate if rules else None,
        rules.own_count if rules else 0,
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
            row.sides_in,
            row.cost,
            row.asked,
            row.profit,
            row.forecast,
            row.margin,
            row.markup,
            row.by_area,
            row.by_sides,
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


def _row(
    surface: SavedSurface, asking: Asking, forecast: Decimal | None, own: Decimal | None
) -> SizePrices:
    return SizePrices(
        surface,
        *in_inches(surface),
        cost=asking.cost_each,
        asked=asking.each,
        profit=asking.profit_each,
        forecast=None if forecast is None else forecast / asking.count,
        margin=asking.offer.margin,
        markup=asking.offer.markup,
        own=own,
        goes=asking_breakdown(asking),
    )


def _ruled(studio: Studio, row: SizePrices, rules: InchRules) -> SizePrices:
    """Add to a size what the rules would ask, and which of its prices lose money."""
    by_rule = rules.prices(row.surface, studio.currency)
    return replace(
        row,
        by_area=by_rule[BY_AREA],
        by_sides=by_rule[BY_SIDES],
        losing=() if row.cost is None else losing(studio, {**by_rule, OWN: row.own}, row.cost),
    )
