"""Forecast and actual: what each accepted quote counted on, and what came of it."""

from collections import defaultdict
from dataclasses import dataclass
from decimal import Decimal

from pricing.costing.price import Profit, profit
from pricing.earnings.profit import SetProfit, set_profit, total
from pricing.models import Commission, Quote
from studio.models import Studio
from studio.money import ZERO

# Which part of a profit each kind of cost of a quote belongs to; failures are paint and work.
PARTS = {"labour": "labour", "overhead": "overhead"}


@dataclass(frozen=True)
class Hindsight:
    """One commission of which everything ordered is sold, [currency] and [min]."""

    commission: Commission
    forecast: Profit
    actual: Profit

    @property
    def difference(self) -> Decimal:
        """Profit beyond what was counted on, [currency]."""
        return self.actual.profit - self.forecast.profit


def hindsight(studio: Studio) -> list[Hindsight]:
    """Return a `Hindsight` for each commission whose sets are all sold, newest first."""
    sold: defaultdict[int, list[SetProfit]] = defaultdict(list)
    for row in set_profit(studio):
        if row.sale.commission_id and row.sale.refunded_at is None:
            sold[row.sale.commission_id].append(row)
    quotes = Quote.objects.filter(commission__in=sold, status="accepted")
    quotes = quotes.select_related("commission__customer").order_by("-commission__number")
    return [
        Hindsight(quote.commission, _forecast(quote), total(sold[quote.commission_id]))
        for quote in quotes
        if len(sold[quote.commission_id]) >= _ordered(quote)
    ]


def _ordered(quote: Quote) -> int:
    return sum(line["quantity"] for line in quote.frozen["lines"])


def _forecast(quote: Quote) -> Profit:
    """Return what a quote counted on: its cost by kind, with work on failures as labour."""
    totals, settings = quote.frozen["totals"], quote.frozen["settings"]
    sums: defaultdict[str, Decimal] = defaultdict(lambda: ZERO)
    minutes = ZERO
    for line in quote.frozen["lines"]:
        for one in line["cost_lines"]:
            part, amount = PARTS.get(one["kind"], "materials"), Decimal(one["amount"])
            minutes += Decimal(one["minutes"])
            if one["kind"] == "failures":
                work = Decimal(one["minutes"]) * Decimal(settings["labour_rate"]) / 60
                sums["labour"] += work
                amount -= work
            sums[part] += amount
    # Shipping is charged as it costs; what is paid for it stands with the materials, as in a sale.
    net, fees = Decimal(totals["net"]), Decimal(totals["fees"])
    shipping = net - fees - Decimal(totals["cost"]) - Decimal(totals["profit"])
    return profit(
        Decimal(totals["gross"]),
        tax=Decimal(totals["tax"]),
        fees=fees,
        materials=sums["materials"] + shipping,
        labour=sums["labour"],
        overhead=sums["overhead"],
        minutes=minutes,
    )
