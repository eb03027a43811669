"""Where what is mixed of a layer goes: onto the pieces, into bottles and the pot, or lost."""

from dataclasses import astuple, dataclass
from decimal import ROUND_HALF_UP, Decimal

from inventory.mixing.proportions.errors import MixingError
from studio.money import ZERO

ML_PLACES = Decimal("0.001")


@dataclass(frozen=True)
class Spent:
    """What is mixed of one layer, all pieces together, and where it goes, [mL].

    ``mixed = saved + used`` and ``used = poured + left``: what is saved stays in a bottle of mix,
    what is left stays in cups and on tools and is thrown away. Of what is poured ``scraped`` goes
    back into the pot; the rest is on the pieces, or dripped off and lost.
    """

    mixed: Decimal
    used: Decimal
    poured: Decimal
    scraped: Decimal

    @property
    def saved(self) -> Decimal:
        """What stays in a bottle of mix, [mL]."""
        return self.mixed - self.used

    @property
    def left(self) -> Decimal:
        """What stays in cups and on tools, [mL]."""
        return self.used - self.poured

    def __add__(self, other: "Spent") -> "Spent":
        return Spent(*(one + two for one, two in zip(astuple(self), astuple(other), strict=True)))

    def times(self, times: Decimal) -> "Spent":
        """Return it so many times over, [mL]."""
        return Spent(*(one * times for one in astuple(self)))


def spent(
    mixed_ml: Decimal,
    poured_ml: Decimal,
    *,
    cup_loss: Decimal,
    saved_share: Decimal = ZERO,
    scraped_share: Decimal = ZERO,
) -> Spent:
    """Return where what is mixed of a layer goes.

    Parameters
    ----------
    mixed_ml : Decimal
        What is mixed, above zero, [mL]
    poured_ml : Decimal
        What is poured of it, from 0, no more than cups let go, [mL]
    cup_loss : Decimal
        Share of a mix that stays in cups and on tools, from 0 to less than 1, [-]
    saved_share : Decimal
        Share of what is not poured that stays in a bottle, what cups take left out, [-]
    scraped_share : Decimal
        Share of what is poured that is scraped back, [-]

    Returns
    -------
    spent : Spent
        Volumes to 0.001 mL; ``saved = saved_share · (mixed - poured / (1 - cup_loss))``, [mL]

    Raises
    ------
    MixingError
        If a share is out of range, or more is poured than was mixed.

    Examples
    --------
    100 mL mixed, 76 mL poured: with a twentieth lost in cups that takes 80 mL. Half of the other
    20 mL stays in the bottle, so 90 mL leave it, of which 14 mL are thrown away.

    >>> lost, half = Decimal("0.05"), Decimal("0.5")
    >>> half = spent(Decimal(100), Decimal(76), cup_loss=lost, saved_share=half)
    >>> str(half.saved), str(half.used), str(half.left)
    ('10.000', '90.000', '14.000')
    """
    if not 0 <= cup_loss < 1 or not 0 <= saved_share <= 1 or not 0 <= scraped_share <= 1:
        raise MixingError("What is lost, saved and kept are shares from 0 to 1.")
    if not 0 <= poured_ml <= mixed_ml:
        raise MixingError(f"Of {mixed_ml} mL no more can be poured, and not {poured_ml} mL.")
    over = max(mixed_ml - poured_ml / (1 - cup_loss), ZERO)
    return Spent(
        mixed=mixed_ml,
        used=mixed_ml - _ml(over * saved_share),
        poured=poured_ml,
        scraped=_ml(poured_ml * scraped_share),
    )


def _ml(volume: Decimal) -> Decimal:
    return volume.quantize(ML_PLACES, ROUND_HALF_UP)
