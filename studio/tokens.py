"""Keys to the API: made, shown once, revoked."""

from django.contrib.auth.models import User
from django.db import IntegrityError, transaction
from django.db.models import QuerySet

from studio.errors import StudioError
from studio.models import ApiToken, Membership, Studio


class LabelTaken(StudioError):
    """Two tokens of a studio may not be confused."""

    code = "label_taken"


def create_token(*, studio: Studio, user: User, label: str) -> tuple[ApiToken, str]:
    """Make a token of ``user`` for one studio and return it with its secret, kept nowhere."""
    try:
        with transaction.atomic():
            token, secret = ApiToken.objects.create(user=user, studio=studio, label=label.strip())
    except IntegrityError:
        raise LabelTaken(f"There is already a token called “{label}”. Choose another.") from None
    return token, secret


def tokens_for(membership: Membership) -> QuerySet[ApiToken]:
    """Return the tokens this member may see and revoke: their own, and for an owner everybody's."""
    tokens = membership.studio.api_tokens.select_related("user")
    return tokens if membership.may("owner") else tokens.filter(user=membership.user)


def revoke_token(*, token: ApiToken) -> None:
    """Make a token stop working at once."""
    token.delete()
