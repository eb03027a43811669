"""The steps of the craft around some pieces, in order: before they are poured, and after."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from inventory.supplies.hazards import hazards_of
from pricing.estimating import advice
from pricing.estimating.answers import PieceEstimate
from pricing.estimating.learning import Hand
from pricing.estimating.step_materials import use_in_words
from pricing.models import LabourStep
from pricing.readiness.clock import paint_days

Step = LabourStep.Step
# What a step may hurt with, beside what is poured: acts of `studio.cautions`.
HAZARDS: Mapping[str, tuple[str, ...]] = {Step.SCUFF: ("tile", "solvent")}


@dataclass(frozen=True)
class CourseStep:
    """One step in words, what must have passed before it, and what it uses; empty for nothing."""

    step: str
    name: str
    waits: str = ""
    uses: str = ""


@dataclass(frozen=True)
class Course:
    """What is done with some pieces before and after they are poured, in the order of work."""

    label: str
    before: tuple[CourseStep, ...]
    after: tuple[CourseStep, ...]
    hazards: tuple[str, ...] = ()
    pour_waits: str = ""


def hazards_of_steps(steps: Iterable[LabourStep]) -> tuple[str, ...]:
    """Return the acts to be minded in steps, by what is done in them and by what they use."""
    steps = list(steps)
    acts = [act for step in steps for act in HAZARDS.get(step.step, ())]
    used = hazards_of(step.material for step in steps if step.material)
    return tuple(dict.fromkeys([*acts, *used]))


def course_of(
    label: str, piece: PieceEstimate, steps: Iterable[LabourStep], hand: Hand, cure: str = ""
) -> Course:
    """Return the steps that a studio does around some pieces, of those that its technique has.

    ``cure`` says how long resin over them cures, where there is any: then nothing is varnished.
    """
    film_mm = film_on(piece, hand)
    coated = piece.layer("topcoat") is not None
    waits = _waits(film_mm, coated, cure)
    rows = [one for one in steps if one.is_done and one.is_for(coated)]
    done = {one.step: one for one in sorted(rows, key=lambda one: one.place)}
    if Step.SEAL in done:
        sealed = f" and {_days(advice.SEALER_DAYS)} after sealing"
        for one in (Step.TOPCOAT, Step.VARNISH):
            waits[one] += sealed
    if Step.VARNISH in done:
        more = f"{waits[Step.PACK]} and {advice.VARNISH_DAYS} days after varnishing"
        waits |= dict.fromkeys((Step.FEET, Step.OWN_LAST, Step.PACK), more)
    after = _after(done)
    return Course(
        label,
        tuple(_told(row, waits) for row in done.values() if row.step in LabourStep.BEFORE),
        tuple(_told(done[one], waits) for one in after),
        hazards_of_steps(done.values()),
        f"{_days(advice.PRIMER_DAYS)} after priming" if Step.PRIME in done else "",
    )


def _told(row: LabourStep, waits: Mapping[str, str]) -> CourseStep:
    return CourseStep(row.step, str(row), waits.get(row.step, ""), use_in_words(row))


def _days(count: int) -> str:
    return f"{count} day" if count == 1 else f"{count} days"


def film_on(piece: PieceEstimate, hand: Hand) -> float:
    """Return the wet film that the face of a piece is expected to keep, [mm]."""
    poured = sum(float(one.median_ml) for one in piece.layers if one.layer != "topcoat")
    stays = poured / piece.count * hand.run_off(piece.technique).on_piece
    face = piece.surface
    return advice.face_film_mm(stays, face.top_area_mm2, face.side_area_mm2)


def _after(done: Iterable[str]) -> list[str]:
    """Return the steps after the pour that the sheet tells: talking and taking pictures are not."""
    left_out = {*LabourStep.BEFORE, Step.POUR, Step.PHOTOGRAPH, Step.CUSTOMER}
    return [one for one in done if one not in left_out]


def _waits(film_mm: float, coated: bool, cure: str) -> dict[str, str]:
    """Return what each step waits for, by the film of paint and by the resin."""
    days = paint_days(film_mm)  # of a room that nobody knows yet
    assert days is not None  # which is never too cold
    touch, dry, varnish, cured = (
        f"{one} days after the pour" for one in (days.touch_dry, days.dry, days.varnish, days.cured)
    )
    packed = f"{cure} after the resin" if coated and cure else cured
    return {
        Step.CLEAN: touch,
        Step.SEAL: dry if coated else varnish,
        Step.TOPCOAT: dry,
        Step.VARNISH: varnish,
        Step.FEET: packed,
        Step.OWN_LAST: packed,
        Step.PACK: packed,
    }
