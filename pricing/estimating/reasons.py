"""Why a number is what it is: the pours and facts that weighed most in it, in plain words."""

from dataclasses import dataclass

from pricing.estimating.coverage import CoverageError, Estimator, Influence
from pricing.estimating.surfaces import Surface
from pricing.models import Technique
from studio.errors import in_words

# What weighs less than this is not worth a line.
LEAST_SHARE = 0.005
# Below this a pour counts for less than its distance alone would have it.
FULL_TRUST = 0.8


@dataclass(frozen=True)
class Reason:
    """One thing that was seen: on one piece [mL], as a film [mm], its part of all weight [-]."""

    what: str
    is_own: bool
    pour_id: int | None
    technique: str
    volume_ml: float
    film_mm: float
    share: float
    trust: float
    source: str = ""

    @property
    def is_doubted(self) -> bool:
        """Whether it lies so far off the rest that it is only half believed."""
        return self.trust < FULL_TRUST


def reasons(
    estimator: Estimator, surface: Surface, technique: str, layer: str, top: int = 5
) -> tuple[Reason, ...]:
    """Return what weighed most in the forecast of a layer, the heaviest first.

    ``surface`` is a plain `surfaces.Surface`.
    """
    with in_words(CoverageError):
        influences = estimator.why(technique, layer, surface.wetted_area_mm2, top=top)
    return tuple(_reason(one) for one in influences if one.share >= LEAST_SHARE)


def _reason(influence: Influence) -> Reason:
    observation = influence.observation
    what, _, source = (
        (observation.label, "", "") if observation.own else observation.label.partition(" (")
    )
    return Reason(
        what=what,
        is_own=observation.own,
        pour_id=observation.key if isinstance(observation.key, int) else None,
        technique=Technique.Slug(observation.technique).label,
        volume_ml=observation.volume_ml,
        film_mm=observation.volume_ml * 1000 / observation.wetted_area_mm2,
        share=influence.share,
        trust=influence.trust,
        source=source.removesuffix(")"),
    )
