"""Writes to the API that are safe to repeat: what was answered under a key is said again."""

import hashlib
import json

from django.db import IntegrityError, transaction
from rest_framework.response import Response

from studio.errors import StudioError
from studio.models import IdempotencyRecord
from studio.once import add_files

KEY_HEADER = "Idempotency-Key"


class KeyReused(StudioError):
    """The same Idempotency-Key came with a different request."""

    code = "idempotency_key_reused"


def once(key, handler, request, *args, **kwargs):
    """Run a write and remember its answer under ``key``, or repeat the answer remembered.

    The record and the act are one transaction, so a process that dies in between leaves neither.
    """
    try:
        with transaction.atomic():
            record = IdempotencyRecord.objects.create(
                studio=request.studio, key=key, **_told(request)
            )
            response = handler(request, *args, **kwargs)
            record.status, record.answer = response.status_code, response.data
            record.save(update_fields=["status", "answer"])
            return response
    except IntegrityError:
        answer = remembered(key, request)
        if answer is None:  # some other constraint refused the act
            raise
        return answer


def remembered(key, request):
    """Return the answer given under ``key``, or None; refuse the key of another request."""
    if len(key) > 80 or not key.isprintable():
        raise KeyReused(f"{KEY_HEADER} may have at most 80 characters, all of them printable.")
    rows = IdempotencyRecord.objects.select_related("user")
    record = rows.filter(studio=request.studio, key=key).first()
    if record is None:
        return None
    if any(getattr(record, name) != value for name, value in _told(request).items()):
        raise KeyReused(f"This {KEY_HEADER} was already used for another request. Use a new one.")
    return Response(record.answer, status=record.status)


def _told(request):
    """Return what tells one request from all others."""
    return {
        "user": request.user,
        "method_and_path": f"{request.method} {request.get_full_path()}"[:300],
        "body_digest": _digest(request),
    }


def _digest(request):
    """Return what tells one body from all others.

    Of a form with files its parts count, not how they were strung together, which is new each time;
    and files may be larger than a body that is held in memory.
    """
    if not request.content_type.startswith("multipart/form-data"):
        return hashlib.sha256(request._request.body).hexdigest()
    sent = request.data  # parses it, as the endpoint would
    texts = [(name, sent.getlist(name)) for name in sorted(sent) if name not in request.FILES]
    digest = hashlib.sha256(json.dumps(texts).encode())
    add_files(digest, request.FILES)
    return digest.hexdigest()
