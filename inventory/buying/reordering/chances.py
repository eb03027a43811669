"""Demand that may come or not: work that is quoted and not yet answered."""

from collections.abc import Sequence
from math import sqrt
from typing import NamedTuple

from inventory.buying.reordering.limits import DemandError

# Half a success and half a failure: the prior of Jeffreys for a share, Beta(1/2, 1/2).
PRIOR_SUCCESSES, PRIOR_TRIALS = 0.5, 1.0


class Chance(NamedTuple):
    """So much is used, [mL, g or items], with a chance, [-]; otherwise nothing of it."""

    quantity: float
    chance: float


class ExpectedUse(NamedTuple):
    """Mean and standard deviation of what will be used, [mL, g or items]."""

    mean: float
    sd: float


def share_from_record(successes: int, trials: int) -> float:
    """Return the chance of the next success as the record so far tells it.

    It is the mean of the posterior with the prior of Jeffreys, so that it starts at one half, is
    never 0 or 1, and a handful of trials counts as a handful.

    Parameters
    ----------
    successes, trials : int
        How often it went well, and how often it was tried, [-]

    Returns
    -------
    share : float
        ``(successes + 1/2) / (trials + 1)``, [-]

    Raises
    ------
    DemandError
        If there are more successes than trials, or fewer than none.

    Examples
    --------
    >>> share_from_record(0, 0), share_from_record(7, 9)
    (0.5, 0.75)

    References
    ----------
    H. Jeffreys, "An invariant form for the prior probability in estimation problems", Proc. R.
    Soc. Lond. A 186 (1946) 453-461; L. D. Brown, T. T. Cai and A. DasGupta, "Interval estimation
    for a binomial proportion", Statist. Sci. 16 (2001) 101-133, sec. 4.1.
    """
    if not 0 <= successes <= trials:
        raise DemandError("Successes are at least none, and no more than the trials.")
    return (successes + PRIOR_SUCCESSES) / (trials + PRIOR_TRIALS)


def expected_of(chances: Sequence[Chance]) -> ExpectedUse:
    """Return the mean and the deviation of a sum of amounts that each come whole or not at all.

    Parameters
    ----------
    chances : sequence of Chance
        Amounts, independent of each other, [mL, g or items], and the chance of each, [-]

    Returns
    -------
    expected : ExpectedUse
        Mean ``sum(p q)`` and deviation ``sqrt(sum(p (1 - p) q**2))``, [mL, g or items]

    Raises
    ------
    DemandError
        If an amount is negative or a chance is not from 0 to 1.

    Examples
    --------
    Two quotes of 100 and 200 at one half: 150, give or take the root of 2,500 + 10,000.

    >>> expected_of([Chance(100, 0.5), Chance(200, 0.5)]).mean
    150.0

    References
    ----------
    W. Feller, *An Introduction to Probability Theory and Its Applications* I, ch. IX (mean and
    variance of a sum of independent variables).
    """
    if any(chance.quantity < 0 or not 0 <= chance.chance <= 1 for chance in chances):
        raise DemandError("An amount is zero or more, and its chance from 0 to 1.")
    mean = sum(chance.chance * chance.quantity for chance in chances)
    variance = sum(chance.chance * (1 - chance.chance) * chance.quantity**2 for chance in chances)
    return ExpectedUse(float(mean), sqrt(variance))
