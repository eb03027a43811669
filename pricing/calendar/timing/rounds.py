"""Rounds of pouring: how many times, and how many pieces, until enough of them are good."""

from math import comb

from pricing.calendar.timing.errors import TimingError

# A technique that almost always fails would be poured without end; past this it is refused.
MOST_ROUNDS = 12


def rounds(pieces: int, success_rate: float, confidence: float) -> tuple[int, ...]:
    """Return how many pieces to plan for in each round, so that all are good by the last.

    Each piece comes out well or not by itself, and is poured again until it does, so the rounds it
    takes follow a geometric distribution, and the rounds of all pieces its maximum: with ``q`` the
    share that fails, all of ``n`` are good within ``R`` rounds with the chance
    ``(1 - q**R)**n``. The least ``R`` that reaches the confidence is taken. After ``r`` rounds the
    pieces still missing are binomial, of ``n`` with the chance ``q**r``; planned is the number that
    they stay within with the same confidence, at least one.

    Parameters
    ----------
    pieces : int
        Good pieces wanted, from 1, [-]
    success_rate : float
        Share of pieces that come out well, above 0 to 1, [-]
    confidence : float
        How sure the last round is to be enough, above 0 and below 1, [-]

    Returns
    -------
    rounds : tuple of int
        Pieces in each round, the first all of them, [-]

    Raises
    ------
    TimingError
        If a share lies outside its range, or if it would take more than 12 rounds.

    Examples
    --------
    Eight pieces of which 15 % fail: (1 - 0.15**2)**8 = 0.834, so two rounds do for 80 %; after the
    first at most 2 are missing with 89 %.

    >>> rounds(8, 0.85, 0.80)
    (8, 2)

    References
    ----------
    The geometric and the binomial distribution and the maximum of independent variables: any
    textbook of probability, such as W. Feller, "An Introduction to Probability Theory and Its
    Applications", vol. 1, ch. VI.
    """
    if pieces < 1:
        raise TimingError("Plan at least one piece.")
    if not 0 < success_rate <= 1 or not 0 < confidence < 1:
        raise TimingError("A success rate lies above 0, a confidence between 0 and 1.")
    fails = 1 - success_rate
    planned = [pieces]
    while (1 - fails ** len(planned)) ** pieces < confidence:
        if len(planned) == MOST_ROUNDS:
            raise TimingError(
                f"With {success_rate:.0%} coming out well, even {MOST_ROUNDS} rounds may not do. "
                "Look at the technique's success rate."
            )
        missing = fails ** len(planned)
        planned.append(max(_at_most(pieces, missing, confidence), 1))
    return tuple(planned)


def _at_most(count: int, chance: float, confidence: float) -> int:
    """Return the least number that a binomial variable stays within with a confidence."""
    reached = 0.0
    for hits in range(count):
        reached += comb(count, hits) * chance**hits * (1 - chance) ** (count - hits)
        if reached >= confidence:
            return hits
    return count
