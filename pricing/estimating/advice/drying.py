"""Advice on waiting: how long paint dries before it is moved or coated."""

from typing import Literal

from inventory.mixing.proportions.amounts import Number
from pricing.estimating.advice.finding import NO_SOURCE, Advice, AdviceError, number

Stage = Literal["move", "resin", "varnish", "cure"]

# Days to wait, by the wet film left on the piece: up to 1.5 mm, up to 3 mm, thicker. Published
# advice runs from 3 days to 4 weeks for the same act and agrees only that thickness decides, so
# this is the cautious reading of it: common practice, no source.
THIN_MM, THICK_MM = 1.5, 3.0
DAYS = {
    "move": (3, 3, 7),
    "resin": (7, 14, 28),
    "varnish": (14, 28, 28),
    "cure": (28, 28, 42),
}
# Artists who sell pours wait a week after varnishing before a piece goes out.
VARNISH_DAYS = 7
# Primer and a sealer dry overnight before something goes over them: common practice, no source.
PRIMER_DAYS = SEALER_DAYS = 1
# Under this nothing published coats a pour at all.
LEAST_DAYS = 3


def days_to_dry(film_mm: Number, stage: Stage) -> int:
    """Return how long a pour dries before something may be done with it.

    Parameters
    ----------
    film_mm : float or Decimal
        Wet film left on the piece, from 0, [mm]
    stage : str
        "move" to lift it, "resin" or "varnish" to coat it, "cure" for its final strength, [-]

    Returns
    -------
    days : int
        Days from the pour, at 18 to 24 C, [d]

    Raises
    ------
    AdviceError
        If the film is below zero or the stage is none of the four.

    Examples
    --------
    >>> days_to_dry(1.2, "resin"), days_to_dry(2.5, "resin"), days_to_dry(4, "resin")
    (7, 14, 28)
    """
    film = number(film_mm, "A film")
    if stage not in DAYS:
        raise AdviceError(f"Drying is judged before {', '.join(DAYS)}, not before “{stage}”.")
    thin, thick, thicker = DAYS[stage]
    return thin if film <= THIN_MM else thick if film <= THICK_MM else thicker


def early_topcoat(
    days_dried: Number,
    film_mm: Number,
    topcoat: Literal["resin", "varnish"] = "resin",
    wait_days: int | None = None,
) -> Advice:
    """Judge whether the paint has dried long enough for a topcoat.

    Parameters
    ----------
    days_dried : float or Decimal
        Days since the pour, from 0, [d]
    film_mm : float or Decimal
        Wet film that was left on the piece, from 0, [mm]
    topcoat : str
        "resin" or "varnish", [-]
    wait_days : int, optional
        How long it dries in its own room; without it what `days_to_dry` says, [d]

    Returns
    -------
    advice : Advice
        Days dried against that; "stop" under 3 days, [d]

    Raises
    ------
    AdviceError
        If a number is below zero.

    Examples
    --------
    >>> judged = early_topcoat(5, 1.2)
    >>> judged.computed, judged.limit, judged.severity
    (5.0, 7.0, 'caution')
    """
    days, film = number(days_dried, "Days dried"), number(film_mm, "A film")
    wait = days_to_dry(film, topcoat) if wait_days is None else wait_days
    early = days < wait
    return Advice(
        code="early-topcoat",
        sentence=f"Dried {days:g} {'day' if days == 1 else 'days'}; a wet film of {film:.1f} mm "
        f"is best left {wait} days before {topcoat}"
        + (", or moisture stays under it." if early else "."),
        computed=days,
        limit=float(wait),
        unit="days",
        source=NO_SOURCE,
        severity="stop" if days < LEAST_DAYS else "caution" if early else "fine",
    )
