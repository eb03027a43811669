"""Writes to the API that are safe to repeat: what was answered under a key is said again."""

import hashlib
import json
from collections.abc import Callable
from typing import Any

from rest_framework.response import Response

from studio import remembering
from studio.errors import StudioError
from studio.models import IdempotencyRecord
from studio.requests import ApiRequest

KEY_HEADER = "Idempotency-Key"


class KeyReused(StudioError):
    """The same Idempotency-Key came with a different request."""

    code = "idempotency_key_reused"


class ToldNoMore(StudioError):
    """What was answered before may tell what this person does not see any more."""

    code = "told_no_more"


def once(
    key: str, handler: Callable[..., Response], request: ApiRequest, *args: Any, **kwargs: Any
) -> Response:
    """Run a write and remember its answer under ``key``, or repeat the answer remembered."""

    def work() -> tuple[int, Any]:
        response = handler(request, *args, **kwargs)
        return response.status_code, response.data

    sending = _sending(key, request)
    return _answer(remembering.once(sending, request.membership, work), sending, request)


def remembered(key: str, request: ApiRequest) -> Response | None:
    """Return the answer given under ``key``, or None; refuse the key of another request."""
    if len(key) > 80 or not key.isprintable():
        raise KeyReused(f"{KEY_HEADER} may have at most 80 characters, all of them printable.")
    sending = _sending(key, request)
    record = remembering.remembered(sending)
    return _answer(record, sending, request) if record else None


def _answer(
    record: IdempotencyRecord, sending: remembering.Sending, request: ApiRequest
) -> Response:
    if any(getattr(record, name) != value for name, value in sending.items()):
        raise KeyReused(f"This {KEY_HEADER} was already used for another request. Use a new one.")
    if not remembering.may_be_told(record, request.membership):
        raise ToldNoMore(
            "This was done when it was sent before, and is not done again. What you may see has "
            "changed since, so read it anew."
        )
    return Response(record.answer, status=record.status)


def _sending(key: str, request: ApiRequest) -> remembering.Sending:
    return remembering.sending_of(request, key, request.get_full_path(), _digest(request))


def _digest(request: ApiRequest) -> str:
    """Return what tells one body from all others.

    Of a form with files its parts count, not how they were strung together, which is new each time;
    and files may be larger than a body that is held in memory.
    """
    if not request.content_type.startswith("multipart/form-data"):
        return hashlib.sha256(request._request.body).hexdigest()
    sent = request.POST  # parses it, as the endpoint would
    texts = [(name, sent.getlist(name)) for name in sorted(sent) if name not in request.FILES]
    digest = hashlib.sha256(json.dumps(texts).encode())
    remembering.add_files(digest, request.FILES)
    return digest.hexdigest()
