"""What is left of the two parts: how much can still be mixed, and which part is short."""

from dataclasses import dataclass
from decimal import ROUND_FLOOR, Decimal
from typing import Literal

from inventory.mixing.proportions.amounts import decimal, exact
from pricing.estimating.advice import Advice
from pricing.estimating.resin.errors import ResinError
from pricing.estimating.resin.kit import Kit
from studio.money import ZERO

SMALLEST_ML = Decimal("0.1")
ARITHMETIC = "the kit's ratio and the densities on record"


@dataclass(frozen=True)
class Mixable:
    """What the rest of both parts gives: resin to be mixed, and what stays over of one, [mL].

    ``short`` is the part that runs out first, A or B, or nothing where both end together.
    """

    ml: Decimal
    short: Literal["A", "B", ""]
    over_ml: Decimal


def mixable(kit: Kit, a_ml: Decimal, b_ml: Decimal) -> Mixable:
    """Return how much resin can be mixed in the kit's ratio from what is left of each part.

    Parameters
    ----------
    kit : Kit
        The resin, with densities if its parts are by weight, [-]
    a_ml, b_ml : Decimal
        Left of part A (resin) and of part B (hardener), not below zero, [mL]

    Returns
    -------
    left : Mixable
        Rounded down to a tenth, [mL]

    Raises
    ------
    ResinError
        If an amount is below zero, or a kit by weight has no densities.

    Examples
    --------
    2:1 by volume from 90 mL and 60 mL: 90 mL take 45 mL, and 15 mL of hardener stay over.

    >>> mixable(Kit("Clear", Decimal(2), Decimal(1), "volume"), Decimal(90), Decimal(60))
    Mixable(ml=Decimal('135.0'), short='A', over_ml=Decimal('15.0'))

    References
    ----------
    The part that lasts for fewer mixes limits them; volumes taken to add up.
    """
    if a_ml < 0 or b_ml < 0:
        raise ResinError(f"What is left of a part is not below zero: {a_ml} mL and {b_ml} mL.")
    share_a, share_b = exact(kit.ratio_a), exact(kit.ratio_b)
    if kit.basis == "weight":
        if kit.density_a is None or kit.density_b is None:
            raise ResinError(
                f"{kit.name} is mixed by weight: enter the density of both parts to see how far "
                "they go."
            )
        share_a, share_b = share_a / exact(kit.density_a), share_b / exact(kit.density_b)
    times_a, times_b = exact(a_ml) / share_a, exact(b_ml) / share_b
    times = min(times_a, times_b)
    over = (times_a - times) * share_a + (times_b - times) * share_b
    short: Literal["A", "B", ""] = "" if times_a == times_b else "A" if times_a < times_b else "B"
    return Mixable(
        decimal(times * (share_a + share_b)).quantize(SMALLEST_ML, ROUND_FLOOR),
        short,
        decimal(over).quantize(SMALLEST_ML, ROUND_FLOOR),
    )


def hardener_off(kit: Kit) -> Decimal | None:
    """Return by which share the hardener is off when the kit's ratio is measured the other way.

    Parameters
    ----------
    kit : Kit
        The resin, [-]

    Returns
    -------
    off : Decimal or None
        Above zero for too much hardener, below for too little: for a kit by volume, if its numbers
        are weighed; for one by weight, if they are measured by volume. None where a density is not
        known, [-]

    Examples
    --------
    Equal weights of 1.2 g/mL and 1 g/mL hold a fifth more hardener by volume.

    >>> one_to_one = ("Clear", Decimal(1), Decimal(1), "volume")
    >>> hardener_off(Kit(*one_to_one, density_a=Decimal("1.2"), density_b=Decimal(1)))
    Decimal('0.2')

    References
    ----------
    Volume is mass over density: a:b by weight is a/dA : b/dB by volume, dA/dB times the hardener.
    """
    if kit.density_a is None or kit.density_b is None:
        return None
    heavier = exact(kit.density_a) / exact(kit.density_b)
    return decimal((heavier if kit.basis == "volume" else 1 / heavier) - 1)


def other_measure(kit: Kit) -> Advice | None:
    """Warn of measuring a kit's ratio the other way, by what that does to the hardener.

    Parameters
    ----------
    kit : Kit
        The resin, [-]

    Returns
    -------
    advice : Advice or None
        Too much or too little hardener against none; None where it would be off by less than a
        thousandth, or a density is not known, [%]

    Examples
    --------
    >>> one_to_one = ("Clear", Decimal(1), Decimal(1), "volume")
    >>> other_measure(Kit(*one_to_one, density_a=Decimal("1.2"), density_b=Decimal(1))).sentence
    'Mix Clear 1 : 1 by volume. The same numbers by weight are 20.0 % too much hardener.'
    """
    off = hardener_off(kit)
    if off is None or abs(off) < Decimal("0.001"):
        return None
    own, other = ("volume", "weight") if kit.basis == "volume" else ("weight", "volume")
    ratio = f"{float(kit.ratio_a):g} : {float(kit.ratio_b):g}"
    amount = f"{abs(off) * 100:.1f} % too {'much' if off > ZERO else 'little'} hardener"
    return Advice(
        code="resin-measure",
        sentence=f"Mix {kit.name} {ratio} by {own}. The same numbers by {other} are {amount}.",
        computed=float(off * 100),
        limit=0.0,
        unit="%",
        source=ARITHMETIC,
        severity="caution",
    )
