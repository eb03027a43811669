"""The profit as it is shown: by currency, rounded so that every table adds up to its last row.

Pages, files, papers and the terminal all show these amounts. The API gives the exact ones, which
add up to the last digit as they are.
"""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from decimal import Decimal
from typing import TypeVar

from pricing.costing.price import Profit, profit
from pricing.earnings.hindsight import Hindsight, hindsight
from pricing.earnings.losses import LostInAll, in_all, losses
from pricing.earnings.profit import Cut, SetProfit, cut, of_currencies, set_profit
from pricing.models.cost import NOTHING, ActualCost
from studio.models import Studio
from studio.money import ZERO, add_up, minor_places
from studio.periods import ALWAYS, Period

Amounts = TypeVar("Amounts", Profit, ActualCost)
NOT_MONEY = "minutes"
OUT = ("tax", "fees", "materials", "labour", "overhead")


@dataclass(frozen=True)
class CurrencyReport:
    """What was earned and lost in one currency, each amount as it is shown.

    ``rows`` add up to ``total``, and so do ``cuts``; ``lost`` add up to ``lost_total``.
    """

    currency: str
    locale: str
    rows: tuple[SetProfit, ...]
    cuts: tuple[Cut, ...]
    total: Profit
    lost: tuple[LostInAll, ...]
    lost_total: ActualCost

    @property
    def after_losses(self) -> Decimal:
        """The profit on what was sold less all that was lost, [currency]."""
        return self.total.profit - self.lost_total.total


def reports(studio: Studio, by: str = "size", period: Period = ALWAYS) -> list[CurrencyReport]:
    """Return a `CurrencyReport` for each currency that something was sold or lost in in a period.

    The studio's own stands first. Sales are cut ``by`` one of `profit.CUTS`, losses by what became
    of things, or by month where the sales are.
    """
    sold = of_currencies(set_profit(studio, period), studio.currency)
    gone = in_all(losses(studio, period), "month" if by == "month" else "kind")
    others = sorted({one.currency for one in gone} - set(sold))
    codes = sorted([*sold, *others], key=lambda code: (code != studio.currency, code))
    found = []
    for code in codes:
        rows, lost = sold.get(code, []), [one for one in gone if one.currency == code]
        places = minor_places(code)
        cuts = cut(rows, by)
        costs = shown([one.cost for one in lost], places)
        found.append(
            CurrencyReport(
                code,
                studio.locale,
                shown_rows(rows),
                tuple(
                    replace(one, profit=amounts)
                    for one, amounts in zip(
                        cuts, shown([one.profit for one in cuts], places), strict=True
                    )
                ),
                shown_total(rows),
                tuple(replace(one, cost=cost) for one, cost in zip(lost, costs, strict=True)),
                sum(costs, NOTHING),
            )
        )
    return found


@dataclass(frozen=True)
class Comparison:
    """Forecast and actual of the commissions of one currency, each amount as it is shown."""

    currency: str
    locale: str
    rows: tuple[Hindsight, ...]
    forecast: Profit
    actual: Profit


def compared(
    studio: Studio, period: Period = ALWAYS, number: int | None = None
) -> list[Comparison]:
    """Return the `hindsight` of a studio by currency, its own first; see there."""
    groups: defaultdict[str, list[Hindsight]] = defaultdict(list)
    for one in hindsight(studio, period, number):
        groups[one.currency].append(one)
    tables = []
    for code in sorted(groups, key=lambda code: (code != studio.currency, code)):
        rows, places = groups[code], minor_places(code)
        forecasts = [as_quoted(one.forecast, places) for one in rows]
        actuals = shown([one.actual for one in rows], places)
        pairs = zip(rows, forecasts, actuals, strict=True)
        tables.append(
            Comparison(
                code,
                studio.locale,
                tuple(replace(one, forecast=first, actual=last) for one, first, last in pairs),
                sum(forecasts, profit(ZERO)),
                sum(actuals, profit(ZERO)),
            )
        )
    return tables


def as_quoted(forecast: Profit, places: int) -> Profit:
    """Round the parts of one forecast to so many decimals: it leaves what its quote says."""
    signed = [forecast.revenue] + [-getattr(forecast, name) for name in OUT]
    revenue, *out = add_up(signed, places)
    return profit(
        revenue,
        **{name: -amount for name, amount in zip(OUT, out, strict=True)},
        minutes=forecast.minutes,
    )


def shown_rows(rows: Sequence[SetProfit]) -> tuple[SetProfit, ...]:
    """Return rows of one currency with the amounts that are shown."""
    if not rows:
        return ()
    places = minor_places(rows[0].currency)
    amounts = shown([row.profit for row in rows], places)
    return tuple(replace(row, profit=one) for row, one in zip(rows, amounts, strict=True))


def shown_total(rows: Sequence[SetProfit]) -> Profit:
    """Return the total of rows of one currency as it is shown, whatever table they stand in."""
    return sum((row.profit for row in shown_rows(rows)), profit(ZERO))


def shown(rows: Sequence[Amounts], places: int) -> list[Amounts]:
    """Round each column of amounts so that it adds up, see `add_up`; minutes stay exact.

    What is left across a row, such as its profit, is then worked out from what is shown, so that
    rows and columns both add up.

    Parameters
    ----------
    rows : sequence of Profit or ActualCost
        Exact amounts, [currency]
    places : int
        Decimals to show, [-]
    """
    if not rows:
        return []
    columns = [
        [getattr(row, one.name) for row in rows]
        if one.name == NOT_MONEY
        else add_up([getattr(row, one.name) for row in rows], places)
        for one in fields(rows[0])
    ]
    return [type(rows[0])(*amounts) for amounts in zip(*columns, strict=True)]
