"""People and their studios: open one, invite, join, change what somebody may do, leave.

``on_open`` is how an app above gives every new studio what it needs (techniques, say) without this
floor knowing that app: in its ``AppConfig.ready`` it appends a function that takes the studio, and
:func:`open_studio` calls it inside its own transaction.
"""

import hashlib
import secrets
from collections.abc import Callable
from datetime import timedelta
from typing import Any

from django.conf import settings
from django.contrib.auth import get_user_model
from django.contrib.auth.models import User
from django.db import IntegrityError, transaction
from django.db.models import QuerySet
from django.utils import timezone

from studio.errors import StudioError
from studio.models import Invitation, Membership, Studio
from studio.models.people import Role
from studio.text import one_line

INVITATION_DAYS = 7

on_open: list[Callable[[Studio], object]] = []


class AccountTaken(StudioError):
    """Somebody already signs in with this e-mail address."""

    code = "account_taken"


class LastOwner(StudioError):
    """A studio is never left without an owner."""

    code = "last_owner"


class NameTaken(StudioError):
    """The person is in a studio of this name."""

    code = "name_taken"


class InvitationGone(StudioError):
    """The link was used, withdrawn or left too long."""

    code = "invitation_gone"


class AlreadyMember(StudioError):
    """The person already belongs to the studio."""

    code = "already_member"


@transaction.atomic
def sign_up(*, email: str, password: str | None, name: str = "") -> User:
    """Make an account that signs in with its e-mail address, or refuse one that is taken.

    Without a password, one is to be chosen by a link, see `studio.passwords`.
    """
    users = get_user_model().objects
    email, name = one_line(email).lower(), one_line(name)
    try:
        with transaction.atomic():
            return users.create_user(email, email=email, password=password, first_name=name)
    except IntegrityError:
        raise AccountTaken(
            "There is already an account with this e-mail address. Sign in first."
        ) from None


@transaction.atomic
def open_studio(*, user: User, name: str, **choices: Any) -> Studio:
    """Open a studio owned by ``user``; ``choices`` are its fields, such as the currency.

    Raises `NameTaken` where the person has one of this name: a form sent twice opens one.
    """
    if user.memberships.filter(studio__name=name).exists():
        raise NameTaken(f"You are in a studio called {name} already. Give this one another name.")
    studio = Studio(name=name, **choices)
    studio.full_clean()
    studio.save()
    Membership.objects.create(studio=studio, user=user, role=Role.OWNER)
    for prepare in on_open:
        prepare(studio)
    return studio


@transaction.atomic
def open_with_new_account(
    *, email: str, password: str, person: str, name: str, **choices: Any
) -> tuple[Studio, User]:
    """Make an account and open its first studio; neither happens without the other."""
    user = sign_up(email=email, password=password, name=person)
    return open_studio(user=user, name=name, **choices), user


@transaction.atomic
def invite(
    *, studio: Studio, by: User, email: str, role: str, sees_costs: bool = False
) -> tuple[Invitation, str]:
    """Make an invitation and return it with the secret of its link, which is kept nowhere.

    ``sees_costs`` says that as a maker they are trusted, see `studio.sight`. An earlier invitation
    of the same address stops working.
    """
    email = one_line(email).lower()
    if studio.memberships.filter(user__email__iexact=email).exists():
        raise AlreadyMember(f"{email} already belongs to {studio}.")
    studio.invitations.filter(email=email, used_at=None).delete()
    secret = secrets.token_urlsafe(32)
    invitation = studio.invitations.create(
        email=email,
        role=Role(role),
        sees_costs=sees_costs,
        digest=_digest(secret),
        invited_by=by,
        expires_at=timezone.now() + timedelta(days=INVITATION_DAYS),
    )
    return invitation, secret


def may_sign_up() -> bool:
    """Tell whether somebody who was not invited may open a studio here now."""
    if settings.OPEN_SIGN_UP:
        return True
    return settings.OPEN_TO_FIRST and not Studio.objects.filter(restoring=None).exists()


def open_invitations(studio: Studio) -> QuerySet[Invitation]:
    """Return the studio's invitations that can still be accepted."""
    return studio.invitations.filter(used_at=None, expires_at__gt=timezone.now())


def withdraw_invitation(*, invitation: Invitation) -> None:
    """Make an invitation's link stop working."""
    invitation.delete()


def invitation_of(secret: str) -> Invitation:
    """Return the invitation a link's secret opens, or refuse one that no longer works."""
    live = Invitation.objects.filter(used_at=None, expires_at__gt=timezone.now())
    invitation = live.select_related("studio", "invited_by").filter(digest=_digest(secret)).first()
    if invitation is None:
        raise InvitationGone("This invitation no longer works. Ask the studio for a new link.")
    return invitation


@transaction.atomic
def accept_invitation(*, secret: str, user: User) -> Membership:
    """Let ``user`` join by the link's secret, once, and return the membership."""
    Invitation.objects.select_for_update().filter(digest=_digest(secret)).first()
    invitation = invitation_of(secret)
    if invitation.studio.memberships.filter(user=user).exists():
        raise AlreadyMember(f"You already belong to {invitation.studio}.")
    invitation.used_at = timezone.now()
    invitation.save(update_fields=["used_at"])
    return Membership.objects.create(
        studio=invitation.studio,
        user=user,
        role=invitation.role,
        sees_costs=invitation.sees_costs,
    )


@transaction.atomic
def join_with_new_account(*, secret: str, email: str, password: str, name: str = "") -> Membership:
    """Make an account and join by the link's secret; neither happens without the other."""
    user = sign_up(email=email, password=password, name=name)
    return accept_invitation(secret=secret, user=user)


@transaction.atomic
def change_role(*, membership: Membership, role: str, sees_costs: bool | None = None) -> Membership:
    """Change what a member may do; the last owner stays one.

    ``sees_costs`` says whether as a maker they are trusted, see `studio.sight`; None leaves it.
    """
    membership = _locked(membership)
    if Role(role) != Role.OWNER:
        _keep_an_owner(membership)
    membership.role = Role(role)
    if sees_costs is not None:
        membership.sees_costs = sees_costs
    membership.save(update_fields=["role", "sees_costs"])
    return membership


@transaction.atomic
def remove_member(*, membership: Membership) -> None:
    """Take a member out of the studio, and with them the tokens they made for it."""
    membership = _locked(membership)
    _keep_an_owner(membership)
    membership.studio.api_tokens.filter(user=membership.user).delete()
    membership.delete()


def _locked(membership: Membership) -> Membership:
    """Lock the studio, so that two owners cannot step down at once, and read the member again."""
    Studio.objects.select_for_update(no_key=True).get(pk=membership.studio_id)
    return Membership.objects.select_related("studio", "user").get(pk=membership.pk)


def _keep_an_owner(membership: Membership) -> None:
    owners = membership.studio.memberships.filter(role=Role.OWNER)
    if membership.role == Role.OWNER and not owners.exclude(pk=membership.pk).exists():
        raise LastOwner("A studio needs an owner. Make somebody else an owner first.")


def _digest(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()
