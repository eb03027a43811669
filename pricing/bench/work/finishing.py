"""What follows a pour: resin once the paint is dry, packing, handing over."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from django.db.models import QuerySet

from pricing.bench.work.pouring import MissingMaterial
from pricing.bench.work_shelf import WorkShelf
from pricing.estimating.estimates import estimate_lines
from pricing.estimating.layers import LayerEstimate
from pricing.estimating.learning import hand_of
from pricing.estimating.step_materials import amounts_used, with_steps
from pricing.models import Commission, CommissionLine, FinishedPiece, PieceSet, Pour, Topcoating
from pricing.readiness.standing import standing_of
from studio.models import Studio
from studio.money import ZERO

if TYPE_CHECKING:
    from pricing.models.sale import SetSold


@dataclass(frozen=True)
class Coating:
    """Resin over the good pieces of one pour, from the day its paint is dry."""

    pour: Pour
    count: int
    from_on: date
    layer: LayerEstimate


@dataclass(frozen=True)
class Packing:
    """Sets of one line to pack from a day on; ``short`` is how many packagings are missing.

    ``lacks`` is what is missing of varnish, feet and the like.
    """

    line: CommissionLine
    sets: int
    from_on: date
    short: Decimal
    lacks: tuple[MissingMaterial, ...] = ()


@dataclass(frozen=True)
class WorkDelivery:
    """Packed sets of a commission to hand over, all of them or what there is so far."""

    commission: Commission
    sets: int
    of: int
    from_on: date

    @property
    def is_all(self) -> bool:
        """Whether nothing of the commission is left to make."""
        return self.sets == self.of


class Bench:
    """The good pieces and the sets of some lines, read once."""

    def __init__(self, studio: Studio, lines: QuerySet[CommissionLine]) -> None:
        self.studio = studio
        self.hand = hand_of(studio)
        self.lines = list(
            lines.select_related(
                "commission__customer", "surface", "packaging", "technique", "palette", "topcoat"
            ).prefetch_related(with_steps())
        )
        loose = FinishedPiece.objects.filter(
            studio=studio, pour__line__in=self.lines, state=FinishedPiece.State.GOOD, piece_set=None
        )
        self.loose: defaultdict[int, list[FinishedPiece]] = defaultdict(list)
        for piece in loose.order_by("pour__poured_at", "pour", "number"):
            self.loose[piece.pour_id].append(piece)
        self.pours = list(
            Pour.objects.standing()
            .filter(studio=studio, line__in=self.lines)
            .select_related("surface", "technique", "palette", "line__topcoat", "studio")
            .prefetch_related("layers", "topcoatings__kit", "topcoatings__entry__reversed_by")
            .order_by("poured_at", "pk")
        )
        self.standing = standing_of(self.pours, self.hand)
        self.sets: defaultdict[int | None, list[SetSold]] = defaultdict(list)
        sets = PieceSet.objects.packed().with_sold().filter(line__in=self.lines)
        for one in sets.prefetch_related("pieces").order_by("number"):
            self.sets[one.line_id].append(one)

    def coat_of(self, pour: Pour) -> Topcoating | None:
        """Return the latest topcoat over a pour that stands, or None."""
        standing = [one for one in pour.topcoatings.all() if not hasattr(one.entry, "reversed_by")]
        return max(standing, key=lambda one: one.coated_at, default=None)


def coatings(studio: Studio, lines: QuerySet[CommissionLine], bench: Bench) -> Iterator[Coating]:
    """Yield what waits for resin, each with the resin for the pieces of its pour."""
    waiting = [
        (pour, pour.line.pk)
        for pour in bench.pours
        if pour.line is not None
        and pour.line.topcoat_id
        and bench.loose[pour.pk]
        and bench.coat_of(pour) is None
    ]
    counts: Counter[int] = Counter()
    for pour, line in waiting:
        counts[line] += len(bench.loose[pour.pk])
    rows = lines.filter(pk__in=list(counts))
    layers = {
        one.line.pk: resin
        for one in estimate_lines(studio, rows, counts)
        if (resin := one.piece.layer("topcoat"))
    }
    for pour, line in waiting:
        if line in layers:
            count = len(bench.loose[pour.pk])
            yield Coating(pour, count, bench.standing[pour].dry_on, layers[line])


def packings(bench: Bench, shelf: WorkShelf, day: date) -> Iterator[Packing]:
    """Yield what can be packed, now or from the day its pieces are cured."""
    for line in _lines_due_first(bench.lines):
        missing = line.to_pack - len(bench.sets[line.pk])
        ready = sorted(_ready_days(bench, line))
        days = [
            ready[last - 1] for last in range(line.pieces_each, len(ready) + 1, line.pieces_each)
        ]
        by_day = Counter(max(one, day) for one in days[: max(missing, 0)])
        for from_on, sets in sorted(by_day.items()):
            short = ZERO
            if line.packaging and line.packaging.is_stocked:
                _, short = shelf.take(line.packaging.pk, Decimal(sets))
            yield Packing(line, sets, from_on, short, tuple(_lacks(line, sets, shelf)))


def _lacks(line: CommissionLine, sets: int, shelf: WorkShelf) -> Iterator[MissingMaterial]:
    used = amounts_used(
        line.technique.steps.all(),
        "pack",
        line.surface,
        sets * line.pieces_each,
        coated=line.topcoat_id is not None,
    )
    for material, amount in used.items():
        _, missing = shelf.take(material.pk, amount) if material.is_stocked else ((), ZERO)
        if missing:
            yield MissingMaterial(material, missing)


def _ready_days(bench: Bench, line: CommissionLine) -> Iterator[date]:
    """Yield, for each loose good piece of a line, the day from which it can be packed."""
    for pour in bench.pours:
        if pour.line_id != line.pk or not bench.loose[pour.pk]:
            continue
        coat = bench.coat_of(pour)
        if line.topcoat_id and coat is None:
            continue
        yield from [bench.standing[pour].planned_on] * len(bench.loose[pour.pk])


def deliveries(bench: Bench) -> Iterator[WorkDelivery]:
    """Yield what is packed and not handed over, from the day it is cured."""
    by_commission: defaultdict[Commission, list[CommissionLine]] = defaultdict(list)
    for line in _lines_due_first(bench.lines):
        by_commission[line.commission].append(line)
    planned = {pour.pk: one.planned_on for pour, one in bench.standing.items()}
    for commission, lines in by_commission.items():
        there = [one for line in lines for one in bench.sets[line.pk] if not one.is_sold]
        sold = sum(one.is_sold for line in lines for one in bench.sets[line.pk])
        if not there:
            continue
        cured = [
            planned[piece.pour_id]
            for one in there
            for piece in one.pieces.all()
            if piece.pour_id in planned
        ]
        from_on = max([*cured, bench.studio.today()])
        of = sum(line.to_pack for line in lines) - sold
        yield WorkDelivery(commission, len(there), of, from_on)


def _lines_due_first(lines: Iterable[CommissionLine]) -> list[CommissionLine]:
    return sorted(
        lines, key=lambda one: (one.commission.wanted_on or date.max, one.commission.number)
    )
