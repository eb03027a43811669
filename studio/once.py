"""A page sent twice acts once: a double tap or a reload gets the first answer again."""

import hashlib
import secrets
from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.db import IntegrityError, transaction
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils.safestring import SafeData, mark_safe

from studio import remembering
from studio.errors import StudioError
from studio.requests import StudioRequest

FIELD = "once"


class Clash(StudioError):
    """The database refused a row: it would stand twice, or break what must always hold."""

    code = "clash"


def new_token() -> str:
    """Return what makes one showing of a page known again; it stands in a field called ``once``."""
    return secrets.token_urlsafe(16)


def repeated(request: StudioRequest) -> HttpResponse | None:
    """Return the answer that this very sending of a page got before, or None."""
    sending = _sending(request)
    record = sending and remembering.remembered(sending)
    if not record:
        return None
    message, url = _answer_of(record.answer)
    if remembering.may_be_told(record, request.membership):
        messages.success(request, message)
    messages.info(
        request,
        "This was sent before, so it was not done again. To do it again, open its page anew.",
    )
    return redirect(url)


def act_once(request: StudioRequest, work: Callable[[], tuple[str, str]]) -> tuple[str, str]:
    """Run ``work``, which returns a message and where to go, and remember both; return them."""
    sending = _sending(request)
    try:
        if sending is None:
            with transaction.atomic():
                return work()
        record = remembering.once(
            sending, request.membership, lambda: (302, _stored_answer(*work()))
        )
        return _answer_of(record.answer)
    except IntegrityError as error:
        raise Clash(
            "This clashes with something that is there already, perhaps saved a moment ago. Look "
            "at what is there, change what is the same, and save again."
        ) from error


def _stored_answer(message: str, url: str) -> dict[str, Any]:
    """Return an answer as JSON; a message with a link in it was escaped where it was made."""
    return {"message": str(message), "url": str(url), "is_html": isinstance(message, SafeData)}


def _answer_of(answer: Any) -> tuple[str, str]:
    """Return the message and the address of a stored answer."""
    message = answer["message"]
    return mark_safe(message) if answer.get("is_html") else message, answer["url"]


def _sending(request: StudioRequest) -> remembering.Sending | None:
    """Return what tells one sending of a page from all others; None for a page without a token.

    It is of the person, the address and all that was typed or chosen: the same token from somebody
    else, or with another amount after going back, is another act.
    """
    if request.method != "POST" or not request.POST.get(FIELD):
        return None
    fields = request.POST.copy()
    fields.pop("csrfmiddlewaretoken", None)
    digest = hashlib.sha256(f"{request.user.pk} {request.path} {fields.urlencode()}".encode())
    remembering.add_files(digest, request.FILES)
    content_hash = digest.hexdigest()
    return remembering.sending_of(request, f"page:{content_hash}", request.path, content_hash)
