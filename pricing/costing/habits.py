"""How often each technique succeeds in this studio and how long its steps take: set, and learned.

A technique's own page holds the first guess. Where the technique learns, the studio's logged pours,
topcoats and packed sets correct it; without any, the guess stands.
"""

from collections import Counter, defaultdict
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from pricing.costing import price
from pricing.models import FinishedPiece, LabourStep, PieceSet, Pour, Technique, Topcoating
from studio.errors import in_words
from studio.models import Studio
from studio.money import ZERO

PLACES = Decimal("0.01")
# The latest sessions are enough, and a hand changes over the years.
LATEST = 300
Step = LabourStep.Step

# Minutes of each step: once a session, and again for each piece; and what was logged by kind.
Steps = dict[str, tuple[Decimal, Decimal]]
Sessions = dict[str, list[price.Session]]

# What one logged session covers: its minutes hold these steps.
SESSIONS = {
    "pour": (Step.SET_UP, Step.POUR, Step.CLEAN),
    "topcoat": (Step.TOPCOAT,),
    "pack": (Step.PACK,),
}


@dataclass(frozen=True)
class Habit:
    """One technique as this studio works: the share that succeeds [-], and minutes by step [min].

    ``steps`` is {step: (once a session, again for each piece)}. ``pieces`` and ``good`` are those
    it was learned from, ``sessions`` how many of each kind.
    """

    success_rate: Decimal
    steps: Steps
    pieces: int = 0
    good: int = 0
    sessions: dict[str, int] | None = None

    @property
    def is_learned(self) -> bool:
        """Whether anything of it comes from the studio's own record."""
        return bool(self.pieces or self.sessions)

    def minutes(self, kind: str, count: int) -> Decimal:
        """Return what a session of one of `SESSIONS` takes for so many pieces, whole, [min]."""
        steps = [self.steps[step] for step in SESSIONS[kind] if step in self.steps]
        total = sum((once + each * count for once, each in steps), ZERO)
        return total.quantize(Decimal(1), ROUND_HALF_UP)

    @property
    def shown(self) -> list[str]:
        """Each step that takes time in words, such as “Pour 4 min each”, in the order of work."""
        words = []
        for step, (once, each) in self.steps.items():
            parts = [f"{_minutes(once)} min"] if once else []
            parts += [f"{_minutes(each)} min each"] if each else []
            if parts:
                words.append(f"{Step(step).label} {' and '.join(parts)}")
        return words


def _minutes(number: Decimal) -> str:
    return f"{number.quantize(Decimal('0.1'), ROUND_HALF_UP).normalize():f}"


def habits_of(studio: Studio) -> dict[int, Habit]:
    """Return {technique key: Habit} of all techniques, in six queries."""
    techniques = Technique.objects.filter(studio=studio).prefetch_related("steps")
    pieces, sessions = _pieces(studio), _sessions(studio)
    with in_words(price.PriceError):
        return {one.pk: _habit(one, pieces[one.pk], sessions[one.pk]) for one in techniques}


def _habit(technique: Technique, counted: tuple[int, int], sessions: Sessions) -> Habit:
    guess = {step.step: (step.fixed_minutes, step.minutes_each) for step in technique.steps.all()}
    if not technique.learns:
        return Habit(technique.success_rate, guess)
    good, total = counted
    return Habit(
        success_rate=price.success_rate(technique.success_rate, good, total),
        steps=_steps(guess, sessions),
        pieces=total,
        good=good,
        sessions={kind: len(some) for kind, some in sessions.items() if some},
    )


def _steps(guess: Steps, sessions: Sessions) -> Steps:
    """Correct the minutes of each kind of session, and share them out as the guess does."""
    found = dict(guess)
    for kind, steps in SESSIONS.items():
        known = [step for step in steps if step in guess]
        if not sessions[kind] or not known:
            continue
        once, each = (sum((guess[step][part] for step in known), ZERO) for part in (0, 1))
        learned = price.session_minutes(once, each, sessions[kind])
        for part, (old, new) in enumerate(zip((once, each), learned, strict=True)):
            for step in known:
                share = guess[step][part] / old if old else Decimal(1) / len(known)
                minutes = list(found[step])
                minutes[part] = (new * share).quantize(PLACES, ROUND_HALF_UP)
                found[step] = (minutes[0], minutes[1])
    return found


def _pieces(studio: Studio) -> defaultdict[int, tuple[int, int]]:
    """Return {technique: (good, all)} of the pieces of pours that are learned from."""
    rows = FinishedPiece.objects.filter(
        studio=studio, pour__in=Pour.objects.filter(studio=studio).to_learn_from()
    )
    counted: defaultdict[int, Counter[bool]] = defaultdict(Counter)
    for technique, state in rows.order_by("-pk").values_list("pour__technique", "state"):
        counted[technique][state == FinishedPiece.State.GOOD] += 1
    return defaultdict(
        lambda: (0, 0), {key: (some[True], some.total()) for key, some in counted.items()}
    )


def _sessions(studio: Studio) -> defaultdict[int, Sessions]:
    """Return {technique: {kind: [Session]}} of what was logged with its minutes."""
    found: defaultdict[int, Sessions] = defaultdict(lambda: {kind: [] for kind in SESSIONS})
    pours = Pour.objects.filter(studio=studio, minutes__gt=0).to_learn_from()
    for technique, count, minutes in pours.order_by("-pk").values_list(
        "technique", "count", "minutes"
    )[:LATEST]:
        found[technique]["pour"].append(price.Session(count, float(minutes)))
    coats = Topcoating.objects.filter(studio=studio, minutes__gt=0).standing()
    for technique, count, minutes in coats.order_by("-pk").values_list(
        "pour__technique", "pour__good_count", "minutes"
    )[:LATEST]:
        found[technique]["topcoat"].append(price.Session(count, float(minutes)))
    sets = PieceSet.objects.filter(studio=studio, minutes__gt=0, unpacked_at=None)
    seen: dict[int, tuple[int | None, Decimal]] = {}
    for key, technique, minutes in sets.order_by("-pk").values_list(
        "pk", "pieces__pour__technique", "minutes"
    )[: LATEST * 4]:
        seen.setdefault(key, (technique, minutes))
    for packed, minutes in list(seen.values())[:LATEST]:
        if packed is not None:
            found[packed]["pack"].append(price.Session(1, float(minutes)))
    return found
