"""The story told on a terminal, in a page, from what the database holds."""

from decimal import Decimal
from functools import partial

from inventory.buying.purchasing import goods_of
from pricing.earnings.report import reports
from pricing.models import Commission, Quote
from pricing.quoting import papers
from studio.models import Studio
from studio.money import format_money
from studio.units import both


def tell(studio: Studio, commission: Commission) -> str:
    """Return the story of the demo commission as text."""
    lines = [f"{studio.name} (invented): {commission.customer} asks for"]
    for line in commission.lines.all():
        lines.append(f"  {line.quantity} × {line}")
    quote = commission.quotes.order_by("-version").first()
    if quote:
        lines += _estimate(studio, quote)
    if commission.notes:
        lines += ["", *(f"  {note}" for note in commission.notes.splitlines()[1:])]
    if quote:
        lines += _quoted(studio, quote)
    lines += _bought(studio)
    lines += _earned(studio)
    return "\n".join(lines)


def _money(studio: Studio, amount: Decimal) -> str:
    return format_money(amount, studio.currency, studio.locale)


def _estimate(studio: Studio, quote: Quote) -> list[str]:
    rows = ["", "How much paint (likely, and the range 8 pours in 10 fall in)"]
    for line in quote.frozen["lines"]:
        rows.append(f"  {line['pieces']} × {line['surface']}")
        for layer in line["layers"]:
            middle = both(Decimal(layer["median_ml"]), studio.measures)
            low, high = (float(layer[name]) for name in ("low_ml", "high_ml"))
            rows.append(f"    {layer['name']:<15} {middle:<24} {low:.0f}–{high:.0f} mL")
    return rows


def _quoted(studio: Studio, quote: Quote) -> list[str]:
    until = f", valid until {quote.valid_until:%d %b %Y}" if quote.valid_until else ""
    totals = quote.frozen["totals"]
    margin, markup = float(totals["margin"]), papers.markup_of(totals)
    return [
        "",
        f"{quote}: {_money(studio, quote.gross)} with tax, deposit "
        f"{_money(studio, quote.deposit)}{until}; margin {margin:.0%}, "
        f"markup {markup:.0%}",
    ]


def _bought(studio: Studio) -> list[str]:
    orders = list(studio.purchase_orders.select_related("supplier").order_by("number"))
    if not orders:
        return []
    sums = {order: goods_of(order) + order.shipping for order in orders}
    rows = [f"Reorder: {_money(studio, sum(sums.values(), Decimal(0)))} delivered, by supplier"]
    rows += [
        f"  {order.supplier}: {_money(studio, amount)} ({order.get_status_display().lower()})"
        for order, amount in sums.items()
    ]
    return rows


def _earned(studio: Studio) -> list[str]:
    lines = []
    for report in reports(studio):
        money = partial(format_money, currency=report.currency, locale=report.locale)
        lines += ["", "Earned, from what the bottles really cost"]
        for row in reversed(report.rows):
            sums = row.profit
            cost = sums.materials + sums.labour + sums.overhead
            lines.append(
                f"  Set {row.piece_set.number} ({row.pieces} × {row.size}"
                f"{', refunded' if row.is_refund else ''}): "
                f"{money(sums.revenue)} − tax {money(sums.tax)} "
                f"− fees {money(sums.fees)} − cost {money(cost)} = {money(sums.profit)}"
            )
        lines.append(f"  Profit in all: {money(report.total.profit)}")
        lines += [f"  {one.label}: −{money(one.cost.total)}" for one in report.lost]
        if report.lost:
            lines.append(f"  After what was lost: {money(report.after_losses)}")
    return lines
