"""Batches logged as they were mixed: they move no stock."""

from datetime import timedelta
from decimal import Decimal as D

import pytest
from django.utils import timezone

from inventory.batches import log_batch, take_out_batch
from inventory.errors import BatchRefused, NotInStudio
from inventory.models import Batch, Entry
from tests.factories.inventory import RecipeFactory

pytestmark = pytest.mark.django_db


def log(studio, recipe=None, **more):
    wanted = {"volume_ml": D("236.6"), **more}
    recipe = recipe or RecipeFactory(studio=studio)
    return log_batch(studio=studio, by=None, recipe=recipe, **wanted)


def test_a_batch_keeps_what_was_mixed_and_its_trace(studio):
    recipe = RecipeFactory(studio=studio, name="White base")
    before = timezone.now()

    batch = log(
        studio, recipe, trace_seconds=D("4.5"), temperature_c=D("19.5"), purpose="Tiles", notes="!"
    )

    batch.refresh_from_db()
    assert (batch.recipe, batch.volume_ml, batch.trace_seconds) == (recipe, D("236.6"), D("4.5"))
    assert (batch.temperature_c, batch.purpose, batch.notes) == (D("19.5"), "Tiles", "!")
    assert before <= batch.made_at <= timezone.now()
    assert str(batch) == "Batch of White base"


def test_a_batch_moves_no_stock(studio):
    log(studio)

    assert not Entry.objects.exists()


def test_the_newest_batch_comes_first(studio):
    now = timezone.now()
    old = log(studio, made_at=now - timedelta(days=2))
    new = log(studio, made_at=now - timedelta(days=1))

    assert list(studio.batches.all()) == [new, old]


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        ({"volume_ml": D(0)}, "from 0.1 mL to 100 L"),
        ({"volume_ml": D(-5)}, "from 0.1 mL to 100 L"),
        ({"volume_ml": D(100_001)}, "from 0.1 mL to 100 L"),
        ({"volume_ml": D("NaN")}, "from 0.1 mL to 100 L"),
        ({"volume_ml": 250.0}, "from 0.1 mL to 100 L"),
        ({"trace_seconds": D(0)}, "from 0.1 to 600 seconds"),
        ({"trace_seconds": D("Infinity")}, "from 0.1 to 600 seconds"),
        ({"temperature_c": D(61)}, "from −10 to 60 °C"),
        ({"purpose": "x" * 121}, "120 characters"),
    ],
)
def test_what_cannot_have_been_mixed_is_refused(studio, wrong, sentence):
    with pytest.raises(BatchRefused, match=sentence):
        log(studio, **wrong)

    assert not Batch.objects.exists()


def test_a_batch_is_not_logged_before_it_is_mixed(studio):
    with pytest.raises(BatchRefused, match="has passed"):
        log(studio, made_at=timezone.now() + timedelta(hours=1))


def test_another_studios_recipe_is_refused(studio):
    with pytest.raises(NotInStudio):
        log(studio, RecipeFactory())

    assert not Batch.objects.exists()


def test_a_batch_logged_by_mistake_is_taken_out(studio):
    kept, batch = log(studio), log(studio)

    take_out_batch(batch=batch)

    assert list(studio.batches.all()) == [kept]


def test_a_batch_is_logged_and_taken_out_through_the_api(maker):
    recipe = RecipeFactory(studio=maker.studio, name="White base coat")

    made = maker.api.post(
        "/api/v1/batches/",
        {"recipe": recipe.pk, "volume_ml": "1 cup", "trace_seconds": "5.5"},
    )
    listed = maker.api.get("/api/v1/batches/").json()["results"]
    gone = maker.api.delete(f"/api/v1/batches/{made.json()['id']}/")

    # One US customary cup is 236.588 mL (NIST Handbook 44, app. C).
    assert (made.status_code, made.json()["volume_ml"]) == (201, "236.588")
    assert [(row["recipe"], row["trace_seconds"]) for row in listed] == [("White base coat", "5.5")]
    assert (gone.status_code, maker.studio.batches.count()) == (204, 0)
