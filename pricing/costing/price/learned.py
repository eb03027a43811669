"""What a studio's own record says of success and of minutes, leaning on a first guess till then."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

import numpy as np

from pricing.costing.price.errors import PriceError

# How many pieces, or how wide a belief, a first guess is worth: rough choices, no source.
GUESS_IS_WORTH = 10
GUESS_SD = 0.5
SESSION_SD = 0.25
# A part guessed to take no time stays so; where the whole is, neither part is known, [min].
CERTAIN_SD, UNKNOWN_SD = 1e-6, 30.0
PLACES = Decimal("0.01")


@dataclass(frozen=True)
class TimedSession:
    """One session at the bench: how many pieces it had [-], and its hands-on minutes [min]."""

    pieces: int
    minutes: float


def success_rate(guess: Decimal, good: int, total: int) -> Decimal:
    """Return the share of pieces to expect to come out well.

    The guess counts as ten pieces seen; the studio's own pieces are added to them.

    Parameters
    ----------
    guess : Decimal
        First guess, above 0 and at most 1, [-]
    good, total : int
        Pieces that came out well, and all pieces poured, [-]

    Returns
    -------
    rate : Decimal
        Mean of the belief, above 0 and at most 1, to four places, [-]

    Raises
    ------
    PriceError
        If the guess is out of range, or more came out well than were poured.

    Examples
    --------
    A guess of 80 %, and 28 of 30 pieces well: (8 + 28) / (10 + 30).

    >>> success_rate(Decimal("0.8"), 28, 30)
    Decimal('0.9000')

    References
    ----------
    Mean of the beta posterior of a binomial share: A. Gelman et al., Bayesian Data Analysis,
    3rd ed., eq. 2.5.
    """
    if not 0 < guess <= 1 or not 0 <= good <= total:
        raise PriceError("Pieces that come out well are some of those that were poured.")
    rate = (guess * GUESS_IS_WORTH + good) / (GUESS_IS_WORTH + total)
    return max(rate.quantize(Decimal("0.0001"), ROUND_HALF_UP), Decimal("0.0001"))


def session_minutes(
    fixed: Decimal, each: Decimal, sessions: Sequence[TimedSession]
) -> tuple[Decimal, Decimal]:
    """Return the minutes that a session takes once, and again for each piece.

    A straight line through the studio's own sessions, with the first guess as the belief before
    them. Long sessions vary more, in proportion to what was expected of them.

    Parameters
    ----------
    fixed, each : Decimal
        First guess, from 0, [min]
    sessions : sequence of TimedSession
        What was logged, [min]

    Returns
    -------
    fixed, each : Decimal
        Posterior means, from 0, to a hundredth, [min]

    Raises
    ------
    PriceError
        If a minute or a count is below zero.

    Examples
    --------
    >>> session_minutes(Decimal(20), Decimal(5), [])
    (Decimal('20.00'), Decimal('5.00'))

    References
    ----------
    Bayesian linear regression: C. M. Bishop, Pattern Recognition and Machine Learning, eqs 3.50
    and 3.51.
    """
    if (
        fixed < 0
        or each < 0
        or any(session.pieces < 0 or session.minutes < 0 for session in sessions)
    ):
        raise PriceError("Minutes and pieces cannot be below zero.")
    guess = np.array([float(fixed), float(each)])
    precision = np.diag(
        1 / np.maximum(GUESS_SD * guess, CERTAIN_SD if guess.any() else UNKNOWN_SD) ** 2
    )
    evidence = precision @ guess
    for session in sessions:
        row = np.array([1.0, session.pieces])
        sd = SESSION_SD * max(float(row @ guess), session.minutes, 1.0)
        precision = precision + np.outer(row, row) / sd**2
        evidence = evidence + row * session.minutes / sd**2
    posterior = np.maximum(np.linalg.solve(precision, evidence), 0)
    once, again = (Decimal(repr(float(part))).quantize(PLACES, ROUND_HALF_UP) for part in posterior)
    return once, again
