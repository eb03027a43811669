"""Sessions at the bench: what is poured together, from which cups, bottles and boxes."""

from collections import Counter, defaultdict
from dataclasses import dataclass
from decimal import ROUND_DOWN, ROUND_UP, Decimal

from inventory.models import Material, Recipe
from pricing.estimates import LineEstimate
from pricing.models import CommissionLine, Palette
from pricing.sessions import SessionLayer, session_layers
from pricing.work.shelf import Taken
from studio.units import kitchen_measure

ZERO = Decimal(0)
TENTH = Decimal("0.1")


@dataclass(frozen=True)
class Mix:
    """One mix of a session's layer, [mL] and in kitchen measures, and what of it is there."""

    recipe: Recipe
    volume_ml: Decimal
    measure: str
    ready: tuple[Taken, ...]

    @property
    def ready_ml(self):
        """What of it is in bottles of mix already, [mL]."""
        return sum((one.quantity for one in self.ready), ZERO)

    @property
    def fresh_ml(self):
        """What is left to mix, [mL]."""
        return self.volume_ml - self.ready_ml


@dataclass(frozen=True)
class Layer:
    """One layer of a session and its mixes."""

    session: SessionLayer
    mixes: tuple[Mix, ...]


@dataclass(frozen=True)
class Job:
    """So many pieces of one line; ``log`` is what its pour form starts with, by field."""

    line: CommissionLine
    count: int
    log: dict[str, str]


@dataclass(frozen=True)
class Fetch:
    """What some pieces are poured on, how many, and out of which boxes."""

    material: Material
    quantity: Decimal
    taken: tuple[Taken, ...]


@dataclass(frozen=True)
class Short:
    """How much of a material is missing for a session, in its own unit."""

    material: Material
    missing: Decimal


@dataclass(frozen=True)
class Session:
    """Lines of one palette, poured together from the same cups."""

    palette: Palette
    jobs: tuple[Job, ...]
    layers: tuple[Layer, ...]
    fetch: tuple[Fetch, ...]
    short: tuple[Short, ...]

    @property
    def pieces(self):
        """How many pieces are poured."""
        return sum(job.count for job in self.jobs)

    @property
    def wanted_on(self):
        """The day the first of them is promised or wanted by, or None."""
        return min(filter(None, (job.line.commission.wanted_on for job in self.jobs)), default=None)

    @property
    def commissions(self):
        """The numbers of the commissions it is for, each once."""
        return list(dict.fromkeys(job.line.commission.number for job in self.jobs))


def sessions(studio, estimates, shelf):
    by_palette = defaultdict(list)
    for one in estimates:
        by_palette[one.line.palette].append(one)
    for palette, some in by_palette.items():
        yield _session(studio, palette, some, shelf)


def _session(studio, palette, some: list[LineEstimate], shelf):
    works = [(f"{one.piece.count} × {one.line.surface.name}", one.piece) for one in some]
    short, layers = Counter(), []
    for found in session_layers(studio, palette, works):
        mixes = []
        for recipe_id, ml in found.mixes:
            ready, missing = shelf.mix(recipe_id, ml)
            short.update(missing)
            measure = kitchen_measure(ml, studio.measures)
            mixes.append(Mix(shelf.book.recipes[recipe_id], ml, measure, tuple(ready)))
        layers.append(Layer(found, tuple(mixes)))
    fetch = []
    for one in some:
        for material, need in one.surface.items():
            if material.is_stocked:
                taken, missing = shelf.take(material.pk, need.to_mix)
                fetch.append(Fetch(material, need.to_mix, tuple(taken)))
                short[material] += missing
    return Session(
        palette=palette,
        jobs=tuple(
            Job(one.line, one.piece.count, _log(layers, place)) for place, one in enumerate(some)
        ),
        layers=tuple(layers),
        fetch=tuple(fetch),
        short=tuple(
            Short(material, short[material])
            for material in sorted(+short, key=lambda one: one.name)
        ),
    )


def _log(layers, place):
    """Return what one job's pour form starts with: its part of the cups, and of bottles of mix."""
    filled = {}
    for layer in layers:
        part = layer.session.shares[place] / sum(layer.session.shares)
        if not part:
            continue
        name = layer.session.layer
        filled[f"{name}_mixed"] = _ml(layer.session.volume_ml * part, ROUND_UP)
        for mix in layer.mixes:
            for one in mix.ready:
                if (ml := (one.quantity * part).quantize(TENTH, ROUND_DOWN)) > 0:
                    filled[f"{name}_from_{one.bottle.pk}"] = _ml(ml, ROUND_DOWN)
    return filled


def _ml(volume_ml, rounding):
    return f"{volume_ml.quantize(TENTH, rounding):f} mL"
