"""The rules makers price by, fitted to prices: so much a square inch, or of width plus height."""

from collections.abc import Sequence
from decimal import ROUND_HALF_UP, Decimal

from pricing.costing.price.errors import PriceError
from studio.money import ZERO

RATE_PLACES = Decimal("0.0001")


def fitted_rate(pairs: Sequence[tuple[Decimal, Decimal]]) -> Decimal:
    """Return the rate of a rule “price = rate × size” that lies nearest to some prices.

    Parameters
    ----------
    pairs : sequence of (Decimal, Decimal)
        Face, or width plus height, above 0 [in2 or in], and price, [currency]

    Returns
    -------
    rate : Decimal
        To four places, [currency/in2 or currency/in]

    Raises
    ------
    PriceError
        If there is no price, or a size is not above zero.

    Examples
    --------
    >>> fitted_rate([(Decimal(64), Decimal(128)), (Decimal(16), Decimal(32))])
    Decimal('2.0000')

    References
    ----------
    Least squares through the origin: ``Σ size · price / Σ size²``. J. G. Eisenhauer, Regression
    through the Origin, Teaching Statistics 25 (2003).
    """
    if not pairs or any(size <= 0 for size, _ in pairs):
        raise PriceError("A rule is fitted to at least one price, of a size above nothing.")
    both = sum((size * price for size, price in pairs), ZERO)
    return (both / sum((size * size for size, _ in pairs), ZERO)).quantize(
        RATE_PLACES, ROUND_HALF_UP
    )
