"""The private address of a member's calendar feed: made, revoked, opened.

The secret is shown once and kept nowhere. A feed stops when its link is revoked, when a new one is
made, or when its member leaves the studio or may only look.
"""

import hashlib
import secrets

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import QuerySet
from django.utils import timezone

from pricing.errors import LinkGone
from pricing.models import CalendarLink
from studio.models import Membership, Studio
from studio.models.people import Role


@transaction.atomic
def make_calendar_link(*, studio: Studio, user: User) -> tuple[CalendarLink, str]:
    """Make a member's link in place of their earlier one; returns it with its secret."""
    Studio.objects.select_for_update(no_key=True).get(pk=studio.pk)
    studio.calendar_links.filter(user=user, revoked_at=None).update(revoked_at=timezone.now())
    secret = secrets.token_urlsafe(32)
    return studio.calendar_links.create(user=user, digest=_digest(secret)), secret


@transaction.atomic
def revoke_calendar_link(*, link: CalendarLink) -> None:
    """Make a link stop working at once; one that was revoked keeps its day."""
    CalendarLink.objects.filter(pk=link.pk, revoked_at=None).update(revoked_at=timezone.now())


def links_seen_by(membership: Membership) -> QuerySet[CalendarLink]:
    """Return the links that work and that a member may revoke: their own, an owner's all."""
    links = membership.studio.calendar_links.filter(revoked_at=None).select_related("user")
    return links if membership.may("owner") else links.filter(user=membership.user)


def studio_of(secret: str) -> Studio:
    """Return the studio whose feed a secret opens, or raise `LinkGone`."""
    links = CalendarLink.objects.filter(revoked_at=None).select_related("studio")
    link = links.filter(digest=_digest(secret)).first()
    members = Membership.objects.filter(role__in=(Role.OWNER, Role.MAKER), user__is_active=True)
    if link is None or not members.filter(studio=link.studio, user=link.user_id).exists():
        raise LinkGone("This calendar is no longer shared. Make a new link on the schedule page.")
    return link.studio


def _digest(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()
