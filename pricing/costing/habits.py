"""How often each technique succeeds in this studio and how long its steps take: set, and learned.

A technique's own page holds the first guess. Where the technique learns, the studio's logged pours,
topcoats and packed sets correct it; without any, the guess stands.
"""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import ROUND_HALF_UP, Decimal

from django.db.models import Count, Exists, OuterRef, Q

from inventory.words import listed
from pricing.costing import price
from pricing.costing.defaults import OTHER_STEPS
from pricing.models import (
    FinishedPiece,
    Judgement,
    LabourStep,
    PieceSet,
    Pour,
    Technique,
    Topcoating,
)
from pricing.models.technique import is_step_for
from pricing.techniques import COAT_SUCCESS, facts_of
from studio.errors import in_words
from studio.models import Studio
from studio.money import ZERO

PLACES = Decimal("0.01")
# The latest sessions are enough, and a hand changes over the years.
LATEST = 300
Step = LabourStep.Step

# Minutes of each step: once a session, and again for each piece; and what was logged by kind.
Steps = dict[str, tuple[Decimal, Decimal]]
Sessions = dict[str, list[price.TimedSession]]

# What one logged session covers: its minutes hold these steps, so that each step is in some log.
# What gets no topcoat is sealed before it is packed, see `costs.packing_minutes`.
SESSIONS = {
    "pour": (*LabourStep.BEFORE, Step.POUR, Step.CLEAN),
    "topcoat": (Step.SEAL, Step.TOPCOAT),
    "pack": (
        *(Step.VARNISH, Step.FEET, Step.OWN_LAST),
        *(Step.PACK, Step.PHOTOGRAPH, Step.CUSTOMER),
    ),
}
IN_WORDS = {"pour": "pouring", "topcoat": "topcoats", "pack": "packing"}
# After so many logged outcomes what came with the program is no guess any more.
ENOUGH = 10


@dataclass(frozen=True)
class Habit:
    """One technique as this studio works: the shares that succeed [-], and minutes by step [min].

    ``pour_success`` is of poured pieces, ``coat_success`` of coated ones. ``steps`` is {step: (once
    a session, again for each piece)}, ``only`` {step: the pieces that it is done with} where not
    with all, ``using`` the steps that use a material. ``pieces`` and ``good`` are the poured ones
    that it was learned from, ``coated`` and ``coated_well`` the coated ones, ``sessions`` how many
    of each kind, ``guesses`` what of it comes from nowhere yet.
    """

    pour_success: Decimal
    coat_success: Decimal
    steps: Steps
    pieces: int = 0
    good: int = 0
    coated: int = 0
    coated_well: int = 0
    sessions: dict[str, int] | None = None
    guesses: tuple[str, ...] = ()
    only: Mapping[str, str] = field(default_factory=dict)
    using: frozenset[str] = frozenset()

    def success_rate(self, coated: bool) -> Decimal:
        """Return the share of poured pieces that are fit to sell, coated or not, [-]."""
        return self.pour_success * self.coat_success if coated else self.pour_success

    def guess_in_words(self, coated: bool = True, also: str = "") -> str:
        """Say what is a guess of what a coated or an uncoated piece takes; empty where nothing is.

        ``also`` is a guess that is not the habit's own.

        Such as “The minutes of packing are our guess, no source, until …”.
        """
        guesses = [one for one in self.guesses if coated or "topcoats" not in one]
        guesses += [also] if also else []
        if not guesses:
            return ""
        words = listed(guesses)
        verb = "is" if len(guesses) == 1 and words.startswith("how") else "are"
        return (
            f"{words[0].upper()}{words[1:]} {verb} our guess, no source, until you set them or "
            f"{ENOUGH} times are logged."
        )

    @property
    def is_learned(self) -> bool:
        """Whether anything of it comes from the studio's own record."""
        return bool(self.pieces or self.sessions)

    def steps_for(self, coated: bool) -> Steps:
        """Return the steps that are done with pieces that get resin, or with those without."""
        return {
            step: minutes
            for step, minutes in self.steps.items()
            if is_step_for(step, self.only.get(step, ""), coated)
        }

    def minutes(self, kind: str, count: int, *, coated: bool) -> Decimal:
        """Return what a session of one of `SESSIONS` takes for so many pieces, whole, [min]."""
        done = self.steps_for(coated)
        steps = [done[step] for step in SESSIONS[kind] if step in done]
        total = sum((once + each * count for once, each in steps), ZERO)
        return total.quantize(Decimal(1), ROUND_HALF_UP)

    @property
    def steps_in_words(self) -> list[str]:
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
        return {
            technique.pk: _habit(technique, pieces[technique.pk], sessions[technique.pk])
            for technique in techniques
        }


def usual_minutes(technique: Technique, kind: str, count: int, *, coated: bool) -> Decimal:
    """Return what a session of one of `SESSIONS` usually takes this studio, whole, [min]."""
    habit = habits_of(technique.studio)[technique.pk]
    return habit.minutes(kind, count, coated=coated)


@dataclass
class _Outcomes:
    """How many judged pieces were poured and coated, and came out well, in how many pours."""

    poured: int = 0
    good: int = 0
    coated: int = 0
    coated_well: int = 0
    pours: int = 0


def _habit(technique: Technique, counts: _Outcomes, sessions: Sessions) -> Habit:
    steps = sorted(technique.steps.all(), key=lambda one: one.place)
    guess = {step.step: (step.fixed_minutes, step.minutes_each) for step in steps}
    only = {step.step: step.pieces for step in steps if step.pieces}
    using = frozenset(step.step for step in steps if step.material_id)
    if not technique.learns:
        return Habit(
            technique.success_rate,
            technique.coat_success_rate,
            guess,
            guesses=_guesses(technique, guess, {}, 0),
            only=only,
            using=using,
        )
    known = {kind: len(some) for kind, some in sessions.items() if some}
    return Habit(
        pour_success=price.success_rate(technique.success_rate, counts.good, counts.poured),
        coat_success=price.success_rate(
            technique.coat_success_rate, counts.coated_well, counts.coated
        ),
        steps=_steps(guess, sessions),
        pieces=counts.poured,
        good=counts.good,
        coated=counts.coated,
        coated_well=counts.coated_well,
        sessions=known,
        guesses=_guesses(technique, guess, known, counts.pours),
        only=only,
        using=using,
    )


def _guesses(
    technique: Technique, steps: Steps, sessions: Mapping[str, int], pours: int
) -> tuple[str, ...]:
    """Name what is as it came, and has not been logged often enough to count as known."""
    facts = facts_of(technique.slug)
    as_it_came = {
        Step.SET_UP: (facts.set_up_minutes, 0),
        Step.POUR: (0, facts.pour_minutes),
        **OTHER_STEPS,
    }
    names = []
    if technique.success_rate == facts.success_rate and pours < ENOUGH:
        names.append("how many pours come out well")
    if technique.coat_success_rate == COAT_SUCCESS and sessions.get("topcoat", 0) < ENOUGH:
        names.append("how many topcoats come out well")
    for kind, parts in SESSIONS.items():
        same = all(steps.get(step) == as_it_came.get(step) for step in parts)
        if same and sessions.get(kind, 0) < ENOUGH:
            names.append(f"the minutes of {IN_WORDS[kind]}")
    return tuple(names)


def _steps(guess: Steps, sessions: Sessions) -> Steps:
    """Correct the minutes of each kind of session, and share them out as the guess does."""
    minutes_by_step = dict(guess)
    for kind, steps in SESSIONS.items():
        guessed = [step for step in steps if step in guess]
        if not sessions[kind] or not guessed:
            continue
        once, each = (sum((guess[step][part] for step in guessed), ZERO) for part in (0, 1))
        learned = price.session_minutes(once, each, sessions[kind])
        for part, (old, new) in enumerate(zip((once, each), learned, strict=True)):
            for step in guessed:
                share = guess[step][part] / old if old else Decimal(1) / len(guessed)
                minutes = list(minutes_by_step[step])
                minutes[part] = (new * share).quantize(PLACES, ROUND_HALF_UP)
                minutes_by_step[step] = (minutes[0], minutes[1])
    return minutes_by_step


def _pieces(studio: Studio) -> defaultdict[int, _Outcomes]:
    """Return {technique: outcomes} of the judged pieces of pours that are learned from.

    A second is fit to sell. What was judged with its topcoat alone was fit to be coated.
    """
    rows = FinishedPiece.objects.filter(
        studio=studio, pour__in=Pour.objects.filter(studio=studio).to_learn_from()
    ).exclude(verdict="")
    coated = Judgement.objects.filter(piece=OuterRef("pk"), stage=Judgement.Stage.COATED)
    rows = rows.annotate(is_coated=Exists(coated))
    is_good = Q(state=FinishedPiece.State.GOOD)
    lived = is_good | Q(spoiled_by__isnull=False)  # until its topcoat
    counts = {
        "poured": Count("pk"),
        "good": Count("pk", filter=lived),
        "coated": Count("pk", filter=lived & Q(is_coated=True)),
        "coated_well": Count("pk", filter=is_good & Q(is_coated=True)),
        "pours": Count("pour", distinct=True),
    }
    counted = rows.order_by().values_list("pour__technique").annotate(**counts)
    return defaultdict(_Outcomes, {key: _Outcomes(*each) for key, *each in counted})


def _sessions(studio: Studio) -> defaultdict[int, Sessions]:
    """Return {technique: {kind: [TimedSession]}} of what was logged with its minutes."""
    sessions: defaultdict[int, Sessions] = defaultdict(lambda: {kind: [] for kind in SESSIONS})
    pours = Pour.objects.filter(studio=studio, minutes__gt=0).to_learn_from()
    for technique, count, minutes in pours.order_by("-pk").values_list(
        "technique", "count", "minutes"
    )[:LATEST]:
        sessions[technique]["pour"].append(price.TimedSession(count, float(minutes)))
    coats = Topcoating.objects.filter(studio=studio, minutes__gt=0).standing()
    for technique, count, minutes in coats.order_by("-pk").values_list(
        "pour__technique", "pour__good_count", "minutes"
    )[:LATEST]:
        sessions[technique]["topcoat"].append(price.TimedSession(count, float(minutes)))
    sets = PieceSet.objects.filter(studio=studio, minutes__gt=0, unpacked_at=None)
    work_by_set: dict[int, tuple[int | None, int | None, Decimal]] = {}
    for key, line, poured_in, minutes in sets.order_by("-pk").values_list(
        "pk", "line", "pieces__pour__technique", "minutes"
    )[: LATEST * 4]:
        work_by_set.setdefault(key, (line, poured_in, minutes))
    # Sets of one line are packed together.
    packed: defaultdict[tuple[int, int], list[Decimal]] = defaultdict(list)
    for key, (made_for, technique_pk, minutes) in list(work_by_set.items())[:LATEST]:
        if technique_pk is not None:
            packed[technique_pk, made_for or -key].append(minutes)
    for (technique, _), several in packed.items():
        session = price.TimedSession(len(several), float(sum(several)))
        sessions[technique]["pack"].append(session)
    return sessions
