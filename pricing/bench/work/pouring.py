"""Sessions at the bench: what is poured together, from which cups, bottles and boxes."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_DOWN, ROUND_UP, Decimal

from inventory.models import Material, Recipe
from pricing.bench.mixing_sheets import left_to_do
from pricing.bench.sessions import SessionLayer, session_layers
from pricing.bench.work_shelf import Portion, WorkShelf
from pricing.estimating.answers import LineEstimate, PieceEstimate
from pricing.estimating.estimates import estimate_lines
from pricing.models import Commission, CommissionLine, Palette
from studio.models import Studio
from studio.money import ZERO, allocate
from studio.units import kitchen_measure

TENTH = Decimal("0.1")


@dataclass(frozen=True)
class Mix:
    """One mix of a session's layer, [mL] and in kitchen measures, and what of it is there.

    Where what is there is enough, it is all there is to have, though no whole measure.
    """

    recipe: Recipe
    volume_ml: Decimal
    measure: str
    ready: tuple[Portion, ...]

    @property
    def ready_ml(self) -> Decimal:
        """What of it is in bottles of mix already, [mL]."""
        return sum((one.quantity for one in self.ready), ZERO)

    @property
    def fresh_ml(self) -> Decimal:
        """What is left to mix, [mL]."""
        return self.volume_ml - self.ready_ml

    def is_mixed_for(self, commission: Commission | None) -> bool:
        """Whether some of it is there, and was mixed for a commission, if there is one."""
        if commission is None:
            return False
        batches = [getattr(one.bottle, "batch", None) for one in self.ready]
        work = commission.work_id
        return bool(batches) and all(batch and batch.work_id == work for batch in batches)


@dataclass(frozen=True)
class WorkLayer:
    """One layer of a session and its mixes."""

    session: SessionLayer
    mixes: tuple[Mix, ...]


@dataclass(frozen=True)
class WorkJob:
    """The pieces of one line in a session; ``log`` is what its pour form starts with, by field."""

    line: CommissionLine
    count: int
    log: dict[str, str]


@dataclass(frozen=True)
class Fetch:
    """What some pieces are poured on or prepared with, how much, and out of which boxes."""

    material: Material
    quantity: Decimal
    taken: tuple[Portion, ...]


@dataclass(frozen=True)
class MissingMaterial:
    """How much of a material is missing for a session, in its own unit."""

    material: Material
    missing: Decimal


@dataclass(frozen=True)
class Session:
    """Lines of one palette, poured together from the same cups."""

    palette: Palette
    jobs: tuple[WorkJob, ...]
    layers: tuple[WorkLayer, ...]
    fetch: tuple[Fetch, ...]
    short: tuple[MissingMaterial, ...]

    @property
    def pieces(self) -> int:
        """How many pieces are poured."""
        return sum(job.count for job in self.jobs)

    @property
    def wanted_on(self) -> date | None:
        """The day the first of them is promised or wanted by, or None."""
        return min(filter(None, (job.line.commission.wanted_on for job in self.jobs)), default=None)

    @property
    def commissions(self) -> list[int]:
        """The numbers of the commissions it is for, each once."""
        return list(dict.fromkeys(job.line.commission.number for job in self.jobs))


def sessions(
    studio: Studio, estimates: Iterable[LineEstimate], shelf: WorkShelf
) -> Iterator[Session]:
    by_palette: defaultdict[Palette, list[LineEstimate]] = defaultdict(list)
    for one in estimates:
        by_palette[one.line.palette].append(one)
    for palette, some in by_palette.items():
        yield _session(studio, palette, some, shelf)


def _session(
    studio: Studio, palette: Palette, some: Sequence[LineEstimate], shelf: WorkShelf
) -> Session:
    works = [(f"{one.piece.count} × {one.line.surface.name}", one.piece) for one in some]
    layers, short = _layers(studio, palette, works, shelf)
    fetch = []
    for one in some:
        for material, need in [*one.surface.items(), *one.used_in("pour").items()]:
            if material.is_stocked:
                portions, missing = shelf.take(material.pk, need.to_mix)
                fetch.append(Fetch(material, need.to_mix, tuple(portions)))
                short[material] += missing
    return Session(
        palette=palette,
        jobs=tuple(
            WorkJob(one.line, one.piece.count, _log(layers, place, one.line.commission))
            for place, one in enumerate(some)
        ),
        layers=tuple(layers),
        fetch=tuple(fetch),
        short=tuple(
            MissingMaterial(material, short[material])
            for material in sorted(short, key=lambda one: one.name)
            if short[material] > 0
        ),
    )


def _layers(
    studio: Studio, palette: Palette, works: Sequence[tuple[str, PieceEstimate]], shelf: WorkShelf
) -> tuple[list[WorkLayer], defaultdict[Material, Decimal]]:
    """Return the layers of a session and {material: quantity missing} for them."""
    short: defaultdict[Material, Decimal] = defaultdict(Decimal)
    layers = []
    for layer in session_layers(studio, palette, works):
        mixes = []
        for recipe_id, ml in layer.mix.mixes:
            there = shelf.ready([recipe_id]).get(recipe_id, ZERO)
            if layer.least(ml) <= there < ml:
                ml = there
            ready, missing = shelf.mix(recipe_id, ml)
            for material, quantity in missing.items():
                short[material] += quantity
            measure = kitchen_measure(ml, studio.measures)
            mixes.append(Mix(shelf.book.recipes[recipe_id], ml, measure, tuple(ready)))
        layers.append(WorkLayer(layer, tuple(mixes)))
    return layers, short


def pour_of_line(line: CommissionLine, count: int) -> dict[str, str]:
    """Return what the form for so many pieces of a commission's line starts with, by field.

    What is mixed and not promised to other work is poured first, shared with the commission's
    other lines of this palette.
    """
    studio, commission = line.commission.studio, line.commission
    lines = CommissionLine.objects.filter(commission=commission, palette=line.palette_id)
    to_pour, _ = left_to_do(lines)
    some = estimate_lines(studio, lines, {**to_pour, line.pk: count})
    shelf = WorkShelf(studio, [commission], studio.today())
    (session,) = sessions(studio, some, shelf)
    return next(job.log for job in session.jobs if job.line == line)


def pour_of_plan(studio: Studio, piece: PieceEstimate, palette: Palette) -> dict[str, str]:
    """Return what the form for a plan's pieces starts with, by field; as `pour_of_line`."""
    shelf = WorkShelf(studio, [], studio.today())
    layers, _ = _layers(studio, palette, [("", piece)], shelf)
    return _log(layers, 0)


def _log(
    layers: Iterable[WorkLayer], place: int, commission: Commission | None = None
) -> dict[str, str]:
    """Return what one job's pour form starts with: its part of the cups, and of bottles of mix.

    Where each mix of a layer was mixed for the job's commission, that is what is poured: the cups
    were filled, whatever would be mixed today.
    """
    filled: dict[str, str] = {}
    for layer in layers:
        shares = layer.session.shares
        part = shares[place] / sum(shares)
        if not part:
            continue
        name, mixed = layer.session.layer, ZERO
        if not all(mix.is_mixed_for(commission) for mix in layer.mixes):
            fresh = sum((mix.fresh_ml for mix in layer.mixes), ZERO)
            mixed = allocate(fresh.quantize(TENTH, ROUND_UP), shares, 1)[place]
        for mix in layer.mixes:
            for one in mix.ready:
                if (ml := (one.quantity * part).quantize(TENTH, ROUND_DOWN)) > 0:
                    filled[f"{name}_from_{one.bottle.pk}"] = _ml(ml)
                    mixed += ml
        filled[f"{name}_mixed"] = _ml(mixed)
    return filled


def _ml(volume_ml: Decimal) -> str:
    return f"{volume_ml:f} mL"
