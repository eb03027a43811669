"""Why a number is what it is: the pours and facts that weighed most in it, in plain words."""

from dataclasses import dataclass

from pricing.estimating.coverage import CoverageError, Estimator, Influence
from pricing.estimating.surfaces import Surface
from pricing.models import Technique
from studio.errors import in_words

# What weighs less than this is not worth a line.
LEAST_SHARE = 0.005
# Below this a pour counts for less than its distance alone would have it.
FULL_TRUST = 0.95


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
        found = estimator.why(technique, layer, surface.wetted_area_mm2, top=top)
    return tuple(_reason(one) for one in found if one.share >= LEAST_SHARE)


def _reason(influence: Influence) -> Reason:
    seen = influence.observation
    what, _, source = (seen.label, "", "") if seen.own else seen.label.partition(" (")
    return Reason(
        what=what,
        is_own=seen.own,
        pour_id=seen.key if isinstance(seen.key, int) else None,
        technique=Technique.Slug(seen.technique).label,
        volume_ml=seen.volume_ml,
        film_mm=seen.volume_ml * 1000 / seen.wetted_area_mm2,
        share=influence.share,
        trust=influence.trust,
        source=source.removesuffix(")"),
    )
