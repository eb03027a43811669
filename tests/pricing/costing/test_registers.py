"""Rows kept as plain lists: archived, listed apart, brought back."""

from decimal import Decimal

import pytest
from django.urls import reverse

from pricing.costing.catalogue import save_palette
from studio.rows import TakenError
from tests.factories.inventory import RecipeFactory
from tests.factories.pricing import CustomerFactory


@pytest.fixture
def customer(studio):
    return CustomerFactory(studio=studio, name="Wren Alder")


def test_what_is_put_away_leaves_the_list_and_can_come_back(maker, customer):
    here, button = reverse("customers"), reverse("customer-archive", args=[customer.pk])

    away = maker.client.post(button, follow=True).content.decode()
    assert "Wren Alder is archived." in away
    assert reverse("customer", args=[customer.pk]) not in away
    apart = maker.client.get(here, {"away": "1"}).content.decode()
    assert f'action="{button}"' in apart

    back = maker.client.post(button, follow=True).content.decode()
    assert "Wren Alder is back on the list." in back
    assert reverse("customer", args=[customer.pk]) in back


def test_a_double_tap_does_not_bring_it_back(maker, customer):
    for _ in range(2):
        maker.client.post(reverse("customer-archive", args=[customer.pk]), {"once": "a-token"})

    customer.refresh_from_db()
    assert customer.archived_at


def test_a_viewer_brings_nothing_back(viewer, customer):
    button = reverse("customer-archive", args=[customer.pk])

    assert viewer.client.post(button).status_code == 403
    assert button not in viewer.client.get(reverse("customers"), {"away": "1"}).content.decode()


def test_to_another_studio_there_is_nothing_to_put_away(other_owner, customer):
    button = reverse("customer-archive", args=[customer.pk])

    assert other_owner.client.post(button).status_code == 404
    assert b"Wren" not in other_owner.client.get(reverse("customers"), {"away": "1"}).content


@pytest.mark.parametrize("rows", (1, 3))
def test_what_was_put_away_asks_the_same(owner, studio, django_assert_num_queries, rows):
    CustomerFactory.create_batch(rows, studio=studio, archived_at="2026-01-01T00:00Z")

    with django_assert_num_queries(5):  # session, person, membership; how many, the rows
        page = owner.client.get(reverse("customers"), {"away": "1"})

    assert page.content.count(b"Bring back") == rows


def test_of_two_palettes_of_one_name_the_second_is_refused(studio):
    """Two people may save at once; the form looked before either was there."""
    base, blue = RecipeFactory(studio=studio), RecipeFactory(studio=studio)
    palette = {"studio": studio, "name": "Reef", "base": base, "colours": [(blue, Decimal(1))]}
    save_palette(**palette)

    with pytest.raises(TakenError, match="saved a moment ago"):
        save_palette(**palette)

    assert studio.palettes.get().colours.count() == 1
