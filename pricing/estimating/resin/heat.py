"""How long mixed resin lasts in its cup."""

from inventory.mixing.proportions.amounts import Number
from pricing.estimating.resin.errors import ResinError

# Published by epoxy makers: each 10 C (18 F) more halves pot life.
HALVING_C = 10
# No formula is published for larger cups. Epoxy makers report 140 g set after about 5 minutes where
# 100 g take 60, so a cup 40 % above the quoted one keeps a twelfth of its time. The straight line
# between those two points, flat beyond them, is this project's own reading, on the safe side.
LARGE_CUP = 1.4
LEAST_SHARE = 5 / 60


def pot_life_minutes(
    quoted_minutes: Number,
    *,
    quoted_c: Number,
    room_c: Number,
    mass_g: Number,
    quoted_mass_g: Number = 100,
) -> float:
    """Return how long a cup of mixed resin stays usable.

    Parameters
    ----------
    quoted_minutes : float or Decimal
        Pot life the maker states, above zero, [min]
    quoted_c : float or Decimal
        Temperature it is stated for, [C]
    room_c : float or Decimal
        Temperature of the room and the parts, [C]
    mass_g : float or Decimal
        Resin in the cup, above zero, [g]
    quoted_mass_g : float or Decimal
        Mass it is stated for, above zero, [g]

    Returns
    -------
    minutes : float
        Halved for each 10 C above the stated temperature. A cup larger than the stated mass loses
        time along a straight line, down to a twelfth at 1.4 times that mass and beyond. A cooler
        room or a smaller cup is promised no more than the maker does, [min]

    Raises
    ------
    ResinError
        If a time or mass is not above zero, or a temperature is outside -50 to 100 C.

    Examples
    --------
    >>> pot_life_minutes(40, quoted_c=24, room_c=34, mass_g=100)
    20.0

    References
    ----------
    Epoxy makers' published guidance: pot life halves for each 18 F and is stated for 100 g; a cup
    of 140 g was reported set after about 5 minutes against a nominal 60.
    """
    for value in (quoted_minutes, mass_g, quoted_mass_g):
        if not 0 < value < 1e6:
            raise ResinError(f"Pot life and cup mass are numbers above zero, not {value}.")
    for value in (quoted_c, room_c):
        if not -50 <= value <= 100:
            raise ResinError(f"A temperature is from -50 to 100 °C, not {value}.")
    warmer = max(float(room_c) - float(quoted_c), 0.0)
    over = float(mass_g) / float(quoted_mass_g) - 1
    lost = max(over, 0.0) / (LARGE_CUP - 1) * (1 - LEAST_SHARE)
    return float(quoted_minutes) * 2 ** (-warmer / HALVING_C) * max(1 - lost, LEAST_SHARE)
