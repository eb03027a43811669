"""Reorder points for steady use, and how much to order."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal
from math import sqrt
from statistics import NormalDist

from inventory.buying.reordering.chances import Chance, expected_of
from inventory.buying.reordering.limits import check
from studio.units import QUANTITY_PLACES


@dataclass(frozen=True)
class ReorderPoint:
    """Stock at which to reorder, and what it rests on; quantities in [mL, g or items].

    ``basis`` is ``"normal"``, ``"intermittent"``, ``"no_history"`` or ``"by_hand"``. ``uses`` is
    the number of days with use that it was learned from, ``quoted`` what open quotes are expected
    to take during the lead time; the quantity is demand, quoted and safety stock together.
    """

    basis: str
    quantity: float
    lead_time_demand: float
    safety_stock: float
    mean_per_day: float
    lead_days: float
    service_level: float | None = None
    uses: int = 0
    quoted: float = 0.0

    @property
    def stock_quantity(self) -> Decimal:
        """The reorder point as a stock quantity, rounded up at four places."""
        return _up(self.quantity)


@dataclass(frozen=True)
class OrderUpTo:
    """How much to order: the target, what is projected, and the difference, [mL, g or items]."""

    due: bool
    target: Decimal
    projected: Decimal
    quantity: Decimal


def safety_stock(sd_over_lead: float, service_level: float) -> float:
    """Return the stock kept against more use than usual during the lead time.

    Parameters
    ----------
    sd_over_lead : float
        Standard deviation of the demand over the lead time, [mL, g or items]
    service_level : float
        Chance of lasting through one lead time, from 0.5 and below 1, [-]

    Returns
    -------
    safety_stock : float
        ``z * sd``, [mL, g or items]

    Raises
    ------
    DemandError
        If the service level is outside its range or the deviation is negative.

    Examples
    --------
    >>> round(safety_stock(5, 0.97), 2)
    9.4

    References
    ----------
    W. J. Stevenson, *Operations Management*, 14th ed., p. 528.
    """
    check(service_level, sd_over_lead=sd_over_lead)
    return NormalDist().inv_cdf(service_level) * float(sd_over_lead)


def reorder_point(
    mean_per_day: float,
    sd_per_day: float,
    lead_days: float,
    lead_sd_days: float,
    service_level: float,
    chances: Sequence[Chance] = (),
) -> ReorderPoint:
    """Return the reorder point for steady use, taking demand over the lead time as normal.

    Parameters
    ----------
    mean_per_day, sd_per_day : float
        Mean and standard deviation of use in a day, [mL, g or items]
    lead_days, lead_sd_days : float
        Mean and standard deviation of the lead time, independent of use, [days]
    service_level : float
        Chance of lasting through one lead time, from 0.5 and below 1, [-]
    chances : sequence of Chance
        What open quotes may take during the lead time, whole or not at all, [mL, g or items]; their
        mean and variance are added to those of use.

    Returns
    -------
    reorder_point : ReorderPoint
        Quantity and its parts, basis ``"normal"``, [mL, g or items]

    Raises
    ------
    DemandError
        If the service level is outside its range or anything is negative.

    Examples
    --------
    50 a week, give or take 3, and two weeks of lead time at 10 % risk:

    >>> week = reorder_point(50 / 7, 3 / 7**0.5, 14, 0, 0.90)
    >>> round(week.quantity, 2)
    105.44

    References
    ----------
    W. J. Stevenson, *Operations Management*, 14th ed., ch. 12: variance over the lead time is
    ``L * sd**2 + mean**2 * lead_sd**2``.
    """
    check(
        service_level,
        mean_per_day=mean_per_day,
        sd_per_day=sd_per_day,
        lead_days=lead_days,
        lead_sd_days=lead_sd_days,
    )
    mean, sd, lead, lead_sd = map(float, (mean_per_day, sd_per_day, lead_days, lead_sd_days))
    quoted = expected_of(chances)
    variance = lead * sd**2 + (mean * lead_sd) ** 2 + quoted.sd**2
    safety = safety_stock(sqrt(variance), service_level)
    quantity = mean * lead + quoted.mean + safety
    return ReorderPoint(
        "normal", quantity, mean * lead, safety, mean, lead, service_level, quoted=quoted.mean
    )


def order_up_to(
    projected: Decimal,
    reorder_at: Decimal,
    mean_per_day: float,
    days_to_review: float,
    quoted: float = 0.0,
) -> OrderUpTo:
    """Return how much to order so that stock lasts until the next review and its delivery.

    Parameters
    ----------
    projected : Decimal
        On hand less held plus on order; may be below zero, [mL, g or items]
    reorder_at : Decimal
        The reorder point, [mL, g or items]
    mean_per_day : float
        Mean use in a day, [mL, g or items]
    days_to_review : float
        Days until the next time of ordering, [days]
    quoted : float
        What open quotes are expected to take until then, beyond what the reorder point counts of
        them, [mL, g or items]. It raises the target only: a quote alone makes no order due.

    Returns
    -------
    order : OrderUpTo
        Target, quantity that reaches it, and whether an order is due (projected stock is at the
        reorder point or below), [mL, g or items]

    Raises
    ------
    DemandError
        If the reorder point, the mean use or the days are negative.

    Examples
    --------
    >>> str(order_up_to(Decimal(40), Decimal(60), 5.0, 14).quantity)
    '90.0000'

    References
    ----------
    E. A. Silver, D. F. Pyke and R. Peterson, *Inventory Management and Production Planning and
    Scheduling*, 3rd ed. (1998), ch. 7: periodic review, order-up-to level.
    """
    check(
        0.5,
        reorder_at=reorder_at,
        mean_per_day=mean_per_day,
        days_to_review=days_to_review,
        quoted=quoted,
    )
    until_review = float(mean_per_day) * float(days_to_review) + float(quoted)
    target = _up(Decimal(reorder_at) + _up(until_review))
    short = max(target - projected, Decimal(0)).quantize(QUANTITY_PLACES, ROUND_CEILING)
    return OrderUpTo(projected <= reorder_at, target, projected, short)


def _up(quantity: float | Decimal) -> Decimal:
    # Twelve digits first, so that noise in the last bits of a float does not round up.
    exact = quantity if isinstance(quantity, Decimal) else Decimal(f"{quantity:.12g}")
    return exact.quantize(QUANTITY_PLACES, ROUND_CEILING)
