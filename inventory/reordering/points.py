"""Reorder points for steady use, and how much to order."""

from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal
from math import sqrt
from statistics import NormalDist

from inventory.costing import QUANTITY_PLACES


class DemandError(ValueError):
    """Raised when a reorder point cannot be computed; the text says what is accepted."""


@dataclass(frozen=True)
class ReorderPoint:
    """Stock at which to reorder, and what it rests on; quantities in [mL, g or items].

    ``basis`` is ``"normal"``, ``"intermittent"``, ``"no_history"`` or ``"by_hand"``. ``uses`` is
    the number of days with use that it was learned from.
    """

    basis: str
    quantity: float
    lead_time_demand: float
    safety_stock: float
    mean_per_day: float
    lead_days: float
    service_level: float | None = None
    uses: int = 0

    @property
    def stock_quantity(self) -> Decimal:
        """The reorder point as a stock quantity, rounded up at four places."""
        return _up(self.quantity)

    @property
    def explanation(self) -> str:
        """Which rule gave the number, in a sentence."""
        if self.basis == "by_hand":
            return "Set by hand."
        if self.basis == "no_history":
            return (
                "There is too little use on record, so this is a quarter of a usual pack, or what "
                "accepted work needs if that is more."
            )
        learned = f"learned from {self.uses} days of use, " if self.uses else ""
        shape = "steady use" if self.basis == "normal" else "use now and then"
        return (
            f"For {shape}, {learned}this lasts through a lead time of {self.lead_days:g} days "
            f"{self.service_level:.1%} of the time."
        )


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
    safety = safety_stock(sqrt(lead * sd**2 + (mean * lead_sd) ** 2), service_level)
    return ReorderPoint(
        "normal", mean * lead + safety, mean * lead, safety, mean, lead, service_level
    )


def order_up_to(
    projected: Decimal, reorder_at: Decimal, mean_per_day: float, days_to_review: float
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
    check(0.5, reorder_at=reorder_at, mean_per_day=mean_per_day, days_to_review=days_to_review)
    target = _up(Decimal(reorder_at) + _up(float(mean_per_day) * float(days_to_review)))
    short = max(target - projected, Decimal(0)).quantize(QUANTITY_PLACES, ROUND_CEILING)
    return OrderUpTo(projected <= reorder_at, target, projected, short)


def check(service_level: float, **amounts: float | Decimal) -> None:
    """Refuse a service level or an amount that is out of range."""
    if not 0.5 <= service_level < 1:
        raise DemandError(
            f"The service level is from 50 % to below 100 %, not {service_level:.4g}."
        )
    for name, amount in amounts.items():
        if not 0 <= amount < float("inf"):
            raise DemandError(
                f"{name.replace('_', ' ').capitalize()} must be zero or more, and not endless."
            )


def _up(quantity: float | Decimal) -> Decimal:
    # Twelve digits first, so that noise in the last bits of a float does not round up.
    exact = quantity if isinstance(quantity, Decimal) else Decimal(f"{quantity:.12g}")
    return exact.quantize(QUANTITY_PLACES, ROUND_CEILING)
