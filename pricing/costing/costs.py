"""What a commission costs to make: its estimate at today's material prices, and the work in it."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Literal

from inventory.models import Material
from inventory.stock.costing import Scraped, as_much_of, run_off_value
from pricing.costing import price
from pricing.costing.habits import SESSIONS, Habit, habits_of
from pricing.costing.material_prices import MaterialPrice
from pricing.estimating.answers import LineEstimate, PieceEstimate
from pricing.estimating.layers import LAYER_NAMES, LayerEstimate, Need, add_needs
from pricing.estimating.making import LayerUse
from pricing.estimating.mixing import Spent
from pricing.models import CommissionLine, LabourStep
from studio.errors import in_words
from studio.models import Studio
from studio.money import ZERO

Step = LabourStep.Step

# What is done again for a piece that failed in the pour, and in the topcoat. It was not packed
# before it was seen.
DONE_FOR: dict[str, Literal["poured", "coated", "wanted"]] = {
    Step.PREPARE: "poured",
    Step.SCUFF: "poured",
    Step.PRIME: "poured",
    Step.TAPE: "poured",
    Step.OWN: "poured",
    Step.SET_UP: "poured",
    Step.LEVEL: "poured",
    Step.POUR: "poured",
    Step.CLEAN: "poured",
    Step.SEAL: "coated",
    Step.TOPCOAT: "coated",
}
KEPT = "Run-off that is kept"
BY_THE_SET = {
    *(Step.VARNISH, Step.FEET, Step.OWN_LAST),
    *(Step.PACK, Step.PHOTOGRAPH, Step.CUSTOMER),
}


@dataclass(frozen=True)
class LineCost:
    """One line of a commission and what all its pieces cost, failed ones included.

    ``again`` is {material: quantity} that pieces which fail take on average; ``guess`` says what of
    success, minutes and kept paint has no source yet, empty where nothing.
    """

    line: CommissionLine
    cost: price.Cost
    again: Mapping[Material, Decimal]
    guess: str = ""


def line_costs(
    studio: Studio,
    estimates: Sequence[LineEstimate],
    prices: Mapping[Material, MaterialPrice],
    habits: Mapping[int, Habit] | None = None,
) -> list[LineCost]:
    """Return a `LineCost` for each `LineEstimate` at the given material prices.

    Paint is what is mixed for the pieces, less what the studio keeps of it: leftovers in bottles of
    mix, and run-off, as far as it values that. The cautious case is the upper end of the 80 %
    interval. What failed is poured again in sessions of its own, each mixed for by itself. A failed
    piece also loses its surface, since the log takes one for each; resin it took only if it failed
    in the topcoat. ``habits`` are those of the studio, where they are known.
    """
    habits = habits_of(studio) if habits is None else habits
    return [_line_cost(studio, one, prices, habits[one.line.technique_id]) for one in estimates]


def sessions_of(line: CommissionLine, habit: Habit) -> price.Sessions:
    """Return the sessions to expect until all pieces of a line came out well."""
    coat_success = habit.coat_success if line.topcoat else Decimal(1)
    with in_words(price.PriceError):
        return price.sessions(line.pieces, habit.pour_success, coat_success)


def minutes_of(line: CommissionLine, habit: Habit) -> Decimal:
    """Return the hands-on minutes of a line by the studio's `Habit`, failures included."""
    return _minutes(line, habit, _steps(line, habit))


def _minutes(line: CommissionLine, habit: Habit, steps: Sequence[price.StepTime]) -> Decimal:
    with in_words(price.PriceError):
        return price.cost_of(
            materials=(),
            sessions=sessions_of(line, habit),
            steps=steps,
            hourly_rate=Decimal(1),  # what costs nothing is left out, and its minutes with it
        ).minutes


def packing_minutes(line: CommissionLine, habit: Habit) -> Decimal:
    """Return the minutes to pack one set of a line, [min]: its share of packing all of them."""
    labels = {Step(step).label for step in packed_with(line)}
    steps = (one for one in _steps(line, habit) if one.label in labels)
    minutes = sum((one.fixed_minutes + line.pieces * one.minutes_each for one in steps), ZERO)
    return minutes / line.quantity


def packed_with(line: CommissionLine) -> tuple[str, ...]:
    """Return the steps that are done as a line is packed; what gets no topcoat is sealed then."""
    return SESSIONS["pack"] if line.topcoat else (*SESSIONS["pack"], Step.SEAL)


def taken_again(estimated: LineEstimate, sessions: price.Sessions) -> dict[Material, Decimal]:
    """Return {material: quantity} that sessions after the first take on average."""
    return _taken_again(estimated, sessions, _again(estimated.piece, sessions))


def _taken_again(
    estimated: LineEstimate, sessions: price.Sessions, layers: Sequence[LayerUse]
) -> dict[Material, Decimal]:
    again: dict[Material, Decimal] = {}
    shares = {"pour": _share(sessions.poured, sessions), "coat": _share(sessions.coated, sessions)}
    spoiled = [(estimated.surface, shares["pour"])]
    spoiled += [(estimated.used_in(act), share) for act, share in shares.items()]
    for needs, share in spoiled:
        for material, need in needs.items() if share else ():
            again[material] = again.get(material, ZERO) + need.used * share
    for material, need in add_needs(*(layer.materials for layer in layers)).items():
        again[material] = again.get(material, ZERO) + need.used
    return again


def _share(made: Decimal, sessions: price.Sessions) -> Decimal:
    """Return how many pieces more than the wanted ones are made, of those wanted, [-]."""
    return (made - sessions.pieces) / sessions.pieces


def _again(piece: PieceEstimate, sessions: price.Sessions) -> tuple[LayerUse, ...]:
    if piece.making is None:
        return ()
    return piece.making.over(sessions.pours_again, sessions.coats_again)


def _line_cost(
    studio: Studio, estimated: LineEstimate, prices: Mapping[Material, MaterialPrice], habit: Habit
) -> LineCost:
    line, piece = estimated.line, estimated.piece
    sessions = sessions_of(line, habit)
    materials, layers = _layer_costs(studio, piece.layers, prices), _again(piece, sessions)
    again = {one.label: one.usual for one in _layer_costs(studio, layers, prices)}
    paint = [replace(one, again=again.get(one.label, ZERO)) for one in materials]
    prepared, finished = estimated.used_in("pour"), estimated.used_in("pack")
    with in_words(price.PriceError):
        return LineCost(
            line,
            price.cost_of(
                materials=[*paint, *_sealed(estimated, sessions, prices)],
                sessions=sessions,
                surface=_value(estimated.surface, "used", prices),
                surface_made_of=_named(estimated.surface, prices),
                surface_spoiled=True,
                prepared=_value(prepared, "used", prices),
                prepared_made_of=_named(prepared, prices),
                finished=_value(finished, "used", prices),
                finished_made_of=_named(finished, prices),
                steps=_steps(line, habit),
                hourly_rate=studio.labour_rate,
                overhead_per_hour=studio.overhead_rate,
                packaging=_value(estimated.packaging, "used", prices),
                packaging_made_of=_named(estimated.packaging, prices),
            ),
            _taken_again(estimated, sessions, layers),
            guess_of(estimated, habit),
        )


def _sealed(
    estimated: LineEstimate, sessions: price.Sessions, prices: Mapping[Material, MaterialPrice]
) -> list[price.MaterialCost]:
    """Return what sealing before the resin costs: it goes with the topcoat."""
    needs = estimated.used_in("coat")
    if not needs:
        return []
    cost = _value(needs, "used", prices)
    again = cost * _share(sessions.coated, sessions)
    made_of = _named(needs, prices)
    return [price.MaterialCost(LAYER_NAMES["topcoat"], cost, cost, made_of, True, again)]


def _named(
    needs: Mapping[Material, Need], prices: Mapping[Material, MaterialPrice]
) -> tuple[tuple[str, Decimal], ...]:
    """Return what is used of each material, by its name, [currency]."""
    return tuple((key.name, prices[key].cost(need.used)) for key, need in needs.items())


def guess_of(estimated: LineEstimate, habit: Habit) -> str:
    """Say what of success, minutes and keeping paint has no source yet; empty where nothing."""
    keeping = "how much of the paint is kept" if estimated.piece.keeping.is_guess else ""
    return habit.guess_in_words(estimated.line.topcoat is not None, also=keeping)


def _layer_costs(
    studio: Studio,
    layers: Sequence[LayerEstimate | LayerUse],
    prices: Mapping[Material, MaterialPrice],
) -> list[price.MaterialCost]:
    """Return what each layer costs, less what the run-off kept of it is worth."""
    took = {layer.layer: _value(layer.materials, "used", prices) for layer in layers}
    kept = run_off_values(studio, {layer.layer: layer.spent for layer in layers}, took)
    costs = []
    for layer in layers:
        made_of = _named(layer.materials, prices)
        back = kept.get(layer.layer, ZERO)
        if back:
            made_of += ((KEPT, -back),)
        costs.append(
            price.MaterialCost(
                layer.name,
                took[layer.layer] - back,
                max(_value(layer.materials, "high", prices), took[layer.layer]) - back,
                made_of,
                is_coat=layer.layer == "topcoat",
            )
        )
    return costs


def run_off_values(
    studio: Studio, spent: Mapping[str, Spent], took: Mapping[str, Decimal]
) -> dict[str, Decimal]:
    """Return {layer: what its run-off will be worth, [currency]}, as the ledger will value it.

    ``spent`` says by layer where its paint goes, ``took`` what that costs.
    """
    if studio.run_off_value == Studio.RunOffValue.NOTHING:
        return {}
    scraped = {layer: Scraped(one.scraped, one.used) for layer, one in spent.items()}
    replaces = as_much_of("base", scraped, took)
    kept_ml = sum((one.scraped for one in spent.values()), ZERO)
    return {
        layer: run_off_value(
            {layer: one}, took, None if replaces is None else replaces * one.ml / kept_ml
        )
        for layer, one in scraped.items()
        if one.ml
    }


def _value(
    needs: Mapping[Material, Need], case: str, prices: Mapping[Material, MaterialPrice]
) -> Decimal:
    return sum(
        (prices[material].cost(getattr(need, case)) for material, need in needs.items()), ZERO
    )


def _steps(line: CommissionLine, habit: Habit) -> list[price.StepTime]:
    """Return the steps of a line: its own minutes shared out as the technique's, if it has any."""
    steps = list(_of_technique(line, habit))
    if line.minutes_each is None:
        return steps
    usual = _minutes(line, habit, steps)
    if not usual:
        steps = [price.StepTime(Step.POUR.label, minutes_each=Decimal(1))]
        usual = Decimal(line.pieces)
    times = line.minutes_each * line.quantity / usual
    return [
        replace(
            one,
            fixed_minutes=one.fixed_minutes * times,
            minutes_each=one.minutes_each * times,
        )
        for one in steps
    ]


def _of_technique(line: CommissionLine, habit: Habit) -> Iterator[price.StepTime]:
    """Yield the steps of a line; what is done by the set is not done by the piece.

    A test tile is not packed, so it has none of the steps that go with that.
    """
    packing = packed_with(line)
    for step, (fixed, each) in habit.steps_for(coated=line.topcoat is not None).items():
        if line.is_test and step in packing:
            continue
        if step in BY_THE_SET:
            fixed, each = fixed + each * line.quantity, ZERO
        done_for = DONE_FOR.get(step, "wanted")
        if done_for == "coated" and line.topcoat is None:
            done_for = "wanted"  # sealed together, when all are there
        yield price.StepTime(Step(step).label, fixed, each, done_for)
