"""The rows that an act on the stock reads under its locks, and writes when it is done."""

from collections.abc import Collection, Iterable, Mapping
from decimal import Decimal
from typing import Any

from django.db import connection
from django.db.models import Model

from inventory.errors import NotInStudio
from inventory.models import Bottle, Material
from inventory.stock.shelf.compiled import compiled
from studio.amounts import steps_sql, to_steps
from studio.closing import held
from studio.models import Studio

# For each material the first bottles in the order of use that hold what is wanted of it; no model
# query finds that, for several materials and under a lock, in one statement.
PLACES = Bottle._meta.get_field("remaining").decimal_places
LEFT = steps_sql("remaining", PLACES)
FIRST_TO_GO = f"""
WITH wanted (material_id, quantity) AS (VALUES {{wanted}}), queue AS (
    SELECT id, quantity, SUM({LEFT}) OVER (
        PARTITION BY material_id ORDER BY expires_on NULLS LAST, received_on, id
        ROWS UNBOUNDED PRECEDING
    ) - {LEFT} AS ahead
    FROM inventory_bottle JOIN wanted USING (material_id) WHERE remaining > 0
)
SELECT * FROM inventory_bottle
WHERE id IN (SELECT id FROM queue WHERE ahead < quantity) ORDER BY id {{lock}}
"""


# What of the studio an act on the stock depends on; no month of it is closed until the act is over.
SETTINGS = (
    *("costing", "costing_next", "costing_next_from", "run_off_value", "time_zone"),
    "closed_up_to",
)
settings = compiled(lambda key: Studio.objects.only(*SETTINGS).filter(pk=key), held)
_locked = compiled(
    lambda studio, *keys: (
        Material.objects.select_for_update()
        .filter(studio=studio)
        .filter(pk__in=keys)
        .order_by("pk")
    )
)


def lock(studio: Studio, material_ids: Iterable[int]) -> dict[int, Material]:
    """Lock materials in the order of their keys and return them by key, as they are now."""
    keys = set(material_ids)
    rows = {row.pk: row for row in _locked(studio.pk, *keys)} if keys else {}
    if len(rows) < len(keys):
        raise NotInStudio("There is no material like that in this studio.")
    return rows


def first_to_go(quantities: Mapping[int, Decimal]) -> Iterable[Bottle]:
    """Lock and return the bottles that the amounts come from, {material key: amount}.

    The materials are locked, and those of one studio.
    """
    values = ", ".join(["(%s, CAST(%s AS BIGINT))"] * len(quantities))
    lock = "FOR UPDATE" if connection.features.has_select_for_update else ""
    facts = [fact for pk, amount in quantities.items() for fact in (pk, to_steps(amount, PLACES))]
    return Bottle.objects.raw(FIRST_TO_GO.format(wanted=values, lock=lock), facts)


def update(model: type[Model], rows: Iterable[Model], fields: Collection[str]) -> None:
    """Write some fields of rows as they are, in one go, and the moment of it.

    The model layer's bulk update spells out a case for every row and field, and takes ten times as
    long over one row as the database does.
    """
    names = {*fields, "changed_at"}
    columns = [column for column in model._meta.concrete_fields if column.name in names]
    places = ", ".join(f"{column.column} = %s" for column in columns)

    def written(row: Model) -> list[Any]:
        values = [(column, column.pre_save(row, add=False)) for column in columns]
        return [*(column.get_db_prep_save(value, connection) for column, value in values), row.pk]

    with connection.cursor() as cursor:
        sql = f"UPDATE {model._meta.db_table} SET {places} WHERE id = %s"
        cursor.executemany(sql, [written(row) for row in rows])
