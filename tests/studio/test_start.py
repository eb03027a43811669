"""Opening a studio."""

import pytest
from django.contrib.auth import get_user_model

from studio import people
from studio.models import Studio
from studio.preferences import PLACES, beginnings, countries

NEW = {
    "studio_name": "Tidewater Pours",
    "person": "Wren Hollis",
    "email": "Wren@Example.org",
    "password": "velvet kettle orchard",
}


def test_a_new_person_opens_a_studio_and_owns_it(client, db):
    response = client.post("/start/", NEW)

    studio = Studio.objects.get(name="Tidewater Pours")
    membership = studio.memberships.get()
    assert (response.status_code, response.url) == (302, "/starting/")
    assert (membership.role, membership.user.username) == ("owner", "wren@example.org")
    assert client.session["_auth_user_id"] == str(membership.user.pk)


def test_every_place_begins_with_choices_the_studio_accepts(db):
    for place in (*PLACES, *(code for code, _ in countries())):
        Studio(name="A", **beginnings(place)).full_clean()


@pytest.mark.parametrize(
    ("country", "usual"),
    [
        ("us", ("USD", "us", "in", "America/New_York")),
        ("gb", ("GBP", "metric", "cm", "Europe/London")),
        ("de", ("EUR", "metric", "cm", "Europe/Berlin")),
        ("au", ("AUD", "au", "cm", "Australia/Sydney")),
        ("jp", ("JPY", "metric", "cm", "Asia/Tokyo")),
        ("br", ("BRL", "metric", "cm", "America/Sao_Paulo")),
        ("es", ("EUR", "metric", "cm", "Europe/Madrid")),
    ],
)  # ISO 4217 and CLDR, territories and their largest city
def test_money_measures_and_clocks_follow_from_the_country(country, usual):
    chosen = beginnings(country)

    names = ("currency", "measures", "lengths", "time_zone")
    assert tuple(chosen[name] for name in names) == usual


def test_an_address_that_is_taken_opens_nothing(client, owner):
    before = Studio.objects.count()

    response = client.post("/start/", NEW | {"email": owner.user.email})

    assert response.status_code == 422
    assert "Sign in first" in response.content.decode()
    assert Studio.objects.count() == before


def test_a_weak_password_is_said_and_makes_no_account(client, db):
    response = client.post("/start/", NEW | {"password": "12345678"})

    assert response.status_code == 422
    assert "password" in response.context["form"].errors
    assert not get_user_model().objects.exists()


def test_somebody_signed_in_opens_a_second_studio_and_works_in_it(maker):
    maker.client.post("/start/", {"studio_name": "Second Shed"})

    second = Studio.objects.get(name="Second Shed")
    assert second.memberships.get().user == maker.user
    assert "Second Shed" in maker.client.get("/more/").content.decode()


def test_a_closed_site_opens_no_studios(client, settings, db):
    settings.OPEN_SIGN_UP = False

    response = client.post("/start/", NEW)

    assert response.url == "/sign-in/"
    assert not Studio.objects.exists()


def test_a_makers_own_computer_opens_the_first_studio_and_no_other(client, settings, db):
    settings.OPEN_SIGN_UP, settings.OPEN_TO_FIRST = False, True
    assert "Open a studio" in client.get("/sign-in/").content.decode()

    first = client.post("/start/", NEW)
    client.logout()
    second = client.post("/start/", NEW | {"email": "other@example.org"})

    assert (first.url, second.url) == ("/starting/", "/sign-in/")
    assert Studio.objects.count() == 1
    assert "Open a studio" not in client.get("/sign-in/").content.decode()


def test_who_is_in_a_studio_is_led_home_where_no_other_is_opened(settings, maker):
    settings.OPEN_SIGN_UP = False

    assert maker.client.get("/start/").url == "/"


def test_what_an_app_above_prepares_is_part_of_opening(monkeypatch, db):
    user = get_user_model().objects.create_user("a@example.org")
    prepared = []
    monkeypatch.setattr(people, "on_open", [lambda studio: prepared.append(studio.pk)])

    studio = people.open_studio(user=user, name="A", **beginnings("us"))

    assert prepared == [studio.pk]


def test_a_studio_whose_preparing_fails_is_not_opened(monkeypatch, db):
    user = get_user_model().objects.create_user("a@example.org")

    def fail(studio):
        raise RuntimeError("no techniques")

    monkeypatch.setattr(people, "on_open", [fail])
    with pytest.raises(RuntimeError):
        people.open_studio(user=user, name="A", **beginnings("us"))

    assert not Studio.objects.exists()
