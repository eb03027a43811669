"""The paired test: two tiles from the same cups, one change, rated without knowing which has it.

If the change does nothing, each pair that is not alike is a toss of a coin, since the side was
drawn by lot. Whoever starts with 1 and bets on every toss that the change is better holds so much
after some of them; by Ville's inequality the chance of ever holding 20 is at most 1 in 20, however
often one looks and whenever one stops (J. Ville, Étude critique de la notion de collectif, 1939; G.
Shafer, Testing by betting, J. R. Stat. Soc. A 184, 2021, 407–431; both from memory).
"""

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from math import comb

# What is bet on: that so many pairs in ten come out better. Fixed beforehand.
WIN, LOSS = Fraction(9, 10), Fraction(1, 10)
# At most so many of the studios in which no change does anything are told of one in a year.
ALLOWED = Fraction(1, 20)
# What the first change that is tested in a year may use of that, and the second; each later one
# half as much as the one before. Together 0.75; the rest is left to what past pours show.
FIRST, SECOND = Fraction(52, 100), Fraction(115, 1000)


@dataclass(frozen=True)
class Score:
    """How many pairs [-] came out better with the change, worse, and alike."""

    better: int
    worse: int
    alike: int

    @property
    def decided(self) -> int:
        """How many pairs say something."""
        return self.better + self.worse


def stake(place: int) -> Fraction:
    """Return what the change tested ``place``-th in a year may use of what is allowed.

    Parameters
    ----------
    place : int
        Which change of its year it is, from 1 [-].

    >>> [float(stake(place)) for place in (1, 2, 3)]
    [0.52, 0.115, 0.0575]
    """
    return FIRST if place == 1 else SECOND / 2 ** (place - 2)


def needed(place: int) -> Fraction:
    """Return how much must be held, [-], before a change tested ``place``-th is told.

    Parameters
    ----------
    place : int
        Which change of its year it is, from 1 [-].

    >>> round(float(needed(1)), 1)
    38.5
    """
    return 1 / (ALLOWED * stake(place))


def evidence(better: int, worse: int) -> Fraction:
    """Return what is held, [-], after so many pairs, of somebody who began with 1.

    Parameters
    ----------
    better, worse : int
        How many pairs came out better with the change, and worse [-].

    >>> float(evidence(better=1, worse=0))
    1.8
    """
    return (2 * WIN) ** better * (2 * LOSS) ** worse


def is_told(pairs: Iterable[int], place: int) -> bool:
    """Tell whether the pairs of one change, in the order they were rated, ever held what is needed.

    Parameters
    ----------
    pairs : iterable of int
        1 (better with the change), -1 (worse) or 0 (alike, which says nothing) for each [-].
    place : int
        Which change of its year it is, from 1 [-].

    >>> is_told([1] * 7, place=1), is_told([1] * 6, place=1)
    (True, False)
    """
    better = worse = 0
    for one in pairs:
        better, worse = better + (one > 0), worse + (one < 0)
        if evidence(better, worse) >= needed(place):
            return True
    return False


def odds(better: int, decided: int) -> Fraction:
    """Return how likely so many or more of ``decided`` pairs come out better if nothing is in it.

    The one-sided sign test, exact: R. A. Fisher, The Design of Experiments, 1935 (from memory).
    Raises `ValueError` for more pairs that are better than pairs.

    Parameters
    ----------
    better : int
        How many pairs came out better [-].
    decided : int
        How many were not alike [-].

    >>> odds(better=9, decided=10)
    Fraction(11, 1024)
    """
    if not 0 <= better <= decided:
        raise ValueError("Of so many pairs, none to all can be better.")
    return Fraction(sum(comb(decided, one) for one in range(better, decided + 1)), 2**decided)


def chance_told(share: float, pairs: int, place: int = 1) -> float:
    """Return how likely a change is told within so many pairs, none alike, if it wins a ``share``.

    Worked out over every course that the pairs can take.

    Parameters
    ----------
    share : float
        The chance that a pair comes out better with the change [-].
    pairs : int
        How many pairs there are at most [-].
    place : int
        Which change of its year it is, from 1 [-].

    >>> round(chance_told(0.9, 10), 2), round(chance_told(0.5, 10), 3)
    (0.75, 0.015)
    """
    line = needed(place)

    @cache
    def ahead(better: int, worse: int) -> float:
        if evidence(better, worse) >= line:
            return 1.0
        if better + worse == pairs:
            return 0.0
        return share * ahead(better + 1, worse) + (1 - share) * ahead(better, worse + 1)

    return ahead(0, 0)
