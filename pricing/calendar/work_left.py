"""The work left on commissions as jobs to be planned: batches, steps by hand, drying and curing.

What is still to pour is planned in rounds: pieces may fail, and are poured again once it is seen
which did. What was poured already goes on from there. Minutes and success rates are the studio's
own habits; drying goes by the film of paint, from common practice; curing by the resin's kit.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal

from pricing.calendar import timing
from pricing.commissions.commission_holds import finished_counts
from pricing.costing.habits import Steps, habits_of
from pricing.estimating.advice import PRIMER_DAYS, SEALER_DAYS, VARNISH_DAYS
from pricing.estimating.judgement import film_expected_mm
from pricing.estimating.learning import hand_of
from pricing.models import Commission, CommissionLine, FinishedPiece, LabourStep, Pour
from pricing.readiness.clock import PaintDays, paint_days, resin_days
from pricing.readiness.standing import standing_of
from studio.errors import StudioError, in_words
from studio.models import Studio
from studio.money import ZERO

Labour = LabourStep.Step
# What is done on the day of priming, where surfaces are primed, and on that of the pour otherwise.
PRIMING = (Labour.PREPARE, Labour.SCUFF, Labour.PRIME)
POURING = (*(one for one in LabourStep.BEFORE if one not in PRIMING), Labour.POUR)
PACKING = (Labour.FEET, Labour.OWN_LAST, Labour.PACK, Labour.PHOTOGRAPH)


class WorkBook:
    """What jobs of a studio are built from, in a number of queries that does not grow."""

    def __init__(self, studio: Studio, commissions: Sequence[Commission], rack_places: int) -> None:
        self.studio = studio
        self.hand, self.habits = hand_of(studio), habits_of(studio)
        self.rack_places = rack_places
        self.lines: defaultdict[int, list[CommissionLine]] = defaultdict(list)
        lines = CommissionLine.objects.filter(commission__in=commissions)
        for line in lines.select_related("surface", "technique", "palette", "topcoat"):
            self.lines[line.commission_id].append(line)
        self.made, _, _ = finished_counts(lines)
        self.loose: defaultdict[int, int] = defaultdict(int)
        self.pours: defaultdict[int | None, list[Pour]] = defaultdict(list)
        self._read_pieces(commissions)
        self._drying: dict[tuple[int, int, str], PaintDays] = {}

    def _read_pieces(self, commissions: Sequence[Commission]) -> None:
        pieces = FinishedPiece.objects.filter(
            pour__line__commission__in=commissions, piece_set=None, state=FinishedPiece.State.GOOD
        )
        for pour_id in pieces.order_by().values_list("pour", flat=True):
            self.loose[pour_id] += 1
        pours = Pour.objects.standing().filter(line__commission__in=commissions)
        self.standing = standing_of(
            pours.select_related("surface", "technique", "palette", "studio"), self.hand
        )
        for pour in self.standing:
            self.pours[pour.line_id].append(pour)

    def job(self, commission: Commission, order: int = 0) -> timing.Job:
        """Return a commission's `timing.Job`; one with nothing left has no batches.

        Raises `StudioError` for a line that cannot be planned, such as a size that is no surface.
        """
        batches: list[timing.PieceBatch] = []
        for line in self.lines[commission.pk]:
            batches += self._begun(line)
            batches += self.to_pour(line)
        return timing.Job(
            key=commission.pk,
            batches=tuple(batches),
            wanted=commission.promised_on or commission.due_on,
            order=order,
        )

    def to_pour(self, line: CommissionLine) -> Iterator[timing.PieceBatch]:
        """Yield what is still to be poured of a line; of one that nobody wrote down, all of it.

        Raises `StudioError` for a line that cannot be planned.
        """
        to_pour = line.pieces - self.made[line.pk]
        if to_pour <= 0:
            return
        habit = self.habits[line.technique_id]
        with in_words(timing.TimingError):
            rounds = timing.rounds(
                to_pour,
                float(habit.success_rate(coated=line.topcoat is not None)),
                float(self.studio.mix_confidence),
            )
        dries = self._dries(line)
        for number, pieces in enumerate(rounds):
            # More than lies on the racks at once is poured one load after the other.
            for first in range(0, pieces, self.rack_places):
                load = min(self.rack_places, pieces - first)
                to_pour_them = self._pouring(line, load)
                yield timing.PieceBatch(
                    steps=(
                        *to_pour_them,
                        self._clean(line, load, dries),
                        *self._after_cleaning(line, load, dries),
                    ),
                    pieces=load,
                    pours_at=len(to_pour_them) - 1,
                    is_again=number > 0,
                    seen_hours=_hours(dries.touch_dry),
                    key=(line.pk, "round", number, first),
                )

    def _begun(self, line: CommissionLine) -> Iterator[timing.PieceBatch]:
        """Yield what was poured and is not packed, from the step that comes next."""
        for pour in self.pours[line.pk]:
            pieces = self.loose[pour.pk]
            if not pieces:
                continue
            stands = self.standing[pour]
            if line.is_test and (line.topcoat is None or stands.coated_on):
                continue  # it is not packed, so it is done
            steps = self._after_cleaning(line, pieces, stands.days)
            if stands.coated_on is None:
                steps = (self._clean(line, pieces, stands.days), *steps)
            else:
                cures = _hours((stands.planned_on - stands.coated_on).days)
                steps = (timing.WorkStep(Labour.PACK, steps[-1].minutes, wait_hours=cures),)
            yield timing.PieceBatch(
                steps=steps,
                pieces=pieces,
                poured_on=stands.poured_on,
                last_on=stands.coated_on or stands.poured_on,
                key=(line.pk, "pour", pour.number, 0),
            )

    def _pouring(self, line: CommissionLine, pieces: int) -> tuple[timing.WorkStep, ...]:
        """Return the pour and, where surfaces are primed, the priming, which dries before it."""
        if not self._is_done(line, Labour.PRIME):
            minutes = self._minutes(line, pieces, *PRIMING, *POURING)
            return (timing.WorkStep(Labour.POUR, minutes),)
        return (
            timing.WorkStep(Labour.PRIME, self._minutes(line, pieces, *PRIMING)),
            timing.WorkStep(
                Labour.POUR,
                self._minutes(line, pieces, *POURING),
                wait_hours=_hours(PRIMER_DAYS),
            ),
        )

    def _clean(self, line: CommissionLine, pieces: int, dries: PaintDays) -> timing.WorkStep:
        minutes = self._minutes(line, pieces, Labour.CLEAN)
        return timing.WorkStep(Labour.CLEAN, minutes, _hours(dries.touch_dry))

    def _after_cleaning(
        self, line: CommissionLine, pieces: int, dries: PaintDays
    ) -> tuple[timing.WorkStep, ...]:
        """Return sealing, the topcoat or varnish, as far as there are any, and packing: each waits
        for what it goes over. Of a test tile only what belongs to its topcoat.
        """
        if line.is_test and line.topcoat is None:
            return ()
        sets = -(-pieces // line.pieces_each)
        dry, wait = _hours(dries.varnish if line.topcoat is None else dries.dry), ZERO
        steps: list[timing.WorkStep] = []
        if self._is_done(line, Labour.SEAL):
            minutes = self._minutes(line, pieces, Labour.SEAL)
            steps, wait = [timing.WorkStep(Labour.SEAL, minutes, dry)], _hours(SEALER_DAYS)
        packing, packed_dry = self._minutes(line, sets, *PACKING), ZERO
        if line.topcoat is not None:
            minutes = self._minutes(line, pieces, Labour.TOPCOAT)
            steps.append(timing.WorkStep(Labour.TOPCOAT, minutes, dry, wait))
            cures = resin_days(line.topcoat.taken("cure_hours"))
            assert cures is not None  # of a room that was not noted something is always planned
            wait = _hours(cures)
            if line.is_test:
                return tuple(steps)
        else:
            packed_dry = _hours(dries.cured)
            if self._is_done(line, Labour.VARNISH):
                minutes = self._minutes(line, sets, Labour.VARNISH)
                steps.append(timing.WorkStep(Labour.VARNISH, minutes, dry, wait))
                wait = _hours(VARNISH_DAYS)
        return (*steps, timing.WorkStep(Labour.PACK, packing, packed_dry, wait))

    def _is_done(self, line: CommissionLine, step: str) -> bool:
        done = self._steps_of(line)
        return step in done and (any(done[step]) or step in self.habits[line.technique_id].using)

    def _steps_of(self, line: CommissionLine) -> Steps:
        return self.habits[line.technique_id].steps_for(coated=line.topcoat_id is not None)

    def _minutes(self, line: CommissionLine, count: int, *steps: str) -> Decimal:
        minutes_by_step = self._steps_of(line)
        minutes = [minutes_by_step.get(step, (ZERO, ZERO)) for step in steps]
        return sum((once + count * each for once, each in minutes), ZERO)

    def _dries(self, line: CommissionLine) -> PaintDays:
        """Return how long what is still to pour of a line dries, in a room that nobody knows."""
        key = line.surface_id, line.technique_id, line.base
        if key not in self._drying:
            film_mm = film_expected_mm(line.surface, line.technique.slug, self.hand, line.base)
            dries = paint_days(film_mm)
            assert dries is not None
            self._drying[key] = dries
        return self._drying[key]


def _hours(days: int) -> Decimal:
    return Decimal(24 * days)


def jobs_of(
    book: WorkBook, commissions: Iterable[Commission]
) -> tuple[list[timing.Job], dict[Commission, str]]:
    """Return the jobs of commissions in the order given, and {commission: why it has none}."""
    jobs: list[timing.Job] = []
    problems: dict[Commission, str] = {}
    for order, commission in enumerate(commissions):
        try:
            job = book.job(commission, order)
        except StudioError as error:
            problems[commission] = str(error)
        else:
            if job.batches:
                jobs.append(job)
    return jobs, problems
