"""Many materials, packs, prices and amounts added or changed in one act, as the page's table."""

from typing import Any

from rest_framework import serializers

from inventory.stock.table import NAMES, RowSent, Saved, save_table
from inventory.stock.table.cells import LONGEST_CELL, MOST_ROWS
from studio.api.acts import act
from studio.api.viewsets import StudioViewSet
from studio.sight import COSTS


def _cell(help_text: str) -> serializers.CharField:
    return serializers.CharField(
        max_length=LONGEST_CELL, required=False, allow_blank=True, help_text=help_text
    )


class WasIn(serializers.Serializer):
    """The cells of a row as they were read before."""

    name, kind, unit, supplier, size, price, on_hand = (_cell("As it was.") for _ in NAMES)


class RowIn(serializers.Serializer):
    """One row of the table; what is left out stays as it is, and an empty text asks for nothing.

    ``was`` are the cells as they were read: what somebody else changed since is then refused.
    """

    material = serializers.IntegerField(
        min_value=1,
        max_value=2**63 - 1,
        required=False,
        help_text="Of a material that is there; without it the name tells which, or it is new.",
    )
    name = _cell("Name of the material.")
    kind = _cell("Such as paint; a word of its label does, such as canvas.")
    unit = _cell("ml, g or each; left out of a new material, it is that of the size.")
    supplier = _cell("Who sells it; a new name adds a supplier.")
    size = _cell("What a pack holds, in any unit, such as 32 fl oz.")
    price = _cell("Of a pack, in the studio's currency.")
    on_hand = _cell("In any unit: opening stock of what never was there, else a count.")
    was = WasIn(required=False)


class TableIn(serializers.Serializer):
    rows: serializers.ListSerializer = serializers.ListSerializer(
        child=RowIn(), allow_empty=False, max_length=MOST_ROWS
    )


class SavedOut(serializers.Serializer):
    """How many of each were added, changed, put in as opening stock, and counted."""

    added, changed, packs, suppliers, put_in, counted = (
        serializers.IntegerField() for _ in range(6)
    )


class StockTable(StudioViewSet):
    """The table of materials with their usual packs and what is on hand."""

    sights = (COSTS,)

    @act(TableIn, gives=SavedOut, on_row=False)
    def save(self, rows: list[dict[str, Any]]) -> Saved:
        """Save rows of materials, packs, prices and amounts, all of them or nothing.

        A refusal names each cell at fault by its place, counted from 0, such as rows.3.price.
        """
        return save_table(
            studio=self.studio,
            by=self.request.user,
            rows=[
                RowSent(
                    cells={name: row[name].strip() for name in NAMES if name in row},
                    material=row.get("material"),
                    was=row.get("was"),
                )
                for row in rows
            ],
        )
