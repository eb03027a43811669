"""Products in runs: what making so many of one takes from the shelf, in minutes, and leaves.

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

from inventory.mixing.mix_book import MixBook, mix_book
from inventory.models import Material
from pricing.costing import output, price
from pricing.costing.costs import line_costs, minutes_of
from pricing.costing.habits import Habit, habits_of
from pricing.costing.worth import MaterialPrice
from pricing.estimating.coverage import Estimator
from pricing.estimating.estimates import CommissionEstimate, LineEstimate, PieceEstimate
from pricing.estimating.layers import LayerEstimate, Need, add_needs, paint_layers
from pricing.estimating.learning import hand_of
from pricing.estimating.mixes import layer_mixes
from pricing.estimating.resins import Topcoat, topcoat_layer
from pricing.estimating.sizes import geometry
from pricing.models import Channel, Palette, Product
from studio.errors import in_words
from studio.models import Studio
from studio.money import ZERO, minor_unit
from studio.units import QUANTITY_PLACES

MINUTE_PLACES = Decimal("0.01")
MANY_ML = Decimal(1_000_000)
MOST_PIECES = 500  # in one go, as in a plan


class Bench:
    """What the runs of a studio's products rest on, each loaded when it is first needed."""

    def __init__(self, studio: Studio) -> None:
        self.studio = studio
        self._shares: dict[int, dict[Material, Decimal]] = {}

    @cached_property
    def estimator(self) -> Estimator:
        return hand_of(self.studio).estimator

    @cached_property
    def habits(self) -> dict[int, Habit]:
        return habits_of(self.studio)

    @cached_property
    def mixes(self) -> MixBook:
        return mix_book(self.studio)

    def paint(self, product: Product, count: int) -> tuple[LayerEstimate, ...]:
        """Return the paint layers of so many pieces of a product."""
        return paint_layers(
            self.estimator,
            geometry(product.surface),
            product.technique.slug,
            count,
            measures=self.studio.measures,
            confidence=self.studio.mix_confidence,
            cup_loss=self.studio.cup_loss,
            palette=product.palette,
            book=self.mixes,
        )

    def volumes(self, product: Product, count: int) -> Iterator[tuple[str, Decimal, Decimal]]:
        """Return (layer, expected, to mix) of each paint layer of so many pieces, [mL].

        Without the palette: what the mixes hold is worked out once, see `shares`, and not a
        hundred times over.
        """
        layers = paint_layers(
            self.estimator,
            geometry(product.surface),
            product.technique.slug,
            count,
            measures=self.studio.measures,
            confidence=self.studio.mix_confidence,
            cup_loss=self.studio.cup_loss,
        )
        has_activator = product.palette.activator_id is not None
        for layer in layers:
            if layer.layer != "activator" or has_activator:
                expected_ml = layer.median_ml / (1 - self.studio.cup_loss)
                yield layer.layer, expected_ml, layer.to_mix_ml

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
        for recipe_id, ml in layer_mixes(palette, layer, volume_ml)[0]:
            for material, share in self.shares(recipe_id).items():
                amounts[material] += share * ml
        return {
            key: amount.quantize(QUANTITY_PLACES, ROUND_HALF_UP) for key, amount in amounts.items()
        }

    def resin(self, product: Product, count: int) -> tuple[LayerEstimate, ...]:
        """Return the topcoat of so many pieces of a product, as no or one layer."""
        kit = product.topcoat
        if kit is None:
            return ()
        surface = geometry(product.surface)
        return (topcoat_layer(self.studio, surface, count, Topcoat(kit, kit.film_mm))[0],)


@dataclass(frozen=True)
class Earnings:
    """What one of a product brings, [currency].

    ``price`` is what the customer reads and ``kept`` what is left of it after tax and fees.
    """

    price: Decimal
    kept: Decimal


class Making:
    """One product at one studio's bench; every run is worked out once."""

    def __init__(self, product: Product, bench: Bench) -> None:
        self.product, self.bench = product, bench
        self._needs: dict[int, dict[Material, Need]] = {}

    @property
    def habit(self) -> Habit:
        """How the studio works this technique."""
        return self.bench.habits[self.product.technique_id]

    @property
    def most(self) -> int:
        """How many can be made in one go, [-]."""
        return int(MOST_PIECES * self.habit.success_rate) // self.product.pieces_each

    def poured(self, count: int) -> int:
        """Return how many pieces are poured to have so many products, [-]."""
        pieces = count * self.product.pieces_each / self.habit.success_rate
        return int(pieces.to_integral_value(ROUND_CEILING))

    def needs(self, count: int) -> dict[Material, Need]:
        """Return {material: Need} of so many."""
        if count not in self._needs:
            product, poured = self.product, self.poured(count)
            resin = self.bench.resin(product, count * product.pieces_each)
            self._needs[count] = add_needs(
                *self._paint(poured),
                *(layer.materials for layer in resin),
                _whole(product.surface.material, poured),
                _whole(product.packaging, count),
            )
        return self._needs[count]

    def expected(self, count: int) -> dict[Material, Decimal]:
        """Return {material: quantity} that so many take on average, over many of them.

        Of a piece at 85 % that is 1/0.85 of its paint and surface, not those of two pieces.
        """
        product, pieces = self.product, count * self.product.pieces_each
        again = 1 / self.habit.success_rate
        poured = add_needs(*self._paint(pieces), _whole(product.surface.material, pieces))
        resin = self.bench.resin(product, pieces)
        once = add_needs(*(layer.materials for layer in resin), _whole(product.packaging, count))
        taken = defaultdict(Decimal, {key: need.median * again for key, need in poured.items()})
        for material, need in once.items():
            taken[material] += need.median
        return dict(taken)

    def _paint(self, poured: int) -> Iterator[dict[Material, Need]]:
        """Yield {material: Need} of each layer of paint, over all pieces poured together."""
        palette = self.product.palette
        for layer, expected_ml, to_mix_ml in self.bench.volumes(self.product, poured):
            expected = self.bench.materials_in(palette, layer, expected_ml)
            to_mix = self.bench.materials_in(palette, layer, to_mix_ml)
            yield {
                material: Need(expected[material], expected[material], amount)
                for material, amount in to_mix.items()
            }

    def to_have(self, count: int) -> dict[int, Decimal]:
        """Return {material key: what to have at hand} for so many, less what is always there."""
        needs = self.needs(count)
        return {material.pk: need.to_mix for material, need in needs.items() if material.is_stocked}

    def minutes(self, count: int) -> Decimal:
        """Return the hands-on minutes of so many, [min]."""
        product = self.product
        if product.minutes is not None:
            return product.minutes * count
        return minutes_of(product.line(count), self.habit).quantize(MINUTE_PLACES, ROUND_HALF_UP)

    def earnings(
        self, prices: Mapping[Material, MaterialPrice], channel: Channel | None
    ) -> Earnings:
        """Return what one brings when it is sold through a channel, at its own price or a quote's.

        ``prices`` is {material: MaterialPrice}.
        """
        studio = self.bench.studio
        share = channel.percent_fee if channel else ZERO
        fixed = channel.fixed_fee + channel.listing_fee if channel else ZERO
        if self.product.price is None:
            asked = self.quoted(prices, share, fixed)
            shown = asked.gross if studio.tax_inclusive else asked.net
            return Earnings(shown, asked.net - asked.fees)
        shown, minor = self.product.price, minor_unit(studio.currency)
        if studio.tax_inclusive:
            gross, net = shown, shown - price.tax_inside(shown, studio.tax_rate, minor)
        else:
            gross, net = shown + (shown * studio.tax_rate).quantize(minor, ROUND_HALF_UP), shown
        return Earnings(shown, net - (gross * share + fixed))

    def run(
        self, count: int, earnings: Earnings, prices: Mapping[Material, MaterialPrice]
    ) -> output.Run:
        """Return the run of so many as the arithmetic takes it."""
        materials = sum(
            (prices[material].cost(need.median) for material, need in self.needs(count).items()),
            ZERO,
        )
        return output.Run(
            count=count,
            needs=self.to_have(count),
            minutes=self.minutes(count),
            earned=count * earnings.kept - materials,
        )

    def cost(self, prices: Mapping[Material, MaterialPrice]) -> price.Cost:
        """Return the `Cost` of making one."""
        product = self.product
        line = product.line()
        layers = self.bench.paint(product, line.pieces) + self.bench.resin(product, line.pieces)
        face = geometry(product.surface)
        piece = PieceEstimate(face, product.technique.slug, line.pieces, layers)
        surface = _whole(product.surface.material, line.pieces)
        estimate = LineEstimate(line, piece, surface, _whole(product.packaging, 1))
        found = CommissionEstimate((estimate,), {})
        return line_costs(self.bench.studio, found, prices, self.bench.habits)[0].cost

    def quoted(
        self, prices: Mapping[Material, MaterialPrice], share: Decimal = ZERO, fixed: Decimal = ZERO
    ) -> price.Price:
        """Return the `Price` of a quote for one, with these fees of its price earned back in it."""
        studio, cost = self.bench.studio, self.cost(prices)
        with in_words(price.PriceError):
            return price.price(
                cost.total,
                margin=studio.margin,
                percent_fees=share,
                fixed_fees=fixed,
                tax_rate=studio.tax_rate,
                tax_inclusive=studio.tax_inclusive,
                rounding_step=studio.rounding_step,
                minor_unit=minor_unit(studio.currency),
                minimum_charge=studio.minimum_charge,
            )


def _whole(material: Material | None, count: int) -> dict[Material, Need]:
    if material is None:
        return {}
    return {material: Need(Decimal(count), Decimal(count), Decimal(count))}
