"""What run-off that is kept is worth: never more than its share of what its layer took."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import floor

from inventory.stock.costing.amounts import VALUE_DIGITS, CostingError


@dataclass(frozen=True)
class Scraped:
    """Run-off kept of one layer, and all that was mixed of that layer, [mL]."""

    ml: Decimal
    of_ml: Decimal


def run_off_value(
    scraped_by_layer: Mapping[str, Scraped],
    took: Mapping[str, Decimal],
    replaces: Decimal | None = None,
) -> Decimal:
    """Return what the run-off of a pour is worth, all layers together.

    It is worth what the mix it replaces costs, but no more than it cost itself: of each layer that
    is its share, by volume, of what the layer took. So no pour costs less than what was not kept.

    Parameters
    ----------
    scraped_by_layer : mapping of str to Scraped
        What is kept of each layer and what was mixed of it, 0 <= kept <= mixed, [mL]
    took : mapping of str to Decimal
        Value that each layer took off the shelf, not negative; nothing where it is left out,
        [currency]
    replaces : Decimal, optional
        What as much of the mix that it replaces costs, [currency]; None where that is not known
        or does not count

    Returns
    -------
    value : Decimal
        Value, rounded down at six places, [currency]

    Raises
    ------
    CostingError
        If more of a layer is kept than was mixed.

    Examples
    --------
    Of 100 mL that took 1.80, 60 mL are kept, so 1.08 at most, whatever a new tin costs.

    >>> kept, took = {"base": Scraped(Decimal(60), Decimal(100))}, {"base": Decimal("1.80")}
    >>> [str(run_off_value(kept, took, most)) for most in (None, Decimal("10.80"), Decimal("0.9"))]
    ['1.080000', '1.080000', '0.900000']

    References
    ----------
    IAS 2 Inventories, 12 and 14 (what comes of one process shares its cost), 9 (never above cost).
    """
    whole = sum((Fraction(one.ml) for one in scraped_by_layer.values()), Fraction(0))
    value = Fraction(0)
    for layer, one in scraped_by_layer.items():
        if not 0 <= one.ml <= one.of_ml:
            raise CostingError("No more of a layer can be kept than was mixed of it.")
        if one.ml:
            cost = Fraction(took.get(layer, 0)) * Fraction(one.ml) / Fraction(one.of_ml)
            instead = cost if replaces is None else Fraction(replaces) * Fraction(one.ml) / whole
            value += min(cost, instead)
    return Decimal(floor(value * 10**VALUE_DIGITS)).scaleb(-VALUE_DIGITS)


def as_much_of(
    layer: str, scraped_by_layer: Mapping[str, Scraped], took: Mapping[str, Decimal]
) -> Decimal | None:
    """Return what as much of one layer cost as there is run-off of all, the mix that it replaces.

    Parameters
    ----------
    layer : str
        Of which layer, [-]
    scraped_by_layer : mapping of str to Scraped
        What is kept of each layer and what was mixed of it, [mL]
    took : mapping of str to Decimal
        Value that each layer took off the shelf, [currency]

    Returns
    -------
    value : Decimal or None
        None where nothing was mixed of that layer, [currency]

    Examples
    --------
    100 mL of base took 2.00, and 30 mL of colours are kept: as much base is 0.60.

    >>> kept = {
    ...     "base": Scraped(Decimal(0), Decimal(100)),
    ...     "colours": Scraped(Decimal(30), Decimal(60)),
    ... }
    >>> as_much_of("base", kept, {"base": Decimal("2.00"), "colours": Decimal(6)})
    Decimal('0.60')
    """
    replaced = scraped_by_layer.get(layer)
    if replaced is None or not replaced.of_ml:
        return None
    kept_ml = sum((one.ml for one in scraped_by_layer.values()), Decimal(0))
    return took.get(layer, Decimal(0)) * kept_ml / replaced.of_ml
