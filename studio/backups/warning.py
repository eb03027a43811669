"""A mail to whoever looks after the site when no good backup was made for some days."""

from datetime import timedelta

from django.conf import settings
from django.contrib.auth import get_user_model
from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import Q, QuerySet
from django.utils import timezone

from studio import outbox
from studio.backups.making import standing
from studio.models import Mail, Studio
from studio.models.people import Role
from studio.site import address

# So often it is said again while nothing changes.
AGAIN = timedelta(days=7)

TEXT = """\
{since}

{problem}

Until that is mended, a broken disk takes with it what was written since. How to mend it stands in
docs/running.md, and how backups stand here:
{page}
"""


def caretakers() -> "QuerySet[User]":
    """Return who looks after the site: its administrators or, without any, the first owners."""
    admins = Q(is_superuser=True)
    first = Studio.objects.order_by("pk").values("pk")[:1]
    owners = Q(memberships__studio__in=first, memberships__role=Role.OWNER)
    known = get_user_model().objects.filter(is_active=True).exclude(email="")
    return known.filter(admins) if known.filter(admins).exists() else known.filter(owners)


@transaction.atomic
def warn_of_old_backup() -> str | None:
    """Write to them where the last good backup is old, once a week; return a sentence if so."""
    how = standing()
    said = Mail.objects.filter(about=Mail.About.SITE, written_at__gt=timezone.now() - AGAIN)
    if how is None or not how.is_old or not settings.SENDS_MAIL or said.exists():
        return None
    since = (
        f"The last backup that is known to come back is of {how.proved.made_at:%Y-%m-%d}."
        if how.proved
        else "No backup is known to come back yet."
    )
    problem = how.problem or "One is made each night while `manage.py work` runs."
    text = TEXT.format(since=since, problem=problem, page=address("/background/"))
    for user in caretakers():
        outbox.write(about=Mail.About.SITE, to=user.email, subject="Backups are old", text=text)
    return "Warned of old backups."
