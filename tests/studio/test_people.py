"""Inviting, joining, changing roles and leaving."""

from datetime import timedelta

import pytest
from django.utils import timezone

from studio import people
from studio.models import Invitation
from tests.conftest import member
from tests.factories.studio import UserFactory


@pytest.fixture
def invited(studio, owner):
    return people.invite(studio=studio, by=owner.user, email="New@Example.org", role="maker")


def test_only_a_digest_of_the_link_is_kept(invited):
    invitation, secret = invited

    stored = Invitation.objects.values().get()
    assert secret not in map(str, stored.values())
    assert people.invitation_of(secret) == invitation


def test_an_invitation_is_accepted_once(studio, invited):
    _, secret = invited

    membership = people.accept_invitation(secret=secret, user=UserFactory())

    assert (membership.studio, membership.role) == (studio, "maker")
    with pytest.raises(people.InvitationGone, match="no longer works"):
        people.accept_invitation(secret=secret, user=UserFactory())


def test_an_invitation_ends_after_a_week(invited):
    invitation, secret = invited
    assert invitation.expires_at - invitation.created_at == pytest.approx(
        timedelta(days=7), abs=timedelta(seconds=5)
    )
    Invitation.objects.update(expires_at=timezone.now() - timedelta(seconds=1))

    with pytest.raises(people.InvitationGone):
        people.accept_invitation(secret=secret, user=UserFactory())


def test_inviting_again_makes_the_earlier_link_useless(studio, owner, invited):
    _, first = invited
    _, second = people.invite(studio=studio, by=owner.user, email="new@example.org", role="viewer")

    assert people.invitation_of(second).role == "viewer"
    with pytest.raises(people.InvitationGone):
        people.invitation_of(first)


def test_a_member_is_not_invited_or_let_in_twice(studio, owner, maker, invited):
    _, secret = invited
    with pytest.raises(people.AlreadyMember):
        people.invite(studio=studio, by=owner.user, email=maker.user.email.upper(), role="viewer")
    with pytest.raises(people.AlreadyMember):
        people.accept_invitation(secret=secret, user=maker.user)

    assert people.invitation_of(secret)  # and the link is still there for whom it was meant


def test_the_last_owner_neither_steps_down_nor_leaves(owner, maker):
    with pytest.raises(people.LastOwner):
        people.change_role(membership=owner.membership, role="maker")
    with pytest.raises(people.LastOwner):
        people.remove_member(membership=owner.membership)

    people.change_role(membership=maker.membership, role="owner")
    people.remove_member(membership=owner.membership)
    assert maker.membership.role == "owner"


def test_a_member_who_is_removed_loses_their_token(maker, owner):
    assert maker.api.get("/api/v1/studio/").status_code == 200

    people.remove_member(membership=maker.membership)

    assert maker.api.get("/api/v1/studio/").status_code == 401
    assert owner.api.get("/api/v1/studio/").status_code == 200


def test_a_new_person_joins_by_the_link_and_is_signed_in(client, owner):
    made = owner.client.post("/people/invite/", {"email": "new@example.org", "role": "viewer"})
    link = made.context["link"]

    page = client.get(link)
    joined = client.post(
        link,
        {"person": "Ines Moor", "email": "new@example.org", "password": "velvet kettle orchard"},
    )

    assert f"Join {owner.studio}" in page.content.decode()
    assert joined.status_code == 302
    assert owner.studio.memberships.get(user__username="new@example.org").role == "viewer"
    assert client.get("/tokens/").status_code == 200
    assert client.get(link).status_code == 404


def test_the_link_is_shown_once_and_not_kept_by_the_browser(owner):
    made = owner.client.post("/people/invite/", {"email": "new@example.org", "role": "viewer"})

    assert "no-store" in made["Cache-Control"]
    assert made.context["link"] not in owner.client.get("/people/").content.decode()


def test_somebody_of_another_studio_joins_and_works_in_the_new_one(owner, other_owner):
    made = owner.client.post("/people/invite/", {"email": "o@example.org", "role": "maker"})

    other_owner.client.post(made.context["link"])

    assert owner.studio.memberships.get(user=other_owner.user).role == "maker"
    assert str(owner.studio) in other_owner.client.get("/more/").content.decode()


def test_a_member_who_opens_the_link_is_told_and_the_link_lives(owner, maker):
    made = owner.client.post("/people/invite/", {"email": "n@example.org", "role": "viewer"})

    refused = maker.client.post(made.context["link"], follow=True)

    assert "already belong" in refused.content.decode()
    assert people.open_invitations(owner.studio).count() == 1


def test_a_link_nobody_made_is_nothing(client, db):
    assert client.get("/join/abc/").status_code == 404


def test_an_invitation_is_withdrawn(owner, invited):
    invitation, secret = invited

    owner.client.post(f"/people/invitations/{invitation.pk}/withdraw/")

    with pytest.raises(people.InvitationGone):
        people.invitation_of(secret)


def test_another_studios_people_and_invitations_are_not_there(other_owner, maker, invited):
    invitation, secret = invited
    pk = maker.membership.pk
    answers = [
        other_owner.client.post(f"/people/{pk}/role/", {"role": "viewer"}),
        other_owner.client.post(f"/people/{pk}/remove/"),
        other_owner.client.post(f"/people/invitations/{invitation.pk}/withdraw/"),
        other_owner.client.post(f"/studios/{maker.studio.pk}/enter/"),
        other_owner.api.patch(f"/api/v1/people/{pk}/", {"role": "viewer"}),
        other_owner.api.delete(f"/api/v1/people/{pk}/"),
    ]

    assert [answer.status_code for answer in answers] == [404] * 6
    assert maker.membership.role == "maker"
    assert people.invitation_of(secret)


def test_a_refused_change_returns_to_the_page_with_the_reason(owner):
    response = owner.client.post(
        f"/people/{owner.membership.pk}/role/",
        {"role": "viewer"},
        headers={"Referer": "http://testserver/people/"},
        follow=True,
    )

    assert response.redirect_chain == [("http://testserver/people/", 302)]
    assert "A studio needs an owner" in response.content.decode()


def test_a_role_that_does_not_exist_is_refused_in_words(owner, maker):
    response = owner.client.post(
        f"/people/{maker.membership.pk}/role/",
        {"role": "emperor"},
        headers={"Referer": "http://testserver/people/"},
        follow=True,
    )

    assert "Choose owner, maker or viewer" in response.content.decode()
    assert maker.membership.role == "maker"


def test_one_works_in_the_studio_chosen_last(owner, other_owner):
    people.accept_invitation(
        secret=people.invite(
            studio=owner.studio, by=owner.user, email="o@example.org", role="viewer"
        )[1],
        user=other_owner.user,
    )

    other_owner.client.post(f"/studios/{owner.studio.pk}/enter/")

    assert str(owner.studio) in other_owner.client.get("/more/").content.decode()
    assert other_owner.client.get("/people/").status_code == 403  # a viewer there


@pytest.mark.parametrize("members", (0, 2))
def test_the_people_page_asks_the_same_for_one_and_three(owner, django_assert_num_queries, members):
    for _ in range(members):
        person = member(owner.studio, "viewer")
        people.invite(studio=owner.studio, by=owner.user, email=f"x{person.user}", role="viewer")

    # session, person, membership with studio; members with people, invitations
    with django_assert_num_queries(5):
        response = owner.client.get("/people/")

    assert response.content.count(b"here since") == 1 + members
    assert response.content.count(b"/withdraw/") == members


def test_only_who_may_leave_or_be_changed_is_offered_it(owner):
    alone = owner.client.get("/people/").content.decode()
    assert "/remove/" not in alone and "make somebody else one before you step down" in alone

    member(owner.studio, "owner")
    two = owner.client.get("/people/").content.decode()
    assert two.count("/remove/") == two.count("/role/") == 2
