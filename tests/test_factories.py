"""Every factory makes a valid row, in one studio, with nothing beside it."""

import inspect

import pytest
from factory.django import DjangoModelFactory

from studio.models import Studio
from tests.factories import inventory, pricing, studio

FACTORIES = sorted(
    {
        thing
        for module in (studio, inventory, pricing)
        for thing in vars(module).values()
        if inspect.isclass(thing) and issubclass(thing, DjangoModelFactory)
    }
    - {DjangoModelFactory},
    key=lambda factory: factory.__name__,
)


@pytest.mark.django_db
@pytest.mark.parametrize("factory", FACTORIES, ids=lambda factory: factory.__name__)
def test_factory_makes_a_valid_row_in_one_studio(factory):
    row = factory()
    # Only pricing a whole commission freezes a quote; tests/pricing/test_shapes.py checks those.
    left_out = ["password", *(["frozen"] if factory is pricing.QuoteFactory else [])]

    row.full_clean(exclude=[field.name for field in row._meta.fields if field.null] + left_out)

    assert Studio.objects.count() <= 1


@pytest.mark.django_db
@pytest.mark.parametrize("factory", FACTORIES, ids=lambda factory: factory.__name__)
def test_factory_makes_three_in_a_row(factory):
    rows = factory.create_batch(3)

    assert len({row.pk for row in rows}) == 3
