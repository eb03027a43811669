"""However a tracked row is written, the moment of its last change moves."""

import re
from datetime import UTC, datetime
from pathlib import Path

import pytest
from django.apps import apps
from django.db import connection
from django.db.models import F

from inventory.models import Bottle, Material
from inventory.stock.shelf import rows as shelf_rows
from studio.models import Tracked
from tests.factories.everything import one_of_everything
from tests.test_amounts_in_sql import RAW

ROOT = Path(__file__).parent.parent.parent
LONG_AGO = datetime(2001, 1, 1, tzinfo=UTC)
TRACKED = [model for model in apps.get_models() if issubclass(model, Tracked)]
PARTS = [model for model in TRACKED if model.part_of]
# The rows of the shelf, see below; the totals of each day's use are shown by no list.
PAST_THE_MODEL_LAYER = {
    "studio/backups/tables.py",  # brings rows back with the moments they had
    *(f"inventory/stock/shelf/{name}.py" for name in ("rows", "day_uses", "month_ends")),
}
PAST_THE_QUERYSET = {
    "studio/backups/tables.py": "reads every table for a backup",
    "studio/transfer/parts.py": "reads",
    "studio/transfer/filling.py": "gives rows the moment at which they are handed over",
    "studio/api/asked.py": "reads",
}


def a_field(model):
    """Return the name of a column that can be written again as it is."""
    return next(
        field.name
        for field in model._meta.concrete_fields
        if not (field.is_relation or field.primary_key or field.name == "changed_at")
    )


def of(row):
    """Return the row as its model's own queryset finds it."""
    return type(row).objects.filter(pk=row.pk)


def written_anew(row, name):
    """Take the row away, which nobody sees, and write it with others, of which there are none."""
    type(row)._base_manager.filter(pk=row.pk)._raw_delete("default")
    type(row).objects.bulk_create([row])


def written_over(row, name):
    type(row).objects.bulk_create(
        [row], update_conflicts=True, unique_fields=["id"], update_fields=[name]
    )


WAYS = {
    "save": lambda row, name: row.save(),
    "save of a field": lambda row, name: row.save(update_fields=[name]),
    "save of a row read in part": lambda row, name: of(row).only(name).get().save(),
    "update": lambda row, name: of(row).update(**{name: getattr(row, name)}),
    "update by the database": lambda row, name: of(row).update(**{name: F(name)}),
    "update or create": lambda row, name: type(row).objects.update_or_create(
        pk=row.pk, defaults={name: getattr(row, name)}
    ),
    "bulk update": lambda row, name: type(row).objects.bulk_update([row], [name]),
    "bulk create": written_anew,
    "bulk create over a row": written_over,
}


@pytest.fixture
def one(owner, studio):
    one = one_of_everything(studio)
    one.technique.steps.create(step="pour")
    return one


def aged(row):
    """Return a row with its moment long ago."""
    rows = type(row)._base_manager.filter(pk=row.pk)
    rows.update(changed_at=LONG_AGO)
    return rows.get()


def has_moved(row):
    return type(row)._base_manager.get(pk=row.pk).changed_at > LONG_AGO


@pytest.mark.parametrize("way", WAYS)
def test_every_way_of_writing_a_row_moves_its_moment(one, way):
    moved = {}

    for model in TRACKED:
        row = aged(model._base_manager.first())
        WAYS[way](row, a_field(model))
        moved[model] = has_moved(row)

    assert len(TRACKED) > 40
    assert [model for model in TRACKED if not moved[model]] == []


@pytest.mark.parametrize(
    "take_away", [lambda part: part.delete(), lambda part: of(part).delete()], ids=["row", "rows"]
)
@pytest.mark.parametrize("model", PARTS, ids=lambda model: model.__name__)
def test_a_part_that_is_taken_away_moves_the_moment_of_its_whole(one, model, take_away):
    studio = one.studio
    for kept_by in (studio.pours, studio.sets):
        kept_by.update(line=None)
    with connection.cursor() as cursor:  # postings are only added; no act takes one away
        cursor.execute("DELETE FROM pricing_posting")
    part = model._base_manager.first()
    whole = aged(getattr(part, model.part_of))

    take_away(part)

    assert has_moved(whole)


@pytest.mark.parametrize(
    ("model", "name"), [(Bottle, "value"), (Material, "on_hand")], ids=["bottle", "material"]
)
def test_the_shelf_writes_the_moment_of_what_it_writes_past_the_model_layer(one, model, name):
    row = aged(model._base_manager.first())

    shelf_rows.update(model, [row], [name])

    assert has_moved(row)


def test_nothing_else_writes_past_the_model_layer():
    writes = re.compile(r"\b(?:UPDATE|INSERT INTO|DELETE FROM)\b")
    found = {file for file in RAW if writes.search((ROOT / file).read_text(encoding="utf-8"))}

    assert found == PAST_THE_MODEL_LAYER


def test_who_goes_past_the_querysets_of_the_models_is_known():
    files = {
        path.relative_to(ROOT).as_posix()
        for app in ("studio", "inventory", "pricing")
        for path in (ROOT / app).rglob("*.py")
        if "_base_manager" in path.read_text(encoding="utf-8")
    }

    assert files == PAST_THE_QUERYSET.keys()
