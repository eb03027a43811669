"""The view every API endpoint starts from, with writes that are safe to repeat."""

import hashlib
import json
from functools import partial

from django.db import IntegrityError, transaction
from django.http import Http404
from rest_framework.exceptions import ValidationError
from rest_framework.permissions import SAFE_METHODS
from rest_framework.response import Response
from rest_framework.views import APIView

from studio.api.pages import Pages
from studio.errors import StudioError
from studio.models import IdempotencyRecord
from studio.once import add_files

KEY_HEADER = "Idempotency-Key"


class KeyReused(StudioError):
    """The same Idempotency-Key came with a different request."""

    code = "idempotency_key_reused"


class StudioView(APIView):
    """An endpoint of one studio. A write sent twice with one ``Idempotency-Key`` acts once."""

    read_role = "viewer"
    write_role = "maker"
    # False where the answer holds a secret, which is kept nowhere; such a write must be harmless
    # when it is repeated.
    remembers = True

    def initial(self, request, *args, **kwargs):
        super().initial(request, *args, **kwargs)
        _refuse_nul(request)
        key = request.headers.get(KEY_HEADER, "")
        if key and self.remembers and request.method not in SAFE_METHODS:
            name = request.method.lower()
            setattr(self, name, partial(once, key, getattr(self, name)))

    def paginated(self, queryset, serializer_class, prepare=list):
        """Answer one page of ``queryset`` through ``serializer_class``.

        ``prepare`` takes the rows of the page and returns them, with what belongs to them.
        """
        pages = Pages()
        page = prepare(pages.paginate_queryset(queryset, self.request, view=self))
        context = {"request": self.request}
        return pages.get_paginated_response(serializer_class(page, many=True, context=context).data)


def _refuse_nul(request):
    """Refuse addresses with a NUL character in them, which no database looks for."""
    if "\0" in request.path:
        raise Http404
    for name, text in request.query_params.items():
        if "\0" in text:
            raise ValidationError({name: ["Leave out the NUL character."]}, code="invalid")


def once(key, handler, request, *args, **kwargs):
    """Run a write and remember its answer under ``key``, or repeat the answer remembered.

    The record and the act are one transaction, so a process that dies in between leaves neither.
    """
    if len(key) > 80:
        raise KeyReused(f"{KEY_HEADER} may have at most 80 characters.")
    told = {
        "user": request.user,
        "method_and_path": f"{request.method} {request.get_full_path()}"[:300],
        "body_digest": _digest(request),
    }
    try:
        with transaction.atomic():
            record = IdempotencyRecord.objects.create(studio=request.studio, key=key, **told)
            response = handler(request, *args, **kwargs)
            record.status, record.answer = response.status_code, response.data
            record.save(update_fields=["status", "answer"])
            return response
    except IntegrityError:
        remembered = IdempotencyRecord.objects.select_related("user")
        record = remembered.filter(studio=request.studio, key=key).first()
        if record is None:  # some other constraint refused the act
            raise
    if any(getattr(record, name) != value for name, value in told.items()):
        raise KeyReused(f"This {KEY_HEADER} was already used for another request. Use a new one.")
    return Response(record.answer, status=record.status)


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
