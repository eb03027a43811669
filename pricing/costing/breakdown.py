"""Where the money of prices goes, as a picture and as the table of its numbers."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from pricing.costing.asking import Asking
from pricing.costing.price import PricePart, beside, price_parts, shown_parts
from studio.charts import Chart, cut_bars
from studio.money import ZERO, minor_places


@dataclass(frozen=True)
class Breakdown:
    """The parts of one price as they are shown: they add up to ``whole``, [currency]."""

    parts: tuple[PricePart, ...]
    currency: str

    @property
    def whole(self) -> Decimal:
        """What the customer pays."""
        return sum((part.amount for part in self.parts), ZERO)

    @property
    def picture(self) -> Chart:
        """A bar cut into the parts."""
        return cut_bars(
            [("", [part.amount for part in self.parts])],
            parts=[part.label for part in self.parts],
            title=self.currency,
            caption="What the price is made of; the numbers are those of the table",
        )


@dataclass(frozen=True)
class PartBeside:
    """One part, and what each price spends on it, by the name of the price."""

    label: str
    cells: tuple[tuple[str, PricePart], ...]

    @property
    def opens(self) -> bool:
        """Whether more is known of what it is made of."""
        return any(part.made_of for _, part in self.cells)


@dataclass(frozen=True)
class SideBySide:
    """Several prices by their names, each a column that adds up to its ``wholes``, [currency]."""

    names: tuple[str, ...]
    rows: tuple[PartBeside, ...]
    wholes: tuple[Decimal, ...]
    currency: str
    caption: str

    @property
    def picture(self) -> Chart:
        """A bar for each price, all cut into the same parts."""
        columns = zip(*(row.cells for row in self.rows), strict=True)
        return cut_bars(
            [
                (name, [part.amount for _, part in cells])
                for name, cells in zip(self.names, columns, strict=True)
            ],
            parts=[row.label for row in self.rows],
            title=self.currency,
            caption=self.caption,
        )


def breakdown(parts: Iterable[PricePart], currency: str, count: int = 1) -> Breakdown:
    """Return the `Breakdown` of a price, or of one of ``count`` that are priced together."""
    each = [
        replace(
            part,
            amount=part.amount / count,
            made_of=tuple((name, amount / count) for name, amount in part.made_of),
        )
        for part in parts
    ]
    return Breakdown(tuple(shown_parts(each, minor_places(currency))), currency)


def asking_breakdown(asking: Asking) -> Breakdown:
    """Return where the asking price of one goes."""
    made = asking.offer
    lines = [line for one in asking.costs for line in one.cost.lines]
    parts = price_parts(lines, net=made.net, tax=made.tax, fees=made.fees, profit=made.profit)
    return breakdown(parts, asking.currency, asking.count)


def side_by_side(prices: Sequence[tuple[str, Breakdown]], caption: str) -> SideBySide | None:
    """Return several prices of one currency, each with its name; None without any."""
    if not prices:
        return None
    names = tuple(name for name, _ in prices)
    rows = beside([one.parts for _, one in prices])
    return SideBySide(
        names,
        tuple(PartBeside(label, tuple(zip(names, parts, strict=True))) for label, parts in rows),
        tuple(one.whole for _, one in prices),
        prices[0][1].currency,
        caption,
    )
