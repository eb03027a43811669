"""The price that earns the cost of work back, with its margin, fees and tax."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import ceil

from pricing.costing.price.errors import PriceError
from pricing.costing.price.tax import CENT
from studio.money import ZERO

# A margin of 3/13 (a markup of 30 %) has endless digits, and its last must not cost a cent.
NOISE = Fraction(1, 10**12)


@dataclass(frozen=True)
class Price:
    """A price with each amount that led to it, all in [currency] unless said.

    `net` is what the studio keeps before fees, `gross` what the customer pays. The steps before
    rounding (`net_for_margin` to `gross_unrounded`) are exact to 28 digits; the rest is exact:
    ``gross = net + tax`` and ``net = percent_fees + fixed_fees + cost + profit``.
    """

    cost: Decimal
    net_for_margin: Decimal
    rush: Decimal
    discount: Decimal
    raised_to_minimum: Decimal
    net_unrounded: Decimal
    gross_unrounded: Decimal
    rounding: Decimal
    net: Decimal
    tax: Decimal
    gross: Decimal
    percent_fees: Decimal
    fixed_fees: Decimal
    profit: Decimal
    margin: Decimal  # reached after rounding, of the net price, [-]
    cautious_profit: Decimal
    cautious_margin: Decimal  # if materials cost the cautious amount, [-]
    tax_inclusive: bool

    @property
    def fees(self) -> Decimal:
        """All fees, [currency]."""
        return self.percent_fees + self.fixed_fees

    @property
    def steps(self) -> tuple[tuple[str, Decimal], ...]:
        """The price in the order it is worked out, as (what, amount), [currency]."""
        if not self.net:
            return (("Cost", self.cost), ("Given for free", -self.cost), ("Price", self.gross))
        worked = [
            ("Cost", self.cost),
            ("Profit and fees on top", self.net_for_margin - self.cost),
            ("Rush", self.rush),
            ("Discount", -self.discount),
            ("Raised to the minimum charge", self.raised_to_minimum),
            ("Tax before rounding", self.gross_unrounded - self.net_unrounded),
            ("Rounded up", self.rounding),
        ]
        return (*((what, amount) for what, amount in worked if amount), ("Price", self.gross))


def price(
    cost: Decimal,
    *,
    margin: Decimal = ZERO,
    markup: Decimal = ZERO,
    percent_fees: Decimal = ZERO,
    fixed_fees: Decimal = ZERO,
    tax_rate: Decimal = ZERO,
    tax_inclusive: bool = True,
    rounding_step: Decimal = CENT,
    minor_unit: Decimal = CENT,
    rush: Decimal = ZERO,
    discount: Decimal = ZERO,
    minimum_charge: Decimal = ZERO,
    cautious_cost: Decimal | None = None,
) -> Price:
    """Return the price that leaves a margin or a markup after fees and tax, rounded up to a tag.

    ``net = (cost * (1 + markup) + fixed_fees) / (1 - margin - percent_fees * (1 + tax_rate))`` and
    ``gross = net * (1 + tax_rate)``; then rush is added, discount taken off, the minimum charge
    applied, and the tag rounded up to the studio's step. The tag is the gross price where prices
    include tax, and the net price where tax is added on top, because the step is there so that the
    number the customer reads is a round one. Rounding never brings the net below the unrounded.

    Parameters
    ----------
    cost : Decimal
        What the work costs, above zero, [currency]
    margin : Decimal
        Profit as a share of the net price, from 0, [-]
    markup : Decimal
        Profit as a share of the cost, from 0, in place of a margin or on top of it, [-]
    percent_fees : Decimal
        Fees as a share of the gross price, tax included, [-]
    fixed_fees : Decimal
        Fees for each sale, [currency]
    tax_rate : Decimal
        Tax as a share of the net price, [-]
    tax_inclusive : bool
        Whether the studio shows prices with tax in them, [-]
    rounding_step : Decimal
        Step to which the shown price is rounded up, whole minor units, [currency]
    minor_unit : Decimal
        Smallest amount of the currency, to which tax is rounded half up, [currency]
    rush : Decimal
        Surcharge for haste, as a share of the net price, [-]
    discount : Decimal
        Discount, as a share of the net price with rush, below 1, [-]
    minimum_charge : Decimal
        Least price, with tax if the studio's prices include it, [currency]
    cautious_cost : Decimal
        Cost if materials run to the cautious case, `cost` if not given, [currency]

    Returns
    -------
    price : Price
        Every step, and the margins reached after rounding, [currency]

    Raises
    ------
    PriceError
        If margin and fees leave nothing of the price, or an argument is out of range.

    Examples
    --------
    Cost 12.00, fees of 6.5 % and 0.45, margin 40 %: 23.271028..., so 23.28.

    >>> asked = price(Decimal(12), margin=Decimal("0.40"), percent_fees=Decimal("0.065"),
    ...               fixed_fees=Decimal("0.45"))
    >>> asked.gross, round(asked.margin, 7)
    (Decimal('23.28'), Decimal('0.4002062'))

    The same at a markup of 70 %: (12.00 * 1.7 + 0.45) / (1 - 0.065) = 22.299465..., so 22.30.

    >>> price(Decimal(12), markup=Decimal("0.70"), percent_fees=Decimal("0.065"),
    ...       fixed_fees=Decimal("0.45")).gross
    Decimal('22.30')

    References
    ----------
    Algebra, from ``profit = net - percent_fees * gross - fixed_fees - cost`` and
    ``profit = margin * net + markup * cost``. Without fees, a markup of k is a margin of
    ``k / (1 + k)``.
    """
    shares = (margin, markup, percent_fees, fixed_fees, tax_rate, rush, minimum_charge)
    _check(cost, shares, discount, rounding_step, minor_unit)
    taxed = 1 + Fraction(tax_rate)
    cost_share = 1 - Fraction(margin) - Fraction(percent_fees) * taxed
    if cost_share <= 0:
        raise PriceError(
            f"A margin of {_percent(margin)} and fees of {_percent(percent_fees * (1 + tax_rate))} "
            "of the price before tax leave nothing for the cost: lower one of them, so that "
            "together they stay below 100 %."
        )
    with_markup = Fraction(cost) * (1 + Fraction(markup))
    for_profit = (with_markup + Fraction(fixed_fees)) / cost_share
    rushed = for_profit * Fraction(rush)
    off = (for_profit + rushed) * Fraction(discount)
    least = Fraction(minimum_charge) / (taxed if tax_inclusive else 1)
    exact = max(for_profit + rushed - off, least)
    net, tax = _tag(exact, taxed, tax_inclusive, rounding_step, minor_unit)
    gross = net + tax
    proceeds = net - gross * percent_fees - fixed_fees
    cautious = cost if cautious_cost is None else cautious_cost
    return Price(
        cost=cost,
        net_for_margin=_decimal(for_profit),
        rush=_decimal(rushed),
        discount=_decimal(off),
        raised_to_minimum=_decimal(exact - (for_profit + rushed - off)),
        net_unrounded=_decimal(exact),
        gross_unrounded=_decimal(exact * taxed),
        rounding=gross - _decimal(exact * taxed),
        net=net,
        tax=tax,
        gross=gross,
        percent_fees=gross * percent_fees,
        fixed_fees=fixed_fees,
        profit=proceeds - cost,
        margin=(proceeds - cost) / net,
        cautious_profit=proceeds - cautious,
        cautious_margin=(proceeds - cautious) / net,
        tax_inclusive=tax_inclusive,
    )


def given(cost: Decimal, *, cautious_cost: Decimal, tax_inclusive: bool) -> Price:
    """Return the price of what is given for free: nothing, so that its cost is lost.

    Parameters
    ----------
    cost, cautious_cost : Decimal
        What it costs, and in the cautious case, [currency]
    tax_inclusive : bool
        Whether the studio shows prices with tax in them, [-]

    Examples
    --------
    >>> free = given(Decimal(3), cautious_cost=Decimal(4), tax_inclusive=True)
    >>> free.gross, free.profit, free.cautious_profit
    (Decimal('0'), Decimal('-3'), Decimal('-4'))
    """
    nothing = dict.fromkeys(
        (
            *("net_for_margin", "rush", "discount", "raised_to_minimum", "net_unrounded"),
            *("gross_unrounded", "rounding", "net", "tax", "gross", "percent_fees", "fixed_fees"),
            *("margin", "cautious_margin"),  # of no price there is no share
        ),
        ZERO,
    )
    return Price(
        cost=cost,
        profit=-cost,
        cautious_profit=-cautious_cost,
        tax_inclusive=tax_inclusive,
        **nothing,
    )


def _tag(
    exact: Fraction, taxed: Fraction, tax_inclusive: bool, step: Decimal, minor_unit: Decimal
) -> tuple[Decimal, Decimal]:
    """Return net and tax of the least round price whose net is not below the exact one."""
    tag = ceil((exact * taxed if tax_inclusive else exact) / Fraction(step) - NOISE) * step
    if not tax_inclusive:
        return tag, _round(Fraction(tag) * (taxed - 1), minor_unit)
    tax = _round(Fraction(tag) * (taxed - 1) / taxed, minor_unit)
    # Rounding the tax up can take half a minor unit from the net; the next step makes it good.
    if Fraction(tag - tax) + NOISE < exact:
        tag += step
        tax = _round(Fraction(tag) * (taxed - 1) / taxed, minor_unit)
    return tag - tax, tax


def _check(
    cost: Decimal,
    shares: Iterable[Decimal],
    discount: Decimal,
    rounding_step: Decimal,
    minor_unit: Decimal,
) -> None:
    if not cost > 0:
        raise PriceError("A price needs a cost above zero.")
    if any(share < 0 for share in shares) or not 0 <= discount < 1:
        raise PriceError(
            "Margin, markup, fees, tax, rush and minimum charge cannot be below zero, and a "
            "discount is from 0 % to below 100 %."
        )
    if not rounding_step > 0 or rounding_step % minor_unit:
        raise PriceError(f"Prices are rounded to a multiple of {minor_unit}, not {rounding_step}.")


def _round(amount: Fraction, minor_unit: Decimal) -> Decimal:
    """Round half up to the minor unit; amounts here are never negative."""
    return int(amount / Fraction(minor_unit) + Fraction(1, 2)) * minor_unit


def _decimal(amount: Fraction) -> Decimal:
    return Decimal(amount.numerator) / Decimal(amount.denominator)


def _percent(share: Decimal) -> str:
    return f"{(share * 100).normalize():f} %"
