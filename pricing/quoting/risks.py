"""The risk in the price of a quote: that materials cost more than it allows for."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from pricing.costing import price
from pricing.costing.costs import LineCost
from studio.errors import in_words
from studio.money import ZERO

PLACES = Decimal("0.0001")


@dataclass(frozen=True)
class QuoteRisk:
    """What a quote allows for materials, [currency], and the chances that they cost more.

    ``chance_over`` is that they cost more than that, ``chance_of_loss`` that they eat up all the
    profit too, both [-]; work is taken as costed.
    """

    allowed: Decimal
    chance_over: Decimal
    chance_of_loss: Decimal


def quote_risk(costs: Sequence[LineCost], offer: price.Offer) -> QuoteRisk:
    """Return the `QuoteRisk` of an `Offer` for the `LineCost` of its lines.

    What is allowed is paint, resin, surfaces and what prepares them, with what failed pieces of
    them take, on average.
    """
    lines = [_line(one.cost) for one in costs]
    allowed = sum((_allowed(one.cost) for one in costs), ZERO)
    if allowed <= 0:
        return QuoteRisk(ZERO, ZERO, ZERO)
    to_loss = allowed + offer.profit
    amounts = [float(allowed), float(to_loss)] if to_loss > 0 else [float(allowed)]
    with in_words(price.PriceError):
        chances = price.chances_above(lines, amounts)
    over, loss = chances if to_loss > 0 else (chances[0], 1.0)
    return QuoteRisk(allowed, _places(over), _places(loss))


def _line(cost: price.Cost) -> price.RiskyLine:
    return price.RiskyLine(
        pieces=cost.pieces,
        pour_success=float(cost.sessions.pour_success),
        coat_success=float(cost.sessions.coat_success),
        layers=tuple(
            price.RiskyLayer(
                float(line.amount), float(max(line.cautious, line.amount)), line.is_coat
            )
            for line in cost.lines
            if line.kind == "material"
        ),
        surface=float(_spoiled(cost)),
    )


def _allowed(cost: price.Cost) -> Decimal:
    coat = sum((line.amount for line in cost.lines if line.is_coat), ZERO)
    poured = cost.of("material") - coat + _spoiled(cost)
    return poured / cost.success_rate + coat / cost.sessions.coat_success


def _spoiled(cost: price.Cost) -> Decimal:
    """Return what is lost with a pour that fails, beside its paint, [currency]."""
    return cost.of("surface") + cost.of("prepared")


def _places(chance: float) -> Decimal:
    return Decimal(repr(chance)).quantize(PLACES)
