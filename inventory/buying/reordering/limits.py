"""What the arithmetic of demand accepts, and how it refuses the rest."""

from decimal import Decimal


class DemandError(ValueError):
    """Raised when a reorder point cannot be computed; the text says what is accepted."""


def check(service_level: float, **amounts: float | Decimal) -> None:
    """Refuse a service level or an amount that is out of range."""
    if not 0.5 <= service_level < 1:
        raise DemandError(
            f"The service level is from 50 % to below 100 %, not {service_level:.4g}."
        )
    for name, amount in amounts.items():
        if not 0 <= amount < float("inf"):
            raise DemandError(
                f"{name.replace('_', ' ').capitalize()} must be zero or more, and not endless."
            )
