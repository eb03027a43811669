"""Forecast and actual: what each accepted quote counted on, and what came of it."""

from collections import defaultdict
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Count, Exists, Max, OuterRef

from pricing.costing.price import Profit, profit
from pricing.earnings.profit import profit_by
from pricing.models import Commission, Posting, Quote, Sale
from studio.models import Studio
from studio.money import ZERO
from studio.periods import ALWAYS, Period

# Which part of a profit each kind of cost of a quote belongs to; failures are paint and work.
PARTS = {"labour": "labour", "overhead": "overhead"}


@dataclass(frozen=True)
class Hindsight:
    """One commission of which everything ordered is sold, in its ``currency``, and [min]."""

    commission: Commission
    currency: str
    forecast: Profit
    actual: Profit

    @property
    def difference(self) -> Decimal:
        """Profit beyond what was counted on, [currency]."""
        return self.actual.profit - self.forecast.profit


def hindsight(
    studio: Studio, period: Period = ALWAYS, number: int | None = None
) -> list[Hindsight]:
    """Return a `Hindsight` for each commission whose sets are all sold, newest first.

    With a period, of those of which the last was sold in it; with a number, of that one.
    """
    standing = Posting.objects.filter(studio=studio, line__is_live=True)
    standing = standing.filter(line__sale__commission__isnull=False)
    if number is not None:
        standing = standing.filter(line__sale__commission__number=number)
    commission = "line__sale__commission"
    sets = standing.filter(kind=Posting.Kind.SOLD).order_by().values_list(commission)
    last = sets.annotate(count=Count("pk"), last=Max("day")).filter(**period.of("last"))
    sold = {key: count for key, count, _ in last}
    earned: defaultdict[int, dict[str, Profit]] = defaultdict(dict)
    for (key, currency), sums in profit_by(standing, commission, "currency").items():
        earned[key][currency] = sums
    has_sale = Exists(Sale.objects.filter(commission=OuterRef("commission"), refunded_at=None))
    quotes = Quote.objects.filter(has_sale, studio=studio, status="accepted")
    if number is not None:
        quotes = quotes.filter(commission__number=number)
    quotes = quotes.select_related("commission__customer").order_by("-commission__number")
    return [
        Hindsight(quote.commission, quote.currency, _forecast(quote), earned[key][quote.currency])
        for quote in quotes
        for key in [quote.commission_id]
        if sold.get(key, 0) >= _ordered(quote) and list(earned[key]) == [quote.currency]
    ]


def _ordered(quote: Quote) -> int:
    """Return how many sets are to be sold; a test tile is none."""
    return sum(line["quantity"] for line in quote.frozen["lines"] if not line.get("is_test"))


def _forecast(quote: Quote) -> Profit:
    """Return the profit that a quote counted on: its cost by kind, work on failures as labour."""
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
