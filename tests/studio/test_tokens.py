"""Tokens: shown once, kept as a digest, bound to a person and a studio."""

import pytest

from studio import tokens
from studio.models import ApiToken
from tests.conftest import member


def test_a_token_is_shown_once_and_kept_as_a_digest(maker, stranger):
    made = maker.client.post("/tokens/", {"label": "Shop website"})

    secret = made.context["secret"]
    assert secret in made.content.decode()
    assert "no-store" in made["Cache-Control"]
    assert secret not in maker.client.get("/tokens/").content.decode()
    assert secret not in map(str, ApiToken.objects.values().get(label="Shop website").values())

    stranger.api.credentials(HTTP_AUTHORIZATION=f"Token {secret}")
    assert stranger.api.get("/api/v1/studio/").data["name"] == maker.studio.name


def test_a_label_is_used_once_in_a_studio(maker, other_owner):
    maker.client.post("/tokens/", {"label": "Shop"})

    again = maker.client.post("/tokens/", {"label": "Shop"})
    elsewhere = other_owner.client.post("/tokens/", {"label": "Shop"})

    assert again.status_code == 422
    assert "already a token called" in again.content.decode()
    assert elsewhere.context["secret"]


def test_a_revoked_token_stops_at_once(maker):
    label = maker.studio.api_tokens.get().label

    maker.client.post("/tokens/revoke/", {"label": label})

    assert maker.api.get("/api/v1/studio/").status_code == 401


def test_a_member_sees_and_revokes_only_their_own_and_an_owner_all(owner, maker, viewer):
    theirs = maker.studio.api_tokens.get(user=viewer.user)
    assert theirs.label not in maker.client.get("/tokens/").content.decode()
    assert maker.client.post("/tokens/revoke/", {"label": theirs.label}).status_code == 404

    assert theirs.label in owner.client.get("/tokens/").content.decode()
    owner.client.post("/tokens/revoke/", {"label": theirs.label})

    assert viewer.api.get("/api/v1/studio/").status_code == 401


def test_another_studios_token_is_not_there_to_revoke(maker, other_owner):
    label = maker.studio.api_tokens.get().label

    assert other_owner.client.post("/tokens/revoke/", {"label": label}).status_code == 404
    assert maker.api.get("/api/v1/studio/").status_code == 200


def test_a_token_does_what_its_owner_may_do_now(maker):
    _, secret = tokens.create_token(studio=maker.studio, user=maker.user, label="Second")
    maker.api.credentials(HTTP_AUTHORIZATION=f"Token {secret}")
    assert maker.api.patch("/api/v1/studio/", {"name": "A"}).status_code == 403

    maker.studio.memberships.filter(user=maker.user).update(role="owner")

    assert maker.api.patch("/api/v1/studio/", {"name": "A"}).status_code == 200


@pytest.mark.parametrize("header", ("", "Token", "Token nonsense", "Bearer x", "Token " + "a" * 64))
def test_without_a_token_that_works_nothing_is_said(stranger, header):
    stranger.api.credentials(HTTP_AUTHORIZATION=header)

    answer = stranger.api.get("/api/v1/studio/")

    assert answer.status_code == 401
    assert set(answer.data) == {"type", "title", "status", "code", "detail"}


def test_a_signed_in_browser_is_not_a_token(owner):
    assert owner.client.get("/api/v1/studio/").status_code == 401


@pytest.mark.parametrize("others", (0, 2))
def test_the_tokens_page_asks_the_same_for_one_and_three(owner, django_assert_num_queries, others):
    for _ in range(others):
        member(owner.studio, "maker")

    with django_assert_num_queries(4):  # session, person, membership; the tokens with their people
        response = owner.client.get("/tokens/")

    assert response.content.count(b'name="label" value="Token of') == 1 + others
