"""How thick a film of a mix may dry, by the medium in it."""

from typing import Literal

from inventory.mixing.proportions.amounts import Number
from inventory.mixing.proportions.errors import RecipeError

Medium = Literal["ordinary", "pouring", "anti-craze"]

# Wet film from which ordinary fluid mediums, wall paint and paint thinned with water craze (1/16
# in) and to which pouring mediums are less likely to (1/8 in): paint makers' published guidance.
# Nothing is published of a thicker film under anti-craze mediums, so theirs is the same.
CRAZING_FILM_MM: dict[Medium, float] = {"ordinary": 1.5, "pouring": 3.0, "anti-craze": 3.0}
# Published recipes have at least as much pouring medium as paint, but for one of conditioner.
LEAST_POURING = 1
# With less than four parts of anti-craze medium to one of paint crazing comes back, its maker says.
LEAST_ANTI_CRAZE = 4


def medium_of(paint_ml: Number, pouring_ml: Number, anti_craze_ml: Number = 0) -> Medium:
    """Return which medium decides how thick a film of a mix may dry.

    Parameters
    ----------
    paint_ml, pouring_ml, anti_craze_ml : float or Decimal
        Paint, pouring medium and anti-craze medium in the mix, from 0, [mL]

    Returns
    -------
    medium : str
        "anti-craze" from four parts of it to one of paint, "pouring" from as much of the two as of
        paint, else "ordinary", [-]

    Raises
    ------
    RecipeError
        If a volume is below zero.

    Examples
    --------
    >>> medium_of(100, 0), medium_of(100, 50), medium_of(100, 100), medium_of(100, 0, 400)
    ('ordinary', 'ordinary', 'pouring', 'anti-craze')

    References
    ----------
    Paint makers' published recipes: one part of paint to 1 to 5 of pouring medium, to 4 to 10 of
    anti-craze medium.
    """
    if not all(ml >= 0 for ml in (paint_ml, pouring_ml, anti_craze_ml)):
        raise RecipeError("What is in a mix is not below zero.")
    paint, pouring, anti_craze = float(paint_ml), float(pouring_ml), float(anti_craze_ml)
    if anti_craze and anti_craze >= LEAST_ANTI_CRAZE * paint:
        return "anti-craze"
    meant = pouring + anti_craze
    return "pouring" if meant and meant >= LEAST_POURING * paint else "ordinary"
