"""What to ask for a piece: the one home of the asking price, whoever shows it.

Planner, price list, quotes, products, break-even and what can be made all call `ask`, and so do
their API, papers and files. It rests on what materials cost to replace, so no single job moves it,
and on how many are made in one go, since they share the set-up: it speaks for that number and no
other. What is earned at it is forecast from the shelf, see `Asking.profit_at`.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from enum import Enum

from django.db.models import Count, Max

from inventory.models import Material
from pricing.costing.costs import LineCost, line_costs
from pricing.costing.habits import Habit
from pricing.costing.material_prices import MaterialPrice
from pricing.costing.price import Offer, PriceError, Terms, ToPrice, offer
from pricing.estimating.answers import LineEstimate
from pricing.models import Channel
from studio.errors import Refused, in_words
from studio.models import Studio
from studio.money import ZERO, minor_unit, to_payable

LATELY = timedelta(days=365)
# What of a cost comes of minutes and of how many fail.
GUESSED = ("failures", "labour", "overhead")


class Via(Enum):
    """Stands for the channel that a piece will most likely be paid through."""

    USUAL = "usual"


@dataclass(frozen=True)
class Asking:
    """What to ask for some lines, [currency], and what it rests on.

    ``costs`` are those of each line at ``prices``, {material: what one unit costs to replace};
    ``channel`` is the one whose fees are in it, None for none; ``currency`` an ISO 4217 code.
    """

    costs: tuple[LineCost, ...]
    offer: Offer
    terms: Terms
    channel: Channel | None
    prices: Mapping[Material, MaterialPrice]
    currency: str

    @property
    def count(self) -> int:
        """How many pieces or sets it speaks for, [-]; a test tile is not sold."""
        return sum(line.quantity for line in self.offer.lines if line.is_set)

    @property
    def total(self) -> Decimal:
        """What the customer reads for all of them, a minimum charge in it."""
        return sum((line.amount for line in self.offer.lines), self.offer.supplement)

    @property
    def each(self) -> Decimal:
        """What the customer reads for one of them, its share of a minimum charge in it."""
        each = self.total / self.count
        step = self.terms.minor_unit
        return -(-each // step) * step if each % step else each

    @property
    def cost(self) -> Decimal:
        """What all of them cost, [currency]."""
        return self.offer.cost

    @property
    def cost_each(self) -> Decimal:
        """What one costs, [currency]."""
        return self.cost / self.count

    @property
    def guesses(self) -> tuple[str, ...]:
        """What of success and minutes has no source yet, as sentences."""
        return tuple(dict.fromkeys(one.guess for one in self.costs if one.guess))

    @property
    def unknown(self) -> tuple[MaterialPrice, ...]:
        """The prices of materials that nobody has given, each with what was taken for it."""
        return tuple(one for one in self.prices.values() if not one.is_known)

    @property
    def unknown_names(self) -> tuple[str, ...]:
        """What those are of for which something else's price was taken."""
        return tuple(one.material.name for one in self.unknown if one.value)

    @property
    def left_out(self) -> tuple[str, ...]:
        """What is not in the price at all, since nobody has said what it costs."""
        return tuple(one.material.name for one in self.unknown if not one.value)

    @property
    def unknown_share(self) -> Decimal:
        """The share of the price that rests on prices nobody has given, [-].

        Each cost carries its part of profit, fees and tax, so that it is the share of the cost.
        """
        names = set(self.unknown_names)
        amount = sum(
            (
                cost
                for one in self.costs
                for line in one.cost.lines
                for name, cost in line.made_of
                if line.kind != "failures" and name in names
            ),
            ZERO,
        )
        amount += sum(
            (
                price.cost(one.again.get(price.material, ZERO))
                for one in self.costs
                for price in self.unknown
            ),
            ZERO,
        )
        return self._share(amount)

    @property
    def guessed_share(self) -> Decimal:
        """The share of the price that rests on minutes and failures nobody has measured, [-]."""
        guessed = [one for one in self.costs if one.guess]
        return self._share(sum((one.cost.of(kind) for one in guessed for kind in GUESSED), ZERO))

    def _share(self, amount: Decimal) -> Decimal:
        return amount / self.cost if self.cost else ZERO

    @property
    def profit_each(self) -> Decimal:
        """What one leaves when its materials are bought anew, [currency]."""
        return self.offer.profit / self.count

    def profit_at(self, costs: Sequence[LineCost]) -> Decimal:
        """Return the forecast profit of all of them at other costs, those of the shelf."""
        return self.offer.at_cost(*totals(costs)).profit


def totals(costs: Sequence[LineCost]) -> tuple[Decimal, Decimal]:
    """Return what lines cost together, and in the cautious case, [currency]."""
    return (
        sum((one.cost.total for one in costs), ZERO),
        sum((one.cost.cautious_total for one in costs), ZERO),
    )


def ask(
    studio: Studio,
    estimates: Sequence[LineEstimate],
    prices: Mapping[Material, MaterialPrice],
    *,
    channel: Channel | Via | None = Via.USUAL,
    margin: Decimal | None = None,
    markup: Decimal | None = None,
    rush: Decimal = ZERO,
    discount: Decimal = ZERO,
    shipping: Decimal = ZERO,
    habits: Mapping[int, Habit] | None = None,
) -> Asking:
    """Return what to ask for lines that are made and sold together.

    Parameters
    ----------
    studio : Studio
    estimates : sequence of LineEstimate
        What each line takes
    prices : mapping of Material to MaterialPrice
        What their materials cost to replace, see `replacement_prices`
    channel : Channel, optional
        Where it is paid, for its fees; without saying the usual one, with None the studio itself
    margin, markup : Decimal, optional
        Share of the price before tax, or of the cost, that is to be left; without either, as the
        studio prices, [-]
    rush, discount : Decimal
        Shares of the price before tax, [-]
    shipping : Decimal
        What it costs, before tax, [currency]
    habits : mapping of int to Habit, optional
        Those of the studio, where they are known already

    Raises
    ------
    Refused
        If margin and fees leave nothing of the price, or both a margin and a markup are given.
    """
    if isinstance(channel, Via):
        channel = usual_channel(studio)
    costs = line_costs(studio, estimates, prices, habits)
    terms = _terms(studio, _aim(studio, margin, markup), rush, discount, shipping, channel)
    with in_words(PriceError):
        made = offer([_to_price(one) for one in costs], terms)
    needed = {material for one in estimates for material in one.needs}
    used = {material: one for material, one in prices.items() if material in needed}
    return Asking(tuple(costs), made, terms, channel, used, studio.currency)


def _to_price(one: LineCost) -> ToPrice:
    line, cost = one.line, one.cost
    return ToPrice(
        line.quantity,
        cost.total,
        cost.cautious_total,
        is_set=not line.is_test,
        is_free=line.is_free,
    )


def usual_channel(studio: Studio) -> Channel | None:
    """Return the channel that most sales of the last year went through, or None without a sale."""
    since = studio.today() - LATELY
    channels = Channel.objects.filter(studio=studio, archived_at=None)
    # In one filter, so that it is the same sale of which both are asked.
    lately = channels.filter(sales__refunded_at=None, sales__sold_on__gt=since)
    counted = lately.annotate(times=Count("sales"), last=Max("sales__sold_on"))
    return counted.order_by("-times", "-last", "pk").first()


def _aim(studio: Studio, margin: Decimal | None, markup: Decimal | None) -> tuple[Decimal, Decimal]:
    """Return the margin and the markup to price by, of which one is 0."""
    if margin is not None and markup is not None:
        raise Refused("Price by a margin or by a markup: give one of the two.")
    if margin is None and markup is None:
        by_markup = studio.price_by == Studio.PriceBy.MARKUP
        return (ZERO, studio.markup) if by_markup else (studio.margin, ZERO)
    return margin or ZERO, markup or ZERO


def _terms(
    studio: Studio,
    aim: tuple[Decimal, Decimal],
    rush: Decimal,
    discount: Decimal,
    shipping: Decimal,
    channel: Channel | None,
) -> Terms:
    margin, markup = aim
    return Terms(
        margin=margin,
        markup=markup,
        tax_rate=studio.tax_rate,
        tax_inclusive=studio.tax_inclusive,
        rounding_step=studio.rounding_step,
        minor_unit=minor_unit(studio.currency),
        minimum_charge=studio.minimum_charge,
        rush=rush,
        discount=discount,
        percent_fee=channel.percent_fee if channel else ZERO,
        fixed_fee=channel.fixed_fee if channel else ZERO,
        listing_fee=channel.listing_fee if channel else ZERO,
        fee_on_shipping=bool(channel and channel.fee_on_shipping),
        shipping=to_payable(shipping, studio.currency),
    )
