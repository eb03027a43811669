"""What made the good ones good: judged pours of one technique, palette and size side by side."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from statistics import fmean

from django.db.models import Count, Max, QuerySet

from inventory.stock.shelf import local_day
from inventory.words import listed
from pricing.bench.differences import RATINGS, Answer, Seen, answers
from pricing.bench.frozen_pours import poured_mixes
from pricing.bench.moving import ALIKE
from pricing.models import FinishedPiece, Judgement, Picture, Pour, PourLayer
from pricing.models.moved import NOT_NOTED, Moved
from studio.models import Studio
from studio.units import degrees

# Fewer judged pours than this cannot have enough on two sides, so nothing is asked of them.
LEAST = 6
# So many of the latest pours are compared: what a hand did ten years ago says little of it now.
MOST = 300
GOOD = FinishedPiece.Verdict.GOOD


@dataclass(frozen=True)
class Example:
    """One pour as an example: how its pieces came out, and what it looks like."""

    pour: Pour
    seen: Seen
    picture: Picture


@dataclass(frozen=True)
class Compared:
    """The judged pours like one of a studio, and what goes with those that came out well.

    ``best`` and ``worst`` are two that have a picture, or None; ``differed`` says (what, of the
    best, of the worst) where both are known, ``unknown`` what is not noted of one or both.
    ``unjudged`` are pours like it of which nobody said how they came out. Of more than `MOST`
    judged ones the latest count.
    """

    pour: Pour
    seen: tuple[Seen, ...]
    answers: tuple[Answer, ...]
    best: Example | None
    worst: Example | None
    differed: tuple[tuple[str, str, str], ...]
    unknown: tuple[str, ...]
    unjudged: int

    @property
    def examples(self) -> tuple[tuple[str, Example], ...]:
        """The best and the worst pour that have a picture, with what to call them."""
        both = (("Best", self.best), ("Worst", self.worst))
        return tuple((label, one) for label, one in both if one is not None)

    @property
    def is_cut(self) -> bool:
        """Whether there may be earlier pours that are left out."""
        return len(self.seen) == MOST

    @property
    def lines(self) -> tuple[tuple[Answer, dict[str, str]], ...]:
        """Each answer with its words: of its estimates, or of what to pour to find out."""
        return tuple((one, _words(one)) for one in self.answers)

    @property
    def stood_out(self) -> tuple[Answer, ...]:
        """The questions of which something is told."""
        return tuple(one for one in self.answers if one.good and one.good.is_told)


@dataclass(frozen=True)
class Group:
    """Judged pours of one technique, palette and size: how many, and the latest of them."""

    latest: Pour
    pours: int


def compared(pour: Pour) -> Compared:
    """Return the `Compared` of the pours like one, its pictures and answers; nothing is written."""
    alike = _judged(pour.studio).filter(**{name: getattr(pour, name) for name in ALIKE})
    latest = (
        alike.select_related("studio")
        .prefetch_related("layers", "pictures", "pieces__judgements", "pieces__pictures")
        .order_by("-poured_at", "-pk")[:MOST]
    )
    rows = list(latest)[::-1]
    seen = [(row, _seen(row)) for row in rows]
    best, worst = _examples(seen)
    facts = [_facts(one.pour) if one else [] for one in (best, worst)]
    beside = [(label, left, right) for (label, left), (_, right) in zip(*facts, strict=True)]
    standing = pour.studio.pours.standing().filter(**{n: getattr(pour, n) for n in ALIKE})
    return Compared(
        pour=pour,
        seen=tuple(one for _, one in seen),
        answers=answers((one for _, one in seen), groups=_groups_asked(pour.studio)),
        best=best,
        worst=worst,
        differed=tuple(row for row in beside if NOT_NOTED not in row and row[1] != row[2]),
        unknown=tuple(row[0] for row in beside if NOT_NOTED in row),
        unjudged=standing.filter(judged_count=0).count(),
    )


def _words(answer: Answer) -> dict[str, str]:
    if answer.good is None:
        return {"to_find_out": _to_find_out(answer)}
    told = {"good": answer.good.times(100)}
    return told | ({"rated": answer.rated.times(RATINGS, 1)} if answer.rated else {})


def _to_find_out(answer: Answer) -> str:
    """Say what to pour before anything can be said: 2 more “with heat” on another day."""
    told = []
    for band, pours, days in answer.lacks:
        more = max(pours, days)  # a day that lacks takes a pour
        when = {0: "", 1: " on another day"}.get(days, " on two days")
        told.append(f"{more} more “{band}”{when}")
    return listed(told)


def groups_of(studio: Studio, **only: int) -> tuple[Group, ...]:
    """Return the like groups of a studio that have judged pours, those poured last first.

    ``only`` narrows them, by ``palette`` or ``technique``, to a key.
    """
    rows = _judged(studio).filter(**only).order_by().values(*ALIKE)
    counts = {
        row["latest"]: row["pours"]
        for row in rows.annotate(latest=Max("number"), pours=Count("pk", distinct=True))
    }
    latest = studio.pours.filter(number__in=counts).order_by("-number")
    named = latest.select_related("technique", "palette", "surface")
    return tuple(Group(pour, counts[pour.number]) for pour in named)


def _judged(studio: Studio) -> QuerySet[Pour]:
    return studio.pours.standing().filter(judged_count__gt=0)


def _groups_asked(studio: Studio) -> int:
    """Return of how many groups a studio asks: those in which two sides can have enough."""
    groups = _judged(studio).order_by().values(*ALIKE).annotate(pours=Count("pk"))
    found: int = groups.filter(pours__gte=LEAST).count()
    return max(found, 1)


def _seen(pour: Pour) -> Seen:
    judged = [one for piece in pour.pieces.all() if (one := _judgement(piece))]
    ratings = [
        float(rating)
        for one in judged
        for rating in (one.cells, one.composition)
        if rating is not None
    ]
    room = pour.room_c
    rest = pour.rest_minutes
    moves = pour.move_codes
    return Seen(
        number=pour.number,
        day=local_day(pour.studio, pour.poured_at),
        good=sum(one.verdict == GOOD for one in judged),
        judged=len(judged),
        rating=fmean(ratings) if ratings else None,
        base_trace=_trace(pour, PourLayer.Layer.BASE),
        colours_trace=_trace(pour, PourLayer.Layer.COLOURS),
        moves=[one for one in moves if one != Moved.Move.NONE] if moves else None,
        has_heat=pour.heat != Moved.Heat.NONE if pour.heat else None,
        rest_minutes=None if rest is None else float(rest),
        was_covered=pour.was_covered,
        room_c=None if room is None else float(room),
    )


def _judgement(piece: FinishedPiece) -> Judgement | None:
    """Return what was seen of the paint: dry, or under resin where nobody looked before that."""
    by_stage = {one.stage: one for one in piece.judgements.all()}
    return by_stage.get(Judgement.Stage.DRY) or by_stage.get(Judgement.Stage.COATED)


def _trace(pour: Pour, layer: str) -> float | None:
    """Return the mean trace of the mixes of a layer, [s]; None where one of them is not known."""
    mixes = [one for row in pour.layers.all() if row.layer == layer for one in poured_mixes(row)]
    traces = [one.trace_seconds for one in mixes if one.mix]
    known = [float(one) for one in traces if one is not None]
    return fmean(known) if known and len(known) == len(traces) else None


def _examples(seen: Sequence[tuple[Pour, Seen]]) -> tuple[Example | None, Example | None]:
    """Return the best and the worst pour that have a picture; the later of two alike."""
    shown = [
        Example(pour, one, picture)
        for pour, one in seen
        if (picture := next(_pictures(pour), None))
    ]
    ranked = sorted(shown, key=_rank)
    if len(ranked) < 2 or _rank(ranked[0]) == _rank(ranked[-1]):
        return None, None
    return ranked[-1], ranked[0]


def _rank(example: Example) -> tuple[float, float]:
    return example.seen.share, example.seen.rating or 0


def _pictures(pour: Pour) -> Iterator[Picture]:
    """Yield the pictures of a pour, those of its pieces first."""
    for piece in pour.pieces.all():
        yield from piece.pictures.all()
    yield from pour.pictures.all()


def _facts(pour: Pour) -> list[tuple[str, str]]:
    """Return what is known of how a pour was done, in words, the same labels every time."""
    found = _seen(pour)
    traces: Iterable[tuple[str, float | None]] = (
        ("Trace of the base", found.base_trace),
        ("Trace of the colours", found.colours_trace),
    )
    told = [(label, NOT_NOTED if one is None else f"{one:.1f} s") for label, one in traces]
    room = pour.room_c
    told.append(("Room", NOT_NOTED if room is None else degrees(room)))
    return [*told, *pour.moved_facts]
