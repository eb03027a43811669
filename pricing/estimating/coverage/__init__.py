"""How much paint a piece takes: a Gaussian process over wet thickness that learns a studio's hand.

`observations` are what was seen and `Line`s what is asked, `seen` has both as arrays, and `kernel`
says how alike two pours are. `posterior` is what follows, with likely slips counting for less, and
`fitting` learns how wide luck is. A `memory` is what is kept between pours: the last ones are
looked at one by one, and what older ones taught is a `state` that does not grow. `estimator` is
what a studio asks; a `forecast` answers for a layer, a `job` for lines together, with how much is
enough for all of it. `run_off` says where the paint goes, `rules` and `scoring` keep the record
honest.
"""

from pricing.estimating.coverage.estimator import Estimator, Influence
from pricing.estimating.coverage.forecast import (
    Forecast,
    enough_together,
    to_pour,
    with_cup_loss,
)
from pricing.estimating.coverage.job import Job
from pricing.estimating.coverage.kernel import Settings
from pricing.estimating.coverage.memory import (
    WINDOW,
    Memory,
    caught_up,
    digest_of,
    model,
    packed,
    unpacked,
)
from pricing.estimating.coverage.observations import (
    BASES_OF,
    LAYERS,
    LAYERS_OF,
    TECHNIQUES,
    CoverageError,
    Line,
    Observation,
    common_practice,
    size_of,
)
from pricing.estimating.coverage.rules import area_scaling, ounce_rule
from pricing.estimating.coverage.run_off import (
    Fractions,
    Keeping,
    KeptLayer,
    learn_fractions,
    learn_keeping,
    shed,
)
from pricing.estimating.coverage.scoring import Score, score

__all__ = [
    "BASES_OF",
    "LAYERS",
    "LAYERS_OF",
    "TECHNIQUES",
    "WINDOW",
    "CoverageError",
    "Estimator",
    "Forecast",
    "Fractions",
    "Influence",
    "Job",
    "Keeping",
    "KeptLayer",
    "Line",
    "Memory",
    "Observation",
    "Score",
    "Settings",
    "area_scaling",
    "caught_up",
    "common_practice",
    "digest_of",
    "enough_together",
    "learn_fractions",
    "learn_keeping",
    "model",
    "ounce_rule",
    "packed",
    "score",
    "shed",
    "size_of",
    "to_pour",
    "unpacked",
    "with_cup_loss",
]
