"""The settings page."""

from decimal import Decimal

import pytest

from studio.models import Studio
from studio.settings_form import PARTS, PERCENTAGES, StudioSettings

PATH = "/settings/"


def filled(studio, **changes):
    """Return what the browser would send back, with changes."""
    form = StudioSettings(instance=studio)
    data = {name: form[name].value() for name in form.fields}
    data = {name: "" if value is None else value for name, value in data.items()}
    if not data["tax_inclusive"]:
        del data["tax_inclusive"]
    for name in PERCENTAGES:
        data[name] = form.fields[name].prepare_value(data[name])
    return data | changes


def test_every_choice_of_the_studio_is_on_the_page_once():
    shown = [name for _, names in PARTS for name in names]
    apart = {"id", "costing", "costing_next", "costing_next_from"}  # changed from a day on
    fields = [f.name for f in Studio._meta.fields if f.editable and f.name not in apart]

    assert sorted(shown) == sorted(fields)


def test_percentages_are_typed_as_percent_and_kept_as_shares(owner):
    owner.client.post(PATH, filled(owner.studio, margin="35", service_level="97.5"))

    owner.studio.refresh_from_db()
    assert (owner.studio.margin, owner.studio.service_level) == (Decimal("0.35"), Decimal("0.975"))


def test_saving_unchanged_changes_nothing(owner):
    before = Studio.objects.values().get(pk=owner.studio.pk)

    response = owner.client.post(PATH, filled(owner.studio))

    assert response.status_code == 302
    assert Studio.objects.values().get(pk=owner.studio.pk) == before


def test_two_owners_changing_different_settings_both_keep_theirs(owner):
    theirs = StudioSettings(filled(owner.studio, name="Renamed"), instance=owner.studio)
    assert theirs.is_valid()
    Studio.objects.filter(pk=owner.studio.pk).update(phone="555 0100")
    from studio.preferences import change_settings

    change_settings(studio=owner.studio, **theirs.changes())

    assert Studio.objects.values_list("name", "phone").get(pk=owner.studio.pk) == (
        "Renamed",
        "555 0100",
    )


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("margin", "99"),
        ("margin", "-1"),
        ("margin", "nan"),
        ("service_level", "40"),
        ("labour_rate", "-3"),
        ("rounding_step", "0"),
        ("quote_days", "0"),
        ("time_zone", "Atlantis/Deep"),
        ("currency", "XYZ"),
        ("name", ""),
        ("email", "not an address"),
    ],
)
def test_what_makes_no_sense_is_said_beside_its_field_and_kept(owner, field, value):
    before = Studio.objects.values().get(pk=owner.studio.pk)

    response = owner.client.post(PATH, filled(owner.studio, **{field: value}, phone="555"))

    page = response.content.decode()
    assert response.status_code == 422
    assert list(response.context["form"].errors) == [field]
    assert f'href="#id_{field}"' in page
    assert f'id="id_{field}_error"' in page
    assert 'value="555"' in page
    assert Studio.objects.values().get(pk=owner.studio.pk) == before


@pytest.mark.parametrize(
    ("currency", "step", "fits"),
    [("JPY", "1", True), ("JPY", "0.5", False), ("USD", "0.005", False), ("KWD", "0.005", True)],
)
def test_prices_are_rounded_to_what_the_currency_has_coins_for(owner, currency, step, fits):
    chosen = {"currency": currency, "rounding_step": step}

    page = owner.client.post(PATH, filled(owner.studio, **chosen))
    api = owner.api.patch("/api/v1/studio/", chosen)

    assert (page.status_code, api.status_code) == ((302, 200) if fits else (422, 400))
    if not fits:
        assert "Prices in" in api.json()["fields"]["rounding_step"][0]
        assert list(page.context["form"].errors) == ["rounding_step"]


def test_the_menu_keeps_the_studios_name_while_a_bad_one_is_typed(owner):
    response = owner.client.post(PATH, filled(owner.studio, name="x" * 300))

    assert f"<span>{owner.studio}</span>" in response.content.decode()
