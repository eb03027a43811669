"""A new password for who has forgotten theirs: a link that works once, and for a day."""

from datetime import timedelta

from axes.utils import reset
from django.contrib.auth import get_user_model
from django.contrib.auth.models import User
from django.contrib.auth.tokens import default_token_generator
from django.db import transaction
from django.urls import reverse
from django.utils import timezone
from django.utils.encoding import force_bytes
from django.utils.http import urlsafe_base64_encode

from studio import outbox
from studio.models import Mail
from studio.site import address
from studio.text import one_line

# Whoever asks again sooner has a mail on its way.
SELDOM = timedelta(minutes=10)

MAIL = """\
Somebody, perhaps you, asked for a new password for {name} at {site}.

Choose one here; the link works once, and for a day:
{link}

If it was not you, there is nothing to do: the old password still works.
"""


def way_in(user: User) -> str:
    """Return the address of a page where this person, and who else has it, chooses a password.

    It works for `settings.PASSWORD_RESET_TIMEOUT`, and until a password is chosen or they sign in.
    """
    key = urlsafe_base64_encode(force_bytes(user.pk))
    token = default_token_generator.make_token(user)
    return address(reverse("new-password", args=[key, token]))


@transaction.atomic
def send_way_in(*, email: str) -> None:
    """Write to the accounts of an address, if there are any; who asks does not learn whether.

    Raises `outbox.NoMail` on a site that sends none.
    """
    outbox.see_that_mail_goes_out()
    email = one_line(email)
    lately = Mail.objects.filter(about=Mail.About.PASSWORD, to__iexact=email)
    if lately.filter(written_at__gt=timezone.now() - SELDOM).exists():
        return
    for user in get_user_model().objects.filter(email__iexact=email, is_active=True):
        outbox.write(
            about=Mail.About.PASSWORD,
            to=user.email,
            subject="A new password",
            text=MAIL.format(name=user.username, site=address("/"), link=way_in(user)),
        )


@transaction.atomic
def choose(*, user: User, password: str) -> None:
    """Give somebody the password they chose, and let them in where wrong ones kept them out."""
    user.set_password(password)
    user.save(update_fields=["password"])
    reset(username=user.username)
