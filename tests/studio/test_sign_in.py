"""Signing in and out, and what happens to somebody who guesses passwords."""

import pytest
from django.urls import reverse

from tests.factories.studio import MembershipFactory, UserFactory

PASSWORD = "velvet kettle orchard"


@pytest.fixture
def person(studio):
    user = MembershipFactory(studio=studio, role="maker").user
    user.set_password(PASSWORD)
    user.save()
    return user


def sign_in(client, name, password):
    return client.post("/sign-in/", {"username": name, "password": password})


def test_the_right_password_opens_the_first_page(client, person):
    response = sign_in(client, person.username, PASSWORD)

    assert (response.status_code, response.url) == (302, "/")
    assert client.session["_auth_user_id"] == str(person.pk)


def test_the_address_is_read_whatever_its_capitals(client, person):
    response = sign_in(client, f" {person.username.upper()} ", PASSWORD)

    assert response.status_code == 302


def test_a_wrong_password_is_said_and_the_name_kept(client, person):
    response = sign_in(client, person.username, "wrong")

    assert "do not go together" in response.content.decode()
    assert person.username in response.content.decode()
    assert "_auth_user_id" not in client.session


def test_five_wrong_passwords_lock_out_even_the_right_one(client, person):
    statuses = [sign_in(client, person.username, "wrong").status_code for _ in range(5)]

    locked = sign_in(client, person.username, PASSWORD)

    assert statuses == [200, 200, 200, 200, 429]
    assert locked.status_code == 429
    assert "quarter of an hour" in locked.content.decode()
    assert "_auth_user_id" not in client.session


def test_a_lock_keeps_nobody_else_out(client, person):
    for _ in range(5):
        sign_in(client, "somebody@example.com", "wrong")

    assert sign_in(client, person.username, PASSWORD).status_code == 302


def test_signing_in_goes_on_to_the_page_asked_for_but_not_to_another_site(client, person):
    asked = {"username": person.username, "password": PASSWORD}

    inside = client.post("/sign-in/", asked | {"next": "/people/"})
    client.logout()
    outside = client.post("/sign-in/", asked | {"next": "https://elsewhere.example/"})

    assert (inside.url, outside.url) == ("/people/", "/")


def test_a_button_pressed_after_the_session_ran_out_says_that_nothing_was_done(client, maker):
    press = reverse("switch-studio", args=[maker.studio.pk])
    assert client.post(press).url == f"/sign-in/?next={press}"

    answer = maker.client.get(press)

    assert (answer.status_code, answer["Allow"]) == (405, "POST")
    assert "nothing was done" in answer.content.decode()
    assert maker.client.head(press).status_code == 405


def test_signing_out_takes_a_post(maker):
    assert maker.client.get("/sign-out/").status_code == 405

    maker.client.post("/sign-out/")

    assert maker.client.get("/tokens/").url == "/sign-in/?next=/tokens/"


def test_the_password_is_changed_after_the_old_one(client, person):
    client.force_login(person)
    new = {"new_password1": "sable lantern hedge", "new_password2": "sable lantern hedge"}

    refused = client.post("/password/", new | {"old_password": "wrong"})
    done = client.post("/password/", new | {"old_password": PASSWORD})

    assert "old_password" in refused.context["form"].errors
    assert done.status_code == 302
    person.refresh_from_db()
    assert person.check_password("sable lantern hedge")


def test_somebody_without_a_studio_is_told_what_to_do(client, settings, db):
    client.force_login(UserFactory())

    assert client.get("/tokens/").url == "/start/"
    settings.OPEN_SIGN_UP = False
    assert client.get("/tokens/").url == "/no-studio/"
    assert "Ask a studio" in client.get("/no-studio/").content.decode()
