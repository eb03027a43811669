"""What a commission costs to make: its estimate at today's material prices, and the work in it."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal

from inventory.models import Material
from pricing.costing import price
from pricing.costing.habits import Habit, habits_of
from pricing.costing.worth import MaterialPrice
from pricing.estimating.estimates import CommissionEstimate, LineEstimate
from pricing.estimating.layers import Need
from pricing.models import CommissionLine, LabourStep
from studio.errors import in_words
from studio.models import Studio
from studio.money import ZERO

Step = LabourStep.Step

# A piece that failed is poured and cleaned again. It was not coated or packed before it was seen.
REPEATED = {Step.POUR, Step.CLEAN}


@dataclass(frozen=True)
class LineCost:
    """One line of a commission and what all its pieces cost, failed ones included."""

    line: CommissionLine
    cost: price.Cost


def line_costs(
    studio: Studio,
    estimate: CommissionEstimate,
    prices: Mapping[Material, MaterialPrice],
    habits: Mapping[int, Habit] | None = None,
) -> list[LineCost]:
    """Return a `LineCost` for each line of a `CommissionEstimate` at the given material prices.

    Materials are priced at what is expected to be used, and in the cautious case at the upper end
    of the 80 % interval. A failed piece also loses its surface, since the log takes one for each.
    ``habits`` are those of the studio, where they are known already.
    """
    habits = habits_of(studio) if habits is None else habits
    return [
        _line_cost(studio, one, prices, habits[one.line.technique_id]) for one in estimate.lines
    ]


def minutes_of(line: CommissionLine, habit: Habit) -> Decimal:
    """Return the hands-on minutes of a line by the studio's `Habit`, failures included."""
    with in_words(price.PriceError):
        return price.cost_of(
            materials=(),
            success_rate=habit.success_rate,
            pieces=line.pieces,
            steps=list(_steps(line, habit)),
            hourly_rate=Decimal(1),  # what costs nothing is left out, and its minutes with it
        ).minutes


def _line_cost(
    studio: Studio, estimated: LineEstimate, prices: Mapping[Material, MaterialPrice], habit: Habit
) -> LineCost:
    line, piece = estimated.line, estimated.piece
    materials = [
        price.MaterialCost(
            layer.name,
            _value(layer.materials, "median", prices),
            _value(layer.materials, "high", prices),
        )
        for layer in piece.layers
    ]
    with in_words(price.PriceError):
        return LineCost(
            line,
            price.cost_of(
                materials=materials,
                success_rate=habit.success_rate,
                pieces=line.pieces,
                surface=_value(estimated.surface, "median", prices),
                surface_spoiled=True,
                steps=list(_steps(line, habit)),
                hourly_rate=studio.labour_rate,
                overhead_per_hour=studio.overhead_rate,
                packaging=_value(estimated.packaging, "median", prices),
            ),
        )


def _value(
    needs: Mapping[Material, Need], case: str, prices: Mapping[Material, MaterialPrice]
) -> Decimal:
    return sum(
        (prices[material].cost(getattr(need, case)) for material, need in needs.items()), ZERO
    )


def _steps(line: CommissionLine, habit: Habit) -> Iterator[price.LabourStep]:
    """Yield the steps of a line; packing goes by the set, not by the piece."""
    for step, (fixed, each) in habit.steps.items():
        if step == Step.TOPCOAT and line.topcoat is None:
            continue
        if step == Step.PACK:
            fixed, each = fixed + each * line.quantity, ZERO
        yield price.LabourStep(Step(step).label, fixed, each, step in REPEATED)
