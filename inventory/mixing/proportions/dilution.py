"""How much water a mix bears, and how long it keeps with water in it."""

from typing import Literal

from inventory.mixing.proportions.amounts import Number
from inventory.mixing.proportions.errors import RecipeError

Dilution = Literal["fine", "sources differ", "too much"]

# Water, as a share of all of the mix. Three sources keep to 30 % on primed surfaces that drink
# nothing, two to half and half; a paint maker's tests on acrylic gesso bore far more, but none of
# them was made on glazed tile.
CAUTIOUS_SHARE, LARGEST_SHARE = 0.3, 0.5
# Water thins what keeps paint from going off. No number is published of mixed paint; paint on a
# damp palette lasts one to two weeks, and a closed bottle longer: common practice, no source.
DILUTED_DAYS = 30


def dilution(water_ml: Number, mix_ml: Number) -> Dilution:
    """Judge whether the binder in a mix bears the water in it.

    Parameters
    ----------
    water_ml : float or Decimal
        Water in the mix, from 0, [mL]
    mix_ml : float or Decimal
        All of the mix, the water included, above zero, [mL]

    Returns
    -------
    dilution : str
        "fine" up to 30 %, "sources differ" up to 50 %, above that "too much", [-]

    Raises
    ------
    RecipeError
        If the mix is not above zero, or the water is below zero or more than the mix.

    Examples
    --------
    >>> dilution(10, 100), dilution(40, 100), dilution(60, 100)
    ('fine', 'sources differ', 'too much')

    References
    ----------
    Published advice on thinning acrylics: 30 % or less, half and half at most; see above.
    """
    if not 0 <= water_ml <= mix_ml or mix_ml <= 0:
        raise RecipeError("Water is a part of the mix that it is in.")
    share = float(water_ml) / float(mix_ml)
    if share <= CAUTIOUS_SHARE:
        return "fine"
    return "sources differ" if share <= LARGEST_SHARE else "too much"
