"""What a row of a sheet says, once it was read, and what is to be said against it."""

from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal


@dataclass(frozen=True)
class Remark:
    """What is said against a row: the heading of the cell, or none for the row as a whole; the
    sentence; whether it is wrong, or in doubt; the sheet's question that settles it, [-]."""

    heading: str
    sentence: str
    is_wrong: bool = False
    asks: str = ""


@dataclass(frozen=True)
class Container:
    """One bottle: what is in it and what it holds when full, [mL, g or pieces]; what that much is
    worth, None where it is not known, [currency]."""

    quantity: Decimal
    capacity: Decimal
    value: Decimal | None


@dataclass
class SheetRow:
    """What one row says: the pack's size, [mL, g or pieces]; its price, [currency]; the bottles on
    hand; and what is to be said against it. What the row does not say is empty."""

    number: int
    cells: tuple[str, ...]
    group: str
    name: str = ""
    kind: str = ""
    unit: str = ""
    supplier: str = ""
    supplier_code: str = ""
    pack_size: Decimal | None = None
    pack_label: str = ""
    price: Decimal | None = None
    containers: tuple[Container, ...] = ()
    place: str = ""
    received: date | None = None
    opened: date | None = None
    expires: date | None = None
    code: str = ""
    pigments: str = ""
    density: Decimal | None = None
    notes: str = ""
    remarks: list[Remark] = field(default_factory=list)

    @property
    def on_hand(self) -> Decimal:
        """How much there is in all, [mL, g or pieces]."""
        return sum((one.quantity for one in self.containers), Decimal(0))

    @property
    def outcome(self) -> str:
        """``good``, ``ask`` where its owner has to say something, or ``wrong``, [-]."""
        if any(remark.is_wrong for remark in self.remarks):
            return "wrong"
        return "ask" if self.remarks else "good"
