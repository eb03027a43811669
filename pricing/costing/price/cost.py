"""What a piece of work costs to make, line by line."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from typing import Literal

from pricing.costing.price.errors import PriceError
from pricing.costing.price.sessions import Sessions
from studio.money import VALUE_PLACES, ZERO

# What something is made of, by name, [currency].
Amounts = tuple[tuple[str, Decimal], ...]
# What other steps use, before the pour and after it.
PREPARED, FINISHED = "Primer, tape and the like", "Varnish, feet and the like"


@dataclass(frozen=True)
class MaterialCost:
    """One material or layer: its usual cost and its cautious (80 %) case, [currency].

    ``made_of`` says what the usual cost is made of, by name. ``again`` is what the sessions after
    the first take of it on average, for pieces that failed. What ``is_coat`` goes over pieces that
    came out well, so a piece that failed before took none of it.
    """

    label: str
    usual: Decimal
    cautious: Decimal
    made_of: Amounts = ()
    is_coat: bool = False
    again: Decimal = ZERO


@dataclass(frozen=True)
class StepTime:
    """One step of the work: minutes once, and minutes for each piece, [min].

    ``done_for`` says which pieces need it: those wanted, all poured or all coated, failed ones too;
    and so which sessions do.
    """

    label: str
    fixed_minutes: Decimal = ZERO
    minutes_each: Decimal = ZERO
    done_for: Literal["wanted", "poured", "coated"] = "wanted"


@dataclass(frozen=True)
class CostLine:
    """One amount of a cost, usual and cautious [currency], and minutes of work in it [min].

    ``made_of`` are names and amounts that add up to the usual one, where more is known of it.
    """

    kind: str
    label: str
    amount: Decimal
    cautious: Decimal
    minutes: Decimal = ZERO
    made_of: Amounts = ()
    is_coat: bool = False


@dataclass(frozen=True)
class Cost:
    """A cost as lines that add up to its total, [currency], to six places.

    ``kind`` of a line is one of ``"material"``, ``"failures"``, ``"surface"``, ``"prepared"``,
    ``"labour"``, ``"overhead"``, ``"finished"``, ``"packaging"`` and ``"shipping"``.
    """

    sessions: Sessions
    lines: tuple[CostLine, ...]

    @property
    def pieces(self) -> int:
        """How many pieces are wanted, [-]."""
        return self.sessions.pieces

    @property
    def success_rate(self) -> Decimal:
        """Share of poured pieces that turn out well, the topcoat included, [-]."""
        return self.sessions.pour_success * self.sessions.coat_success

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
    sessions: Sessions,
    surface: Decimal = ZERO,
    surface_made_of: Amounts = (),
    surface_spoiled: bool = False,
    prepared: Decimal = ZERO,
    prepared_made_of: Amounts = (),
    finished: Decimal = ZERO,
    finished_made_of: Amounts = (),
    steps: Sequence[StepTime] = (),
    hourly_rate: Decimal = ZERO,
    overhead: Decimal = ZERO,
    overhead_per_hour: Decimal = ZERO,
    packaging: Decimal = ZERO,
    packaging_made_of: Amounts = (),
    shipping: Decimal = ZERO,
) -> Cost:
    """Return what work costs to make, failed pieces included.

    A piece that fails costs what it had taken when it failed, and what failed is poured again in
    sessions of its own. What those take is its own line: their materials, the steps done in them,
    and the surface if a failure spoils it.

    Parameters
    ----------
    materials : sequence of MaterialCost
        Cost of the materials of all pieces, [currency]
    sessions : Sessions
        How many pieces are wanted, and how often they are poured until all are well, [-]
    surface : Decimal
        Cost of all surfaces (tiles, canvases), [currency]
    surface_made_of, prepared_made_of, finished_made_of, packaging_made_of : tuple of (str, Decimal)
        What each of them is, by name, where that is known, [currency]
    surface_spoiled : bool
        Whether a failed pour also loses its surface, [-]; often it is scraped and poured again.
    prepared, finished : Decimal
        What other steps use for all pieces: before they are poured, which is lost with those that
        fail, and before they are packed, [currency]
    steps : sequence of StepTime
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
        If an amount is negative.

    Examples
    --------
    One piece at a success rate of 80 % is poured 1.25 times, at 6.00 and 12 minutes each, after 18
    minutes of setting up for all that day's work:

    >>> from pricing.costing.price.sessions import sessions
    >>> steps = [StepTime("set up", Decimal(18)), StepTime("pour", ZERO, Decimal(12), "poured")]
    >>> cost = cost_of(
    ...     materials=[MaterialCost("paint", Decimal(6), Decimal(8), again=Decimal("1.50"))],
    ...     sessions=sessions(1, Decimal("0.8")),
    ...     steps=steps,
    ...     hourly_rate=Decimal(20),
    ... )
    >>> [(line.kind, float(line.amount)) for line in cost.lines]
    [('material', 6.0), ('failures', 2.5), ('labour', 6.0), ('labour', 4.0)]
    >>> float(cost.total), float(cost.cautious_total), float(cost.minutes)
    (18.5, 21.0, 33.0)

    References
    ----------
    Common practice, no source: materials + labour + overhead.
    """
    pieces = sessions.pieces
    charges = [surface, prepared, finished, hourly_rate, overhead, overhead_per_hour]
    charges += [packaging, shipping]
    charges += [amount for material in materials for amount in (material.usual, material.cautious)]
    charges += [minutes for step in steps for minutes in (step.fixed_minutes, step.minutes_each)]
    if any(charge < 0 for charge in charges):
        raise PriceError("Costs and minutes cannot be below zero.")
    # How many sessions and pieces more than the first and those that are wanted.
    extra = {
        "wanted": (ZERO, ZERO),
        "coated": (sum(sessions.coats.values()) - 1, sessions.coated - pieces),
        "poured": (sum(sessions.pours.values()) - 1, sessions.poured - pieces),
    }
    minutes_by_step = [(step, step.fixed_minutes + pieces * step.minutes_each) for step in steps]
    repeated_minutes = ZERO
    for step in steps:
        times, count = extra[step.done_for]
        repeated_minutes += times * step.fixed_minutes + count * step.minutes_each
    hours = (sum((minutes for _, minutes in minutes_by_step), ZERO) + repeated_minutes) / 60
    poured_again = (sessions.poured - pieces) / pieces
    failures = [(material.label, material.again) for material in materials]
    failures += [
        ("Surface", poured_again * surface if surface_spoiled else ZERO),
        (PREPARED, poured_again * prepared),
        ("Work", repeated_minutes * hourly_rate / 60),
    ]
    made_again = tuple((label, _places(amount)) for label, amount in failures if amount)

    lines = [
        _line(
            "material",
            material.label,
            material.usual,
            material.cautious,
            made_of=material.made_of,
            is_coat=material.is_coat,
        )
        for material in materials
    ]
    usual = sum((amount for _, amount in made_again), ZERO)
    # More is taken of what failed, too.
    more = sum(
        (
            material.again * (material.cautious / material.usual - 1)
            for material in materials
            if material.usual
        ),
        ZERO,
    )
    lines += [
        _line("failures", "Pieces that fail", usual, usual + more, repeated_minutes, made_again),
        _line("surface", "Surface", surface, made_of=surface_made_of),
        _line("prepared", PREPARED, prepared, made_of=prepared_made_of),
    ]
    lines += [
        _line("labour", step.label, minutes * hourly_rate / 60, minutes=minutes)
        for step, minutes in minutes_by_step
    ]
    lines += [
        _line("overhead", "Overhead", overhead + hours * overhead_per_hour),
        _line("finished", FINISHED, finished, made_of=finished_made_of),
        _line("packaging", "Packaging", packaging, made_of=packaging_made_of),
        _line("shipping", "Shipping", shipping),
    ]
    told = tuple(line for line in lines if line.amount or line.cautious)
    return Cost(sessions, told)


def _line(
    kind: str,
    label: str,
    amount: Decimal,
    cautious: Decimal | None = None,
    minutes: Decimal = ZERO,
    made_of: Amounts = (),
    is_coat: bool = False,
) -> CostLine:
    cautious = amount if cautious is None else cautious
    return CostLine(kind, label, _places(amount), _places(cautious), minutes, made_of, is_coat)


def _places(amount: Decimal) -> Decimal:
    return amount.quantize(VALUE_PLACES, ROUND_HALF_UP)
