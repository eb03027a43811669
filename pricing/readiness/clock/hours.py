"""Days until paint is dry and resin is cured. The table of films itself is `advice.days_to_dry`."""

from dataclasses import dataclass
from math import ceil

from inventory.mixing.proportions.amounts import Number
from inventory.mixing.proportions.mediums import Medium
from pricing.estimating.advice import days_to_dry, number

# The table holds for 18 to 24 C. A pour of 8 x 10 in dried in 30 h at 22 to 24 C and took 70 h at
# 18 C, 5 C cooler (published, one source). That a colder room slows it at that rate is our guess.
SLOW_C = 18.0
SLOWER, PER_C = 70 / 30, 5.0
# Paint dries badly under 9 C (three sources), and nobody says how long it takes there.
NO_PAINT_C = 9.0
# Epoxy at 15 C or less does not cure (makers).
NO_RESIN_C = 15.0
# Pot life doubles for each 10 C less (makers); that the cure does too is our guess.
RESIN_DOUBLES_C = 10.0
# What the maker of an anti-craze medium states before a pour is moved, whatever its film.
ANTI_CRAZE_MOVE = 3


@dataclass(frozen=True)
class PaintDays:
    """Days from the pour until paint is touch-dry, dry for resin, dry for varnish, cured, [d]."""

    touch_dry: int
    dry: int
    varnish: int
    cured: int


def slowed(room_c: Number | None) -> float | None:
    """Return how many times as long paint dries in a room as the table of films says.

    Parameters
    ----------
    room_c : float or Decimal or None
        Temperature of the room; None where it was not noted, which counts as one the table holds
        for, [C]

    Returns
    -------
    times : float or None
        1 from 18 C on, more below; None below 9 C, where it is not known, [-]

    Raises
    ------
    AdviceError
        If it is below -50 C or not a number.

    Examples
    --------
    >>> slowed(None), slowed(22), slowed(8)
    (1.0, 1.0, None)
    >>> round(slowed(13), 2)
    2.33

    References
    ----------
    An 8 x 10 in pour: 30 h at 22 to 24 C, 70 h at 18 C. Below 18 C the same rate is our guess.
    """
    if room_c is None:
        return 1.0
    room = number(room_c, "A room temperature", least=-50)
    if room < NO_PAINT_C:
        return None
    return float(SLOWER ** (max(SLOW_C - room, 0.0) / PER_C))


def paint_days(
    film_mm: Number, medium: Medium = "ordinary", room_c: Number | None = None
) -> PaintDays | None:
    """Return how long the paint of a pour takes to each of its stages.

    Parameters
    ----------
    film_mm : float or Decimal
        Wet film left on the face, from 0, [mm]
    medium : str
        "ordinary", "pouring" or "anti-craze", as `medium_of` says, [-]
    room_c : float or Decimal or None
        Temperature of the room; None where it was not noted, [C]

    Returns
    -------
    days : PaintDays or None
        None in a room in which nobody knows, [d]

    Raises
    ------
    AdviceError
        If the film is below zero.

    Examples
    --------
    >>> paint_days(1.2)
    PaintDays(touch_dry=3, dry=7, varnish=14, cured=28)
    >>> paint_days(4, "ordinary").touch_dry, paint_days(4, "anti-craze").touch_dry
    (7, 3)
    >>> paint_days(1.2, room_c=13).dry, paint_days(1.2, room_c=5)
    (17, None)

    References
    ----------
    `pricing.estimating.advice.days_to_dry` for films, `slowed` for rooms; three days before moving:
    the maker of an anti-craze medium. Humidity is not counted: what is published disagrees.
    """
    times = slowed(room_c)
    if times is None:
        return None
    move = days_to_dry(film_mm, "move")
    if medium == "anti-craze":
        move = min(move, ANTI_CRAZE_MOVE)
    dry, varnish, cured = (days_to_dry(film_mm, one) for one in ("resin", "varnish", "cure"))
    return PaintDays(*(ceil(times * days) for days in (move, dry, varnish, cured)))


def resin_days(hours: Number, room_c: Number | None = None, from_c: Number = 21) -> int | None:
    """Return how many days resin takes where its maker states hours.

    Parameters
    ----------
    hours : float or Decimal
        What the label says, from 0, [h]
    room_c : float or Decimal or None
        Temperature of the room; None where it was not noted, [C]
    from_c : float or Decimal
        The coolest room that its maker asks for, [C]

    Returns
    -------
    days : int or None
        Whole days; None in a room in which it does not cure, [d]

    Raises
    ------
    AdviceError
        If a number is below what it can be.

    Examples
    --------
    >>> resin_days(72), resin_days(72, 18, 21), resin_days(72, 14)
    (3, 4, None)

    References
    ----------
    Epoxy makers: 10 C less doubles the pot life; that the cure slows alike is our guess.
    """
    stated = number(hours, "Hours of a cure")
    if room_c is None:
        return ceil(stated / 24)
    room, least = (number(one, "A room temperature", least=-50) for one in (room_c, from_c))
    if room <= NO_RESIN_C and room < least:
        return None
    times = 2 ** (max(least - room, 0.0) / RESIN_DOUBLES_C)
    return ceil(stated * times / 24)
