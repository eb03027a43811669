"""Products made in runs: the materials and minutes that so many of one take, and what they earn.

A run is poured in one go. Of the pieces poured only the technique's share comes out well, so more
are poured than are wanted, each on a surface of its own; resin and boxes go to the good ones. What
is laid ready is for whole pieces; what one costs in the long run is an expectation, and counts the
spare pieces by their share.
"""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal
from functools import cached_property

from django.db.models import QuerySet

from inventory.mixing.mix_book import MixBook, mix_book
from inventory.models import Material
from pricing.costing import output, price
from pricing.costing.asking import Asking, Via, ask
from pricing.costing.costs import LineCost, line_costs, minutes_of, sessions_of, taken_again
from pricing.costing.habits import Habit, habits_of
from pricing.costing.material_prices import MaterialPrice
from pricing.costing.shelf_costs import forecast_profit
from pricing.costing.worth import PriceBook
from pricing.estimating.answers import LineEstimate, PieceEstimate
from pricing.estimating.enough import mixing_rules, needed_paint
from pricing.estimating.layers import (
    LayerEstimate,
    Need,
    add_needs,
    line_of,
    paint_layers,
    spent,
    whole_items,
)
from pricing.estimating.learning import Hand, hand_of
from pricing.estimating.making import Making
from pricing.estimating.mixes import fresh_mixes
from pricing.estimating.mixing import Spent
from pricing.estimating.resins import Topcoat, topcoat_layer
from pricing.estimating.sessions import session_mix
from pricing.estimating.sizes import geometry
from pricing.estimating.step_materials import needs_of_steps, with_steps
from pricing.models import Channel, Palette, Product
from studio.models import Studio
from studio.money import ZERO, minor_unit
from studio.units import QUANTITY_PLACES

MINUTE_PLACES = Decimal("0.01")
MANY_ML = Decimal(1_000_000)
MOST_PIECES = 500  # in one go, as in a plan


class RunBasis:
    """Hand, habits and mixes behind a studio's runs, each loaded when it is first needed."""

    def __init__(self, studio: Studio) -> None:
        self.studio = studio
        self._shares: dict[int, dict[Material, Decimal]] = {}

    @cached_property
    def hand(self) -> Hand:
        return hand_of(self.studio)

    @cached_property
    def habits(self) -> dict[int, Habit]:
        return habits_of(self.studio)

    @cached_property
    def mixes(self) -> MixBook:
        return mix_book(self.studio)

    def making(self, product: Product, count: int) -> Making:
        """Return how so many pieces of a product are made."""
        slug, kit, surface = product.technique.slug, product.topcoat, geometry(product.surface)
        return Making(
            self.studio,
            self.hand.estimator,
            surface,
            line_of(surface, slug, count, product.base),
            mixing_rules(self.studio, self.hand, slug),
            product.palette,
            self.mixes,
            Topcoat(kit, kit.film_mm) if kit else None,
        )

    def volumes(self, product: Product, count: int) -> Iterator[tuple[str, Decimal, Spent]]:
        """Yield (layer, what to mix of it [mL], where that goes) for so many pieces of a product.

        Without the palette's mixes: what they hold is worked out once, see `shares`, and not a
        hundred times over.
        """
        making = self.making(product, count)
        rules, palette = making.rules, product.palette
        for one in needed_paint(making.estimator, making.line, rules, palette).layers:
            mixed_ml = session_mix(
                one.layer, [one.needed_ml], rules.measures, palette, one.least_ml
            ).volume_ml
            yield one.layer, mixed_ml, spent(one.forecast, mixed_ml, rules)

    def shares(self, recipe_id: int) -> dict[Material, Decimal]:
        """Return {material: how much of it is in a mL of a recipe}, in its own unit."""
        if recipe_id not in self._shares:
            amounts = self.mixes.materials_in(recipe_id, MANY_ML)
            self._shares[recipe_id] = {key: amount / MANY_ML for key, amount in amounts.items()}
        return self._shares[recipe_id]

    def materials_in(
        self, palette: Palette, layer: str, volume_ml: Decimal
    ) -> dict[Material, Decimal]:
        """Return {material: quantity} in a volume of a layer, each colour at its share."""
        amounts: defaultdict[Material, Decimal] = defaultdict(Decimal)
        for recipe_id, ml in fresh_mixes(palette, layer, volume_ml, {}):
            for material, share in self.shares(recipe_id).items():
                amounts[material] += share * ml
        return {key: _places(amount) for key, amount in amounts.items()}

    def resin(self, product: Product, count: int) -> tuple[LayerEstimate, ...]:
        """Return the topcoat of so many pieces of a product, as no or one layer."""
        kit = product.topcoat
        if kit is None:
            return ()
        surface = geometry(product.surface)
        return (topcoat_layer(self.studio, surface, count, Topcoat(kit, kit.film_mm))[0],)


@dataclass(frozen=True)
class Earnings:
    """What the sale of one of a product brings, [currency].

    ``price`` is what the customer reads and ``proceeds`` what is left of it after tax and fees.
    """

    price: Decimal
    proceeds: Decimal


class Production:
    """One product as one studio makes it; every run is worked out once."""

    def __init__(self, product: Product, basis: RunBasis) -> None:
        self.product, self.basis = product, basis
        self._needs: dict[int, dict[Material, Need]] = {}
        self._estimates: dict[int, LineEstimate] = {}

    @property
    def habit(self) -> Habit:
        """How the studio works this technique."""
        return self.basis.habits[self.product.technique_id]

    @property
    def most(self) -> int:
        """How many can be made in one go, [-]."""
        return int(MOST_PIECES * self.success_rate) // self.product.pieces_each

    @property
    def success_rate(self) -> Decimal:
        """Share of poured pieces that are fit to sell, [-]."""
        return self.habit.success_rate(coated=self.product.topcoat is not None)

    def pieces_to_pour(self, count: int) -> int:
        """Return how many pieces are poured to have so many products, [-]."""
        pieces = count * self.product.pieces_each / self.success_rate
        return int(pieces.to_integral_value(ROUND_CEILING))

    def pieces_to_coat(self, count: int) -> int:
        """Return how many pieces are coated to have so many products with a topcoat, [-]."""
        pieces = count * self.product.pieces_each / self.habit.coat_success
        return int(pieces.to_integral_value(ROUND_CEILING))

    def needs(self, count: int) -> dict[Material, Need]:
        """Return {material: Need} of so many."""
        if count not in self._needs:
            product, poured = self.product, self.pieces_to_pour(count)
            resin = self.basis.resin(product, self.pieces_to_coat(count))
            self._needs[count] = add_needs(
                *self._paint(poured),
                *(layer.materials for layer in resin),
                whole_items(product.surface.material, poured),
                whole_items(product.packaging, count),
                *self._steps(count).values(),
            )
        return self._needs[count]

    def _steps(self, count: int) -> dict[str, dict[Material, Need]]:
        """Return what the other steps use for so many, each for the pieces that it is done with."""
        product, coated = self.product, self.product.topcoat is not None
        pieces_by_act = {
            "pour": self.pieces_to_pour(count),
            "coat": self.pieces_to_coat(count),
            "pack": count * product.pieces_each,
        }
        steps, surface = product.technique.steps.all(), geometry(product.surface)
        return {
            act: needs_of_steps(steps, surface, pieces, coated=coated).get(act, {})
            for act, pieces in pieces_by_act.items()
        }

    def average_use(self, count: int) -> dict[Material, Decimal]:
        """Return {material: quantity} that so many take on average, over many of them.

        What failed is made again by itself, and counts as often as it fails.
        """
        estimate, sessions = self.estimate(count), sessions_of(self.product.line(count), self.habit)
        quantities = taken_again(estimate, sessions)
        for material, need in estimate.needs.items():
            quantities[material] = quantities.get(material, ZERO) + need.used
        return quantities

    def _paint(self, poured: int) -> Iterator[dict[Material, Need]]:
        """Yield {material: Need} of each layer of paint, over all pieces poured together."""
        palette = self.product.palette
        for layer, mixed_ml, goes in self.basis.volumes(self.product, poured):
            to_mix = self.basis.materials_in(palette, layer, mixed_ml)
            used = {key: _places(amount * goes.used / goes.mixed) for key, amount in to_mix.items()}
            yield {key: Need(used[key], used[key], amount) for key, amount in to_mix.items()}

    def stock_needed(self, count: int) -> dict[int, Decimal]:
        """Return {material key: what to have at hand} for so many, less what is always there."""
        needs = self.needs(count)
        return {material.pk: need.to_mix for material, need in needs.items() if material.is_stocked}

    def minutes(self, count: int) -> Decimal:
        """Return the hands-on minutes of so many, [min]."""
        minutes = minutes_of(self.product.line(count), self.habit)
        return minutes.quantize(MINUTE_PLACES, ROUND_HALF_UP)

    def earnings(
        self, prices: Mapping[Material, MaterialPrice], channel: Channel | None
    ) -> Earnings:
        """Return what one brings when it is sold through a channel, at its own or the asking price.

        ``prices`` is {material: MaterialPrice}, what each costs to replace.
        """
        studio = self.basis.studio
        if self.product.price is None:
            asking = self.asking(prices, channel)
            return Earnings(asking.each, asking.offer.net - asking.offer.fees)
        share = channel.percent_fee if channel else ZERO
        fixed = channel.fixed_fee + channel.listing_fee if channel else ZERO
        tag, minor = self.product.price, minor_unit(studio.currency)
        if studio.tax_inclusive:
            gross, net = tag, tag - price.tax_inside(tag, studio.tax_rate, minor)
        else:
            gross, net = tag + (tag * studio.tax_rate).quantize(minor, ROUND_HALF_UP), tag
        return Earnings(tag, net - (gross * share + fixed))

    def run(
        self, count: int, earnings: Earnings, prices: Mapping[Material, MaterialPrice]
    ) -> output.Run:
        """Return the run of so many as the arithmetic takes it."""
        materials = sum(
            (prices[material].cost(need.used) for material, need in self.needs(count).items()),
            ZERO,
        )
        return output.Run(
            count=count,
            needs=self.stock_needed(count),
            minutes=self.minutes(count),
            earned=count * earnings.proceeds - materials,
        )

    def estimate(self, count: int = 1) -> LineEstimate:
        """Return what so many take when they are made in one go, as a line of a commission does."""
        if count not in self._estimates:
            self._estimates[count] = self._estimate(count)
        return self._estimates[count]

    def _estimate(self, count: int) -> LineEstimate:
        product, line = self.product, self.product.line(count)
        making = self.basis.making(product, line.pieces)
        needed = needed_paint(making.estimator, making.line, making.rules, making.palette)
        paint = paint_layers(needed, making.rules, making.palette, making.book)
        piece = PieceEstimate(
            making.surface,
            making.line.technique,
            line.pieces,
            paint + self.basis.resin(product, line.pieces),
            keeping=making.rules.keeping,
            total=needed.in_measures(self.basis.studio.measures),
            making=making,
        )
        surface = whole_items(product.surface.material, line.pieces)
        steps = needs_of_steps(
            product.technique.steps.all(),
            making.surface,
            line.pieces,
            coated=product.topcoat is not None,
        )
        return LineEstimate(line, piece, surface, whole_items(product.packaging, count), steps)

    def cost(self, prices: Mapping[Material, MaterialPrice], count: int = 1) -> LineCost:
        """Return the `LineCost` of making so many together at some prices of materials."""
        estimates = [self.estimate(count)]
        return line_costs(self.basis.studio, estimates, prices, self.basis.habits)[0]

    def asking(
        self,
        prices: Mapping[Material, MaterialPrice],
        channel: Channel | Via | None = Via.USUAL,
        count: int = 1,
    ) -> Asking:
        """Return what to ask for so many that are made in one go; see `asking.ask`."""
        return ask(
            self.basis.studio,
            [self.estimate(count)],
            prices,
            channel=channel,
            habits=self.basis.habits,
        )

    def forecast(self, asking: Asking, shelf: PriceBook) -> Decimal | None:
        """Return the profit of as many as it speaks for with materials off the shelf, [currency].

        None where one of them has no price there.
        """
        return forecast_profit(
            self.basis.studio,
            [self.estimate(asking.count)],
            asking,
            habits=self.basis.habits,
            book=shelf,
        )


def products_of(studio: Studio) -> QuerySet[Product]:
    """Return the products that a studio keeps, with all that making them rests on."""
    rows = studio.products.filter(archived_at=None).select_related(
        "surface__material",
        "technique",
        "palette__studio",
        "topcoat__resin",
        "topcoat__hardener",
        "packaging",
    )
    return rows.prefetch_related("palette__colours", with_steps())


def _places(quantity: Decimal) -> Decimal:
    return quantity.quantize(QUANTITY_PLACES, ROUND_HALF_UP)
