"""The rows of the table as they stand: material, usual pack, what is on hand."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Count, Exists, F, Max, Min, OuterRef, Q

from inventory.models import Material, OrderLine, Pack
from inventory.words import amount, called
from studio.models import Studio
from studio.money import to_payable
from studio.units.numerals import trimmed


@dataclass(frozen=True)
class Shown:
    """One material with its packs, the usual one first, and the bottles that it stands in.

    ``in_use`` are the keys of packs that were bought or ordered, whose size stays. ``bottle`` is
    the key of one that has something in it, of so many ``bottles``; ``is_new`` says that there
    never was any.
    """

    material: Material
    packs: tuple[Pack, ...]
    in_use: frozenset[int]
    bottle: int | None
    bottles: int
    is_new: bool
    currency: str

    @property
    def pack(self) -> Pack | None:
        """The usual pack: the one that came last, else the one written down last."""
        return self.packs[0] if self.packs else None

    @property
    def stands_in(self) -> str:
        """How many bottles or lots it is in: ``2 bottles``."""
        return f"{self.bottles} {called(self.material, self.bottles)}"

    @property
    def cells(self) -> dict[str, str]:
        """The texts of its cells, by the name of their column."""
        material, pack = self.material, self.pack
        return {
            "name": material.name,
            "kind": material.kind,
            "unit": material.unit,
            "supplier": pack.supplier.name if pack else "",
            "size": amount(material, pack.size) if pack else "",
            "price": _written(pack.price, self.currency) if pack else "",
            "on_hand": amount(material, material.on_hand) if material.is_stocked else "",
        }


def _written(price: Decimal, currency: str) -> str:
    """Write a price so that it can be read back, to the last place that it has."""
    rounded = to_payable(price, currency)
    return f"{rounded:f}" if rounded == price else trimmed(price)


def shown_rows(studio: Studio, materials: Iterable[Material]) -> list[Shown]:
    """Return materials of a studio as the table shows them, by two queries for all of them."""
    rows = list(materials)
    packs: dict[int, list[Pack]] = defaultdict(list)
    in_use = set()
    offered = studio.packs.on_offer().filter(material__in=rows).select_related("supplier")
    ordered = Exists(OrderLine.objects.filter(pack=OuterRef("pk")))
    came = Max("bottles__received_on")
    for pack in offered.annotate(came=came, ordered=ordered).order_by(
        F("came").desc(nulls_last=True), "-pk"
    ):
        packs[pack.material_id].append(pack)
        if pack.came or pack.ordered:
            in_use.add(pack.pk)
    full = Q(remaining__gt=0)
    bottles = studio.bottles.filter(material__in=rows).order_by().values_list("material")
    counted = {
        material: (one, several)
        for material, one, several in bottles.annotate(
            one=Min("pk", filter=full), several=Count("pk", filter=full)
        )
    }
    return [
        Shown(
            row,
            tuple(packs[row.pk]),
            frozenset(pack.pk for pack in packs[row.pk] if pack.pk in in_use),
            *counted.get(row.pk, (None, 0)),
            is_new=row.pk not in counted,
            currency=studio.currency,
        )
        for row in rows
    ]
