"""How much paint a piece takes: a Gaussian process over wet thickness that learns a studio's hand.

`observations` holds what was seen and `kernel` says how alike two pieces are. From these `layer`
makes the process of one layer, by way of its `posterior`; `estimator` is what a studio asks, and
`forecast` the answer, with what to mix. `fitting` tunes the model to many pours, `run_off` says
where the paint goes, `rules` and `scoring` keep the record honest.
"""

from pricing.estimating.coverage.estimator import Estimator
from pricing.estimating.coverage.fitting import FIT_FROM, fit_settings
from pricing.estimating.coverage.forecast import Forecast, to_mix
from pricing.estimating.coverage.kernel import Settings
from pricing.estimating.coverage.layer import Influence
from pricing.estimating.coverage.observations import (
    LAYERS,
    LAYERS_OF,
    TECHNIQUES,
    CoverageError,
    Observation,
    common_practice,
)
from pricing.estimating.coverage.rules import area_scaling, ounce_rule
from pricing.estimating.coverage.run_off import Fractions, learn_fractions
from pricing.estimating.coverage.scoring import Score, score

__all__ = [
    "FIT_FROM",
    "LAYERS",
    "LAYERS_OF",
    "TECHNIQUES",
    "CoverageError",
    "Estimator",
    "Forecast",
    "Fractions",
    "Influence",
    "Observation",
    "Score",
    "Settings",
    "area_scaling",
    "common_practice",
    "fit_settings",
    "learn_fractions",
    "ounce_rule",
    "score",
    "to_mix",
]
