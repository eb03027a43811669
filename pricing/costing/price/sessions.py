"""How many sessions it takes until enough pieces came out well."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache

from scipy.stats import binom

from pricing.costing.price.errors import PriceError
from studio.money import ZERO

ONE = Decimal(1)
# Sessions less likely than this are left out, [-].
RARE = 1e-9


@dataclass(frozen=True)
class Sessions:
    """Sessions to expect until ``pieces`` [-] came out well, at such chances of each step, [-].

    ``pours`` and ``coats`` say how often so many pieces are poured, or coated, in one go,
    {pieces: times}, [-]; ``again`` are those beyond the first, of all pieces.
    """

    pieces: int
    pour_success: Decimal
    coat_success: Decimal
    pours: Mapping[int, Decimal]
    coats: Mapping[int, Decimal]

    @property
    def poured(self) -> Decimal:
        """Pieces poured in all, [-]."""
        return self.coated / self.pour_success

    @property
    def coated(self) -> Decimal:
        """Pieces coated in all, [-]."""
        return self.pieces / self.coat_success

    @property
    def pours_again(self) -> dict[int, Decimal]:
        """The pours beyond the first, {pieces: times}."""
        return self._again(self.pours)

    @property
    def coats_again(self) -> dict[int, Decimal]:
        """The coats beyond one over all pieces; of that below zero where it is not certain."""
        return self._again(self.coats)

    def _again(self, sessions: Mapping[int, Decimal]) -> dict[int, Decimal]:
        again = {**sessions, self.pieces: sessions.get(self.pieces, ZERO) - 1}
        return {count: times for count, times in again.items() if times}


@lru_cache(maxsize=1024)
def sessions(pieces: int, pour_success: Decimal, coat_success: Decimal = ONE) -> Sessions:
    """Return the sessions to expect until enough pieces came out well.

    All pieces are poured in one session; those that came out well are coated together, and what
    failed in either is poured again by itself, until all are there.

    Parameters
    ----------
    pieces : int
        How many are wanted, at least 1, [-]
    pour_success, coat_success : Decimal
        Share of poured, and of coated, pieces that turn out well, above 0 and at most 1, [-]; 1 for
        what gets no topcoat

    Returns
    -------
    sessions : Sessions
        Expected numbers, to nine places, [-]

    Raises
    ------
    PriceError
        If there is no piece, or a share is out of range.

    Examples
    --------
    Of two pieces at a half each: with 1/4 both have to be poured again, with 1/2 one.

    >>> found = sessions(2, Decimal("0.5"))
    >>> [(count, round(float(times), 6)) for count, times in found.pours.items()]
    [(2, 1.333333), (1, 1.333333)]
    >>> found.poured  # two at a half each
    Decimal('4')

    References
    ----------
    An absorbing Markov chain, whose states are the pieces still wanted: J. G. Kemeny, J. L. Snell,
    Finite Markov Chains, th. 3.2.4 (expected visits). Pieces fail independently of each other.
    """
    if pieces < 1:
        raise PriceError("A cost is for at least one piece.")
    for share in (pour_success, coat_success):
        if not 0 < share <= 1:
            raise PriceError(
                f"The share of pieces that turn out well is above 0 % and at most 100 %, "
                f"not {share:.4%}."
            )
    pour, both = float(pour_success), float(pour_success * coat_success)
    visits = [0.0] * pieces + [1.0]
    coats = [0.0] * (pieces + 1)
    for count in range(pieces, 0, -1):
        if visits[count] < RARE:
            continue
        if both < 1:
            chances = binom.pmf(range(count + 1), count, 1 - both)
            visits[count] /= 1 - chances[count]  # all may fail, and are poured once more
            for failed in range(1, count):
                visits[failed] += visits[count] * float(chances[failed])
        for well, chance in enumerate(binom.pmf(range(count + 1), count, pour)):
            coats[well] += visits[count] * float(chance)
    return Sessions(
        pieces, Decimal(pour_success), Decimal(coat_success), _kept(visits), _kept(coats)
    )


def _kept(times_by_count: list[float]) -> dict[int, Decimal]:
    """Return what is likely enough to count, the most pieces first."""
    return {
        count: Decimal(f"{times:.9f}")
        for count, times in reversed([*enumerate(times_by_count)])
        if count and times >= RARE
    }
