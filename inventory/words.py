"""Amounts of stock in sentences."""

from collections.abc import Iterable
from datetime import date
from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal
from typing import Protocol

from studio.dates import in_full as day
from studio.units import format_mass, format_volume
from studio.units.materials import Counted
from studio.units.numerals import significant, trimmed

SHOWN = Decimal("0.01")


def amount(material: Counted, quantity: Decimal) -> str:
    """Write an amount of a material, to a hundredth or, below that, in full: ``12.5 mL``, ``4``."""
    rounded = quantity.quantize(SHOWN, ROUND_HALF_UP)
    number = trimmed(rounded or quantity)
    return number if material.unit == "each" else f"{number} {material.get_unit_display()}"


def called(material: Counted, number: int | Decimal = 1) -> str:
    """Return what a material stands in on the shelf: ``bottle``, or of so many, ``lots``.

    What is poured stands in bottles, whatever they look like; whole items such as tiles and boxes,
    which are counted together, are a lot.
    """
    word = "lot" if material.unit == "each" else "bottle"
    return word if number == 1 else f"{word}s"


class OnShelf(Protocol):
    """A bottle or a lot, as far as its name goes."""

    @property
    def material(self) -> Counted: ...

    @property
    def code(self) -> str: ...

    @property
    def capacity(self) -> Decimal: ...

    @property
    def received_on(self) -> date: ...


def lot_named(row: OnShelf) -> str:
    """Name a lot by how many came: ``20 × Coaster box``."""
    return f"{about(row.material, row.capacity)} × {row.material}"


def named(row: OnShelf) -> str:
    """Name what is on the shelf: ``B0012 Titanium white``, or a lot as it came: ``20 × Coaster box,
    received 3 May 2026``."""
    if called(row.material) == "bottle":
        return f"{row.code} {row.material}"
    return f"{lot_named(row)}, received {day(row.received_on)}"


def listed(things: Iterable[str]) -> str:
    """Join words as in a sentence: ``white, blue and gold``."""
    *most, last = things
    return f"{', '.join(most)} and {last}" if most else last


def about(material: Counted, quantity: Decimal) -> str:
    """Write an amount as a person would say it: ``783 mL``; items whole, rounded up: ``4``."""
    if material.unit == "each":
        return f"{quantity.to_integral_value(ROUND_CEILING):f}"
    return {"ml": format_volume, "g": format_mass}[material.unit](quantity)


def average(material: Counted, quantity: Decimal | float) -> str:
    """Write an average as a person would say it: ``4.3 mL``, and of items ``0.27``, not rounded up.

    ``quantity`` may be a float, [the material's unit].
    """
    if material.unit == "each":
        return trimmed(significant(Decimal(quantity), 2))
    return about(material, Decimal(quantity))
