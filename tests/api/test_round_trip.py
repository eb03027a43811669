"""What the API writes it reads: a row sent back as it came changes nothing."""

import pytest

from inventory.api.recipes import recipes
from inventory.supplies.api.materials import materials
from inventory.supplies.api.suppliers import packs, suppliers
from pricing.api.catalogue import channels, customers, resin_kits, techniques
from pricing.api.palettes import palettes
from pricing.api.products import products
from pricing.api.surfaces import surfaces
from tests.api.routes import address
from tests.factories.everything import one_of_everything

REGISTERS = [
    materials,
    suppliers,
    packs,
    recipes,
    surfaces,
    techniques,
    palettes,
    resin_kits,
    products,
    channels,
    customers,
]


def as_sent(value):
    """Return what was read as it is sent: a row that is named, by its id."""
    if isinstance(value, list):
        return [as_sent(one) for one in value]
    if isinstance(value, dict) and {"id", "name"} <= value.keys():
        return value["id"]
    if isinstance(value, dict):
        return {name: as_sent(one) for name, one in value.items()}
    return value


@pytest.mark.parametrize("register", REGISTERS, ids=lambda one: one.plural)
def test_a_row_sent_back_as_it_came_changes_nothing(owner, studio, register):
    where = address(f"api-{register.name}", one_of_everything(studio))
    before = owner.api.get(where).json()
    taken = register.takes(context={"request": None}).fields
    body = {name: as_sent(value) for name, value in before.items() if name in taken}

    answer = (owner.api.put if register.whole else owner.api.patch)(where, body)

    assert len(body) == len(taken)
    assert (answer.status_code, answer.json()) == (200, before)
