"""What a piece of work costs to make, line by line."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from pricing.costing.price.errors import PriceError
from studio.money import VALUE_PLACES, ZERO


@dataclass(frozen=True)
class MaterialCost:
    """One material or layer: its usual cost and its cautious (80 %) case, [currency]."""

    label: str
    median: Decimal
    cautious: Decimal


@dataclass(frozen=True)
class LabourStep:
    """One step of the work: minutes once, and minutes for each piece, [min].

    A step that a failed piece needs again (pouring, but not packing) is ``repeated``.
    """

    label: str
    fixed_minutes: Decimal = ZERO
    minutes_each: Decimal = ZERO
    repeated: bool = False


@dataclass(frozen=True)
class CostLine:
    """One amount of a cost, usual and cautious [currency], and minutes of work in it [min]."""

    kind: str
    label: str
    amount: Decimal
    cautious: Decimal
    minutes: Decimal = ZERO


@dataclass(frozen=True)
class Cost:
    """A cost as lines that add up to its total, [currency], to six places.

    ``kind`` of a line is one of ``"material"``, ``"failures"``, ``"surface"``, ``"labour"``,
    ``"overhead"``, ``"packaging"`` and ``"shipping"``.
    """

    pieces: int
    success_rate: Decimal
    lines: tuple[CostLine, ...]

    @property
    def total(self) -> Decimal:
        """Sum of the lines, [currency]."""
        return sum((line.amount for line in self.lines), ZERO)

    @property
    def cautious_total(self) -> Decimal:
        """Sum of the lines in the cautious case, [currency]."""
        return sum((line.cautious for line in self.lines), ZERO)

    @property
    def minutes(self) -> Decimal:
        """Minutes of work, those for failed pieces included, [min]."""
        return sum((line.minutes for line in self.lines), ZERO)

    def of(self, kind: str) -> Decimal:
        """Return the sum of the lines of one kind, [currency]."""
        return sum((line.amount for line in self.lines if line.kind == kind), ZERO)


def cost_of(
    *,
    materials: Sequence[MaterialCost],
    success_rate: Decimal,
    pieces: int = 1,
    surface: Decimal = ZERO,
    surface_spoiled: bool = False,
    steps: Sequence[LabourStep] = (),
    hourly_rate: Decimal = ZERO,
    overhead: Decimal = ZERO,
    overhead_per_hour: Decimal = ZERO,
    packaging: Decimal = ZERO,
    shipping: Decimal = ZERO,
) -> Cost:
    """Return what work costs to make, failed pieces included.

    To have one good piece, ``1 / success_rate`` are poured. What the extra ones take is its own
    line: their materials, the repeated steps, and the surface if a failure spoils it.

    Parameters
    ----------
    materials : sequence of MaterialCost
        Cost of the materials of all pieces, [currency]
    success_rate : Decimal
        Share of poured pieces that turn out well, above 0 and at most 1, [-]
    pieces : int
        Number of pieces wanted, at least 1, [-]
    surface : Decimal
        Cost of all surfaces (tiles, canvases), [currency]
    surface_spoiled : bool
        Whether a failed pour also loses its surface, [-]; often it is scraped and poured again.
    steps : sequence of LabourStep
        The work, [min]
    hourly_rate : Decimal
        What an hour of work costs, [currency/h]
    overhead : Decimal
        Overhead charged to this work, [currency]
    overhead_per_hour : Decimal
        Overhead charged for each hour of it, [currency/h]
    packaging, shipping : Decimal
        Cost of packing and of sending all pieces, [currency]

    Returns
    -------
    cost : Cost
        Lines, each rounded half up at six places, that add up to the total, [currency]

    Raises
    ------
    PriceError
        If the success rate is not above 0 and at most 1, there is no piece, or an amount is
        negative.

    Examples
    --------
    Materials of 6.00 at a success rate of 80 %, and 30 minutes at 20 an hour:

    >>> cost = cost_of(
    ...     materials=[MaterialCost("paint", Decimal(6), Decimal(8))],
    ...     success_rate=Decimal("0.8"),
    ...     steps=[LabourStep("pour", fixed_minutes=Decimal(30))],
    ...     hourly_rate=Decimal(20),
    ... )
    >>> [(line.kind, float(line.amount)) for line in cost.lines]
    [('material', 6.0), ('failures', 1.5), ('labour', 10.0)]
    >>> float(cost.total), float(cost.cautious_total)
    (17.5, 20.0)

    References
    ----------
    Common practice, no source: materials + labour + overhead.
    """
    charges = [surface, hourly_rate, overhead, overhead_per_hour, packaging, shipping]
    charges += [amount for each in materials for amount in (each.median, each.cautious)]
    charges += [minutes for step in steps for minutes in (step.fixed_minutes, step.minutes_each)]
    _check(success_rate, pieces, charges)
    again = 1 / Decimal(success_rate) - 1
    done = [(step, step.fixed_minutes + pieces * step.minutes_each) for step in steps]
    redone = again * sum((pieces * step.minutes_each for step in steps if step.repeated), ZERO)
    hours = (sum((minutes for _, minutes in done), ZERO) + redone) / 60
    spoiled = redone * hourly_rate / 60 + (again * surface if surface_spoiled else ZERO)

    lines = [_line("material", each.label, each.median, each.cautious) for each in materials]
    usual = sum((each.median for each in materials), ZERO)
    cautious = sum((each.cautious for each in materials), ZERO)
    lines += [
        _line(
            "failures",
            "Pieces that fail",
            again * usual + spoiled,
            again * cautious + spoiled,
            redone,
        ),
        _line("surface", "Surface", surface),
    ]
    lines += [
        _line("labour", step.label, minutes * hourly_rate / 60, minutes=minutes)
        for step, minutes in done
    ]
    lines += [
        _line("overhead", "Overhead", overhead + hours * overhead_per_hour),
        _line("packaging", "Packaging", packaging),
        _line("shipping", "Shipping", shipping),
    ]
    return Cost(pieces, success_rate, tuple(line for line in lines if line.amount or line.cautious))


def _line(
    kind: str,
    label: str,
    amount: Decimal,
    cautious: Decimal | None = None,
    minutes: Decimal = ZERO,
) -> CostLine:
    cautious = amount if cautious is None else cautious
    return CostLine(kind, label, _places(amount), _places(cautious), minutes)


def _places(amount: Decimal) -> Decimal:
    return amount.quantize(VALUE_PLACES, ROUND_HALF_UP)


def _check(success_rate: Decimal, pieces: int, charges: Sequence[Decimal]) -> None:
    if not 0 < success_rate <= 1:
        raise PriceError(
            f"The share of pieces that turn out well is above 0 % and at most 100 %, "
            f"not {success_rate:.4%}."
        )
    if pieces < 1:
        raise PriceError("A cost is for at least one piece.")
    if any(charge < 0 for charge in charges):
        raise PriceError("Costs and minutes cannot be below zero.")
