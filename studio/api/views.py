"""The view every API endpoint starts from, with writes that are safe to repeat."""

from collections.abc import Callable
from contextlib import AbstractContextManager, nullcontext
from functools import partial
from typing import Any

from django.http import Http404
from rest_framework.exceptions import ValidationError
from rest_framework.permissions import SAFE_METHODS
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from studio.api.versions import with_version
from studio.repeats import KEY_HEADER, once, remembered
from studio.requests import ApiRequest


class StudioView(APIView):
    """An endpoint of one studio. A write sent twice with one ``Idempotency-Key`` acts once."""

    request: ApiRequest
    read_role = "viewer"
    write_role = "maker"
    # Acts whose answer holds a secret, which is kept nowhere; they must be harmless when repeated.
    tell_secrets: tuple[str, ...] = ()

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        super().initial(request, *args, **kwargs)
        _refuse_nul(request)
        if request.method not in SAFE_METHODS and request.method in self.allowed_methods:
            name = request.method.lower()
            setattr(self, name, partial(self._write, getattr(self, name)))

    def prepare(self, request: ApiRequest) -> AbstractContextManager[Any]:
        """Give, as a context, what a write finds as ``self.ready``.

        For what takes long, since a write runs in a transaction that keeps others waiting.
        """
        return nullcontext()

    def _write(
        self, handler: Callable[..., Response], request: ApiRequest, *args: Any, **kwargs: Any
    ) -> Response:
        is_kept = getattr(self, "action", None) not in self.tell_secrets
        key = request.headers.get(KEY_HEADER, "") if is_kept else ""
        if key and (answer := remembered(key, request)):
            return with_version(answer)
        with self.prepare(request) as self.ready:
            if key:
                return with_version(once(key, handler, request, *args, **kwargs))
            return handler(request, *args, **kwargs)


def _refuse_nul(request: Request) -> None:
    """Refuse addresses with a NUL character in them, which no database looks for."""
    if "\0" in request.path:
        raise Http404
    for name, text in request.query_params.items():
        if "\0" in text:
            raise ValidationError({name: ["Leave out the NUL character."]}, code="invalid")
