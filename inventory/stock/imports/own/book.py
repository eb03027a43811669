"""What a studio has already, as far as a sheet can name it."""

from collections import Counter
from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from django.db.models import QuerySet

from inventory.models import Material, Movement, Pack, Supplier
from inventory.stock.sheets import Container, SheetRow
from studio.models import Studio

# What tells one bottle of opening stock from others: material, amount, worth, and where it stands.
Began = tuple[int, Decimal, Decimal, str]


def folded(name: str) -> str:
    """Return what makes two names the same: case and spaces aside."""
    return " ".join(name.split()).casefold()


def rests_on(studio: Studio) -> Iterable[QuerySet[Any]]:
    """Return the rows that decide what becomes of a sheet."""
    return (
        studio.materials.all(),
        studio.suppliers.all(),
        studio.packs.all(),
        studio.bottles.all(),
    )


class Book:
    """The materials, suppliers and packs of a studio by name, and its opening stock."""

    def __init__(self, studio: Studio) -> None:
        self.materials: dict[str, Material] = {
            folded(row.name): row for row in studio.materials.all()
        }
        self.suppliers: dict[str, Supplier] = {
            folded(row.name): row for row in studio.suppliers.all()
        }
        self.packs: dict[tuple[int, int, Decimal], Pack] = {}
        for pack in studio.packs.order_by("is_on_offer", "-pk"):
            self.packs[pack.supplier_id, pack.material_id, pack.size] = pack
        self.codes = {code.upper() for code in studio.bottles.values_list("code", flat=True)}
        opened = studio.movements.filter(kind=Movement.Kind.OPENING, entry__reversed_by=None)
        rows = opened.values_list("material", "quantity", "value", "bottle__place")
        self.began: Counter[Began] = Counter(
            (material, quantity, value, folded(place)) for material, quantity, value, place in rows
        )

    def units(self) -> dict[str, str]:
        """Return {name: what it is counted in}."""
        return {name: row.unit for name, row in self.materials.items()}

    def already(self, row: SheetRow) -> int:
        """Return how many of a row's bottles came in before, and count them no more."""
        material = self.materials.get(folded(row.name))
        if material is None:
            return 0
        wanted = Counter(_began(material, one, row.place) for one in row.containers)
        there = wanted & self.began
        self.began -= there
        return there.total()


def _began(material: Material, one: Container, place: str) -> Began:
    return material.pk, one.quantity, one.value or Decimal(0), folded(place)
