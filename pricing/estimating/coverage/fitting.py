"""Learning from pours: how wide luck is and how size is felt, and which pours are likely slips."""

from dataclasses import dataclass, replace

import numpy as np
from scipy.linalg import cho_factor, cho_solve
from scipy.optimize import minimize

from pricing.estimating.coverage.kernel import Floats, Luck, Pairs, Places, Settings
from pricing.estimating.coverage.posterior import Posterior, doubted
from pricing.estimating.coverage.state import NOTHING, State

# What is fitted, on a scale without bounds, and how far its prior reaches there: ln of standard
# deviations, the logit of a share. What size does stays as it is: fitted, it made the score of far
# sizes a fifth worse in simulated studios, and nothing better.
PRIOR_SD = {
    "fade_sd": 0.7,
    "session_sd": 0.8,
    "piece_sd": 0.8,
    "alike": 1.0,
}
TURNS, STEPS = 2, 25
# No fitted value goes further than so many standard deviations of its prior.
FARTHEST = 6.0


@dataclass(frozen=True)
class Learnt:
    """What pours taught of luck.

    Parameters
    ----------
    settings : Settings
        The fitted ones, [-]
    chances, raised : ndarray
        The chance that each value is a slip, and what its variance is raised by, [-]
    away : ndarray
        How far the fitted values are from the middle, in prior standard deviations, [-]
    """

    settings: Settings
    chances: Floats
    raised: Floats
    away: Floats


def learn(places: Places, values: Floats, settings: Settings, before: State = NOTHING) -> Learnt:
    """Fit what has a prior, from the first pour on, and find the likely slips.

    Parameters
    ----------
    places : Places
        Where values were seen, own pours in their order, [-]
    values : ndarray
        ln(thickness) less its mean, [-]
    settings : Settings
        The middle of the priors, [-]
    before : State
        What was poured before, [-]

    Returns
    -------
    learnt : Learnt
        Settings, and slips among the values, [-]
    """
    away, fitted = np.zeros(len(PRIOR_SD)), settings
    chances = raised = np.zeros(values.size)
    for _ in range(TURNS):
        fitted, away = fit(places, values, settings, raised, away, before)
        chances, raised = doubted(Posterior(places, values, fitted, raised, before))
    return Learnt(fitted, chances, raised, away)


def fit(
    places: Places,
    values: Floats,
    settings: Settings,
    raised: Floats,
    start: Floats,
    before: State = NOTHING,
) -> tuple[Settings, Floats]:
    """Return the settings of the highest posterior density.

    Parameters
    ----------
    places : Places
        Where values were seen, [-]
    values : ndarray
        ln(thickness) less its mean, [-]
    settings : Settings
        The middle of the priors for what is fitted, and the rest, [-]
    raised : ndarray
        What the variance of likely slips is raised by, [-]
    start : ndarray
        Where to begin, in prior standard deviations from the middle, [-]
    before : State
        What was poured before, [-]

    Returns
    -------
    settings, away : Settings, ndarray
        With the fitted values, and how far they are from the middle, [-]
    """
    surprise = Surprise(places, values, settings, raised, before)
    best = minimize(
        surprise,
        start,
        jac=True,
        method="L-BFGS-B",
        bounds=[(-FARTHEST, FARTHEST)] * start.size,
        options={"maxiter": STEPS},
    )
    return settings_at(settings, best.x), best.x


class Surprise:
    """The negative log of posterior density over what is fitted, and its gradient.

    Parameters
    ----------
    places, values, settings, raised, before
        As in `fit`.

    References
    ----------
    C. E. Rasmussen and C. K. I. Williams, "Gaussian Processes for Machine Learning" (2006),
    eq. 5.8 and 5.9.
    """

    def __init__(
        self,
        places: Places,
        values: Floats,
        settings: Settings,
        raised: Floats,
        before: State = NOTHING,
    ) -> None:
        self.values, self.settings, self.raised, self.before = values, settings, raised, before
        self.pairs, self.luck = Pairs(places, places, settings), Luck(places, settings)
        self.felt, self.prior_sd = before.felt(places), np.array(list(PRIOR_SD.values()))

    def __call__(self, away: Floats) -> tuple[float, Floats]:
        """Return the surprise and its gradient."""
        settings = settings_at(self.settings, away)
        felt, change = self.felt.at(settings), self.felt.change(settings)
        known = felt @ self.before.known
        values = self.values - felt @ self.before.mean
        matrix = self.pairs.covariance(settings) + self.luck.covariance(settings)
        matrix -= known @ felt.T
        matrix[np.diag_indices_from(matrix)] += self.raised
        factor = cho_factor(matrix, lower=True, check_finite=False)
        inverse = cho_solve(factor, np.eye(values.size), check_finite=False)
        solved = inverse @ values
        level = np.log(np.diag(factor[0])).sum() + 0.5 * values @ solved
        inverse -= np.outer(solved, solved)
        slopes = (self.pairs.slope(settings), *self.luck.slopes(settings))
        gradient = np.array([0.5 * np.vdot(inverse, slope) for slope in slopes])
        # The first is fade_sd, which also says what older pours are felt as.
        gradient[0] -= np.vdot(inverse, change @ known.T) + solved @ change @ self.before.mean
        return float(level + 0.5 * away @ away), gradient * self.prior_sd + away


def settings_at(middle: Settings, away: Floats) -> Settings:
    """Return the settings so many prior standard deviations away from the prior's middle.

    Parameters
    ----------
    middle : Settings
        The middle of the priors, [-]
    away : ndarray
        For each that is fitted, in the order of `PRIOR_SD`, [-]

    Returns
    -------
    settings : Settings
        What is not fitted as in the middle, [-]
    """
    moved = {}
    for (name, sd), step in zip(PRIOR_SD.items(), away, strict=True):
        start = getattr(middle, name)
        if name == "alike":
            moved[name] = float(1 / (1 + (1 - start) / start * np.exp(-step * sd)))
        else:
            moved[name] = float(start * np.exp(step * sd))
    return replace(middle, **moved)
