"""Queries written once answer as the model layer does."""

import pytest
from django.conf import settings
from django.db import connection, transaction

from inventory.models import Bottle, Hold, Material
from inventory.stock.shelf.compiled import compiled
from tests.factories.inventory import BottleFactory

pytestmark = pytest.mark.django_db


def test_a_compiled_query_answers_as_the_queryset_does_and_writes_its_sql_once():
    bottles = [BottleFactory(capacity="250.5") for _ in range(3)]
    made = []

    def make(material, *keys):
        made.append(keys)
        return Bottle.objects.filter(material=material).filter(pk__in=keys).order_by("-pk")

    read = compiled(make)
    for bottle in bottles:
        keys = [bottle.pk, *(each.pk for each in bottles if each is not bottle)]
        (found,) = read(bottle.material_id, *keys)
        (plain,) = Bottle.objects.filter(pk=bottle.pk)
        assert values(found) == values(plain)
    assert len(made) == 1


def test_a_compiled_query_refuses_a_parameter_beside_its_keys():
    read = compiled(lambda *keys: Hold.objects.filter(pk__in=keys, label="1"))
    with pytest.raises(TypeError, match="only parameters"):
        read(1)


def values(row):
    return {field.name: getattr(row, field.attname) for field in row._meta.fields}


@pytest.mark.django_db(transaction=True, available_apps=settings.INSTALLED_APPS)
def test_a_compiled_query_answers_outside_a_transaction_too():
    bottle = BottleFactory()

    assert compiled(lambda *keys: Bottle.objects.filter(pk__in=keys))(bottle.pk) == [bottle]


@pytest.mark.django_db(transaction=True, available_apps=settings.INSTALLED_APPS)
def test_a_compiled_query_refuses_to_lock_outside_a_transaction():
    read = compiled(lambda *keys: Material.objects.select_for_update().filter(pk__in=keys))
    with transaction.atomic():
        assert read(1) == []
    if connection.features.has_select_for_update:
        with pytest.raises(transaction.TransactionManagementError):
            read(1)
