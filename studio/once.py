"""A page sent twice acts once: a double tap or a reload gets the first answer again."""

import hashlib
import secrets

from django.contrib import messages
from django.db import IntegrityError, transaction
from django.shortcuts import redirect
from django.utils.safestring import SafeData, mark_safe

from studio.errors import StudioError
from studio.models import IdempotencyRecord

FIELD = "once"


class Clash(StudioError):
    """The database refused a row: it would stand twice, or break what must always hold."""

    code = "clash"


def new_token():
    """Return what makes one showing of a page known again; it stands in a field called ``once``."""
    return secrets.token_urlsafe(16)


def repeated(request):
    """Return the answer that this very sending of a page got before, or None."""
    digest = _digest(request)
    told = digest and _told(request, digest)
    if not told:
        return None
    message, url = _as_told(told)
    messages.success(request, message)
    messages.info(
        request,
        "This was sent before, so it was not done again. To do it again, open its page anew.",
    )
    return redirect(url)


def act_once(request, work):
    """Run ``work``, which returns a message and where to go, and remember both; return them."""
    digest = _digest(request)
    try:
        with transaction.atomic():
            record = digest and IdempotencyRecord.objects.create(
                studio=request.studio,
                user=request.user,
                key=_key(digest),
                method_and_path=f"POST {request.path}"[:300],
                body_digest=digest,
            )
            message, url = work()
            if record:
                record.status, record.answer = 302, _kept(message, url)
                record.save(update_fields=["status", "answer"])
            return message, url
    except IntegrityError as error:
        told = digest and _told(request, digest)
        if not told:
            raise Clash(
                "This clashes with something that is there already, perhaps saved a moment ago. "
                "Look at what is there, change what is the same, and save again."
            ) from error
        return _as_told(told)


def _kept(message, url):
    """Return an answer as it is kept; a message with a link in it was escaped where it was made."""
    return {"message": str(message), "url": str(url), "is_html": isinstance(message, SafeData)}


def _as_told(answer):
    """Return the message and the address of an answer that was kept."""
    message = answer["message"]
    return mark_safe(message) if answer.get("is_html") else message, answer["url"]


def _told(request, digest):
    record = IdempotencyRecord.objects.filter(studio=request.studio, key=_key(digest)).first()
    return record and record.answer


def _key(digest):
    return f"page:{digest}"


def _digest(request):
    """Return what tells one sending of a page from all others; empty for a page without a token.

    It is of the person, the address and all that was typed or chosen: the same token from somebody
    else, or with another amount after going back, is another act.
    """
    if request.method != "POST" or not request.POST.get(FIELD):
        return ""
    typed = request.POST.copy()
    typed.pop("csrfmiddlewaretoken", None)
    text = f"{request.user.pk} {request.path} {typed.urlencode()}"
    digest = hashlib.sha256(text.encode())
    add_files(digest, request.FILES)
    return digest.hexdigest()


def add_files(digest, files):
    """Let a digest tell apart what was sent as files too."""
    for name, sent in files.lists():
        for file in sent:
            digest.update(f" {name} {file.size} ".encode())
            for chunk in file.chunks():
                digest.update(chunk)
            file.seek(0)
