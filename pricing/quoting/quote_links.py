"""The private link by which a customer reads a quote and answers it: made, revoked, used.

The secret is shown once and kept nowhere, so whoever reads the database cannot answer for a
customer. A link works until it expires or is revoked; what it may still do follows from its quote.
"""

import hashlib
import secrets
from collections.abc import Callable
from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.conf import settings
from django.contrib.auth.models import User
from django.db import transaction
from django.urls import reverse
from django.utils import timezone

from pricing.errors import AnswerIncomplete, LinkGone, QuoteNotOpen, TileAnswerRefused
from pricing.models import Pour, Quote, QuoteLink, TileAnswer
from pricing.quoting import quotes as quoting
from pricing.quoting.tiles import answer_tile
from studio import outbox
from studio.models import Mail
from studio.models.people import Role
from studio.site import address
from studio.text import one_line, shortened

# The customer may read what was agreed for a while after the quote can be answered no more.
DAYS_AFTER_VALIDITY = 60
LEAST_NAME = 2


@transaction.atomic
def make_link(*, quote: Quote, by: User | None) -> tuple[QuoteLink, str]:
    """Make the private link of a quote; returns it with its secret, which is kept nowhere.

    An earlier link of the same quote stops working. Raises `QuoteNotOpen` for a draft, and for a
    quote that was declined, replaced or has run out.
    """
    quote = Quote.objects.select_for_update().select_related("studio").get(pk=quote.pk)
    if not (quote.is_open or quote.status == Quote.Status.ACCEPTED):
        what = "a draft" if quote.number is None else quote.get_status_display().lower()
        raise QuoteNotOpen(f"{quote} is {what}, so there is nothing for the customer to open.")
    _revoke(quote)
    secret = secrets.token_urlsafe(32)
    assert quote.valid_until is not None  # it was sent
    last = quote.valid_until + timedelta(days=DAYS_AFTER_VALIDITY)
    expires_at = datetime.combine(last, time.max, ZoneInfo(quote.studio.time_zone))
    link = quote.links.create(digest=_digest(secret), created_by=by, expires_at=expires_at)
    return link, secret


@transaction.atomic
def revoke_link(*, quote: Quote) -> int:
    """Make the link of a quote stop working at once; returns how many that was."""
    Quote.objects.select_for_update().get(pk=quote.pk)
    return _revoke(quote)


def working_link(quote: Quote) -> QuoteLink | None:
    """Return the link of a quote that works now, or None."""
    return quote.links.filter(revoked_at=None, expires_at__gt=timezone.now()).first()


def link_of(secret: str) -> QuoteLink:
    """Return the link that a secret opens, with its quote, or raise `LinkGone`."""
    working = QuoteLink.objects.filter(revoked_at=None, expires_at__gt=timezone.now())
    rows = working.select_related("quote__commission__customer", "quote__studio")
    link = rows.filter(digest=_digest(secret)).first()
    if link is None:
        raise LinkGone("This link no longer works. Ask the studio for a new one.")
    return link


@transaction.atomic
def open_link(*, link: QuoteLink) -> None:
    """Note that the customer opened their link, and has seen its quote."""
    if link.opened_at is None:
        link.opened_at = timezone.now()
        link.save(update_fields=["opened_at"])
    quoting.view_quote(quote=link.quote)


@transaction.atomic
def accept_by_link(*, link: QuoteLink, name: str) -> Quote:
    """Accept the quote of a link in the customer's own name, and tell the owners.

    The same answer sent twice (a double tap, a page opened anew) is one answer.
    """
    return _answer(link, Quote.Status.ACCEPTED, quoting.accept_quote, name)


@transaction.atomic
def decline_by_link(*, link: QuoteLink, name: str, note: str) -> Quote:
    """Decline the quote of a link with the customer's own reason, and tell the owners."""
    if not note.strip():
        raise AnswerIncomplete("Say in a few words why, so that the studio can do better.")
    return _answer(link, Quote.Status.DECLINED, quoting.decline_quote, name, note.strip())


@transaction.atomic
def answer_tile_by_link(
    *, link: QuoteLink, pour: Pour, accepted: bool, name: str, note: str = ""
) -> TileAnswer:
    """Keep what the customer says of a pour of their test tile, and tell the owners.

    ``pour`` is one that the link shows. The same answer sent twice is one answer.
    """
    name, note = _checked(name), one_line(note)
    try:
        answer = answer_tile(pour=pour, accepted=accepted, name=name, note=note, by_link=True)
    except TileAnswerRefused:
        kept = TileAnswer.objects.filter(pour=pour, by_link=True).first()
        if kept is None or (kept.accepted, kept.name, kept.note) != (accepted, name, note):
            raise
        return kept
    open_link(link=link)
    ending = f": {note}" if note else "."
    _tell_owners(link.quote, f"{name} says “{answer.words}” of the test tile, {pour}{ending}")
    return answer


def _answer(
    link: QuoteLink, status: str, answer: Callable[..., Quote], name: str, note: str = ""
) -> Quote:
    name = _checked(name)
    try:
        quote = answer(quote=link.quote, name=name, note=note, by_link=True)
    except QuoteNotOpen:
        quote = Quote.objects.get(pk=link.quote_id)
        if (quote.status, quote.answered_by_link, quote.answered_by) != (status, True, name):
            raise
        return quote
    open_link(link=link)
    ending = f": {quote.answer_note}" if note else "."
    _tell_owners(quote, f"{quote.answered_by} {quote.get_status_display().lower()} {quote}{ending}")
    return quote


def _checked(name: str) -> str:
    name = name.strip()
    if len(name) < LEAST_NAME:
        raise AnswerIncomplete("Give your name, so that the studio knows who answered.")
    return name


def _revoke(quote: Quote) -> int:
    return quote.links.filter(revoked_at=None).update(revoked_at=timezone.now())


def _tell_owners(quote: Quote, sentence: str) -> None:
    """Write to the owners, in the transaction that stores the answer."""
    if not settings.SENDS_MAIL:
        return  # the Today page tells it all the same
    commission = quote.commission
    page = address(reverse("commission", args=[commission.number]))
    text = f"{sentence}\n\n{commission} for {commission.customer}:\n{page}\n"
    owners = quote.studio.memberships.filter(role=Role.OWNER, user__is_active=True)
    for to in owners.exclude(user__email="").values_list("user__email", flat=True):
        outbox.write(
            about=Mail.About.ANSWER,
            to=to,
            subject=shortened(one_line(sentence), 78),
            text=text,
            studio=quote.studio,
        )


def _digest(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()
