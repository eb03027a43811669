"""What was earned on something sold."""

from dataclasses import dataclass
from decimal import Decimal

from studio.money import ZERO


@dataclass(frozen=True)
class Profit:
    """Revenue and what went off it, [currency]; minutes of work, [min]."""

    revenue: Decimal
    tax: Decimal
    fees: Decimal
    materials: Decimal
    labour: Decimal
    overhead: Decimal
    minutes: Decimal

    @property
    def profit(self) -> Decimal:
        """Revenue less everything, [currency]."""
        return self.revenue - self.tax - self.fees - self.materials - self.labour - self.overhead

    @property
    def margin(self) -> Decimal | None:
        """Profit as a share of revenue without tax, [-]; None without revenue, or less."""
        net = self.revenue - self.tax
        return self.profit / net if net > 0 else None

    @property
    def markup(self) -> Decimal | None:
        """Profit as a share of what making and sending cost, [-]; None where that is nothing."""
        spent = self.materials + self.labour + self.overhead
        return self.profit / spent if spent > 0 else None

    @property
    def per_hour(self) -> Decimal | None:
        """Profit for each hour of work, on top of the labour paid, [currency/h]."""
        return self.profit * 60 / self.minutes if self.minutes > 0 else None

    @property
    def earned_per_hour(self) -> Decimal | None:
        """Profit and labour for each hour: what an owner who works alone earns, [currency/h]."""
        earned = self.profit + self.labour
        return earned * 60 / self.minutes if self.minutes > 0 else None

    def __add__(self, other: "Profit") -> "Profit":
        return Profit(
            *(
                mine + theirs
                for mine, theirs in zip(vars(self).values(), vars(other).values(), strict=True)
            )
        )


def profit(
    revenue: Decimal,
    *,
    tax: Decimal = ZERO,
    fees: Decimal = ZERO,
    materials: Decimal = ZERO,
    labour: Decimal = ZERO,
    overhead: Decimal = ZERO,
    minutes: Decimal = ZERO,
) -> Profit:
    """Return the profit on something sold; profits of several sales can be added up.

    Parameters
    ----------
    revenue : Decimal
        What the customer paid, tax included, [currency]
    tax, fees : Decimal
        Tax inside it and what channels and cards kept, [currency]
    materials : Decimal
        Materials, surfaces, packaging and postage at actual cost, [currency]
    labour, overhead : Decimal
        Work and overhead charged to it, [currency]
    minutes : Decimal
        Work that went into it, [min]

    Returns
    -------
    profit : Profit
        The amounts with ``profit``, ``margin``, ``markup``, ``per_hour`` and
        ``earned_per_hour``, [currency]

    Examples
    --------
    >>> sold = profit(Decimal(48), tax=Decimal(8), fees=Decimal(4), materials=Decimal(11),
    ...               labour=Decimal(15), overhead=Decimal(2), minutes=Decimal(60))
    >>> sold.profit, sold.margin, sold.per_hour
    (Decimal('8'), Decimal('0.2'), Decimal('8'))
    """
    return Profit(revenue, tax, fees, materials, labour, overhead, minutes)
