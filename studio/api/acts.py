"""What else can be done with a viewset's rows than its mixins do: acts, questions and files."""

from collections.abc import Callable
from functools import wraps
from typing import Any, Literal

from django.http import HttpResponse
from rest_framework.decorators import action
from rest_framework.exceptions import ErrorDetail, ValidationError
from rest_framework.response import Response
from rest_framework.serializers import BaseSerializer

from studio.api.viewsets import Asked
from studio.requests import ApiRequest
from studio.sight import Sight

PDF = "application/pdf"
Method = Callable[..., Any]


def describes(
    *,
    takes: type[BaseSerializer] | None = None,
    gives: Any = None,
    parameters: tuple[Asked, ...] = (),
) -> Callable[[Method], Method]:
    """Say of a mixin's method that was written anew what it takes and gives instead.

    Parameters
    ----------
    takes : type, optional
        Serializer of what is sent, where it is not the viewset's own ``takes``.
    gives : type or serializer, optional
        What is answered, where it is not ``out``; with ``many=True`` where it is several.
    parameters : tuple
        What the address may ask by.
    """

    def decorate(method: Method) -> Method:
        for name, one in (("takes", takes), ("gives", gives), ("parameters", parameters)):
            if one:
                setattr(method, name, one)
        return method

    return decorate


def act(
    takes: type[BaseSerializer] | None = None,
    *,
    gives: type[BaseSerializer] | None = None,
    status: int = 200,
    role: str | None = None,
    sights: tuple[Sight, ...] = (),
    on_row: bool = True,
    path: str | None = None,
) -> Callable[[Method], Method]:
    """Make a method of a viewset an act that is sent by POST.

    The method is given the row that the address names and what was sent, calls one service, and
    returns what is answered: the row itself is read anew.

    Parameters
    ----------
    takes : type, optional
        Serializer of what is sent; without it nothing may be.
    gives : type, optional
        Serializer of what the method returns; without it the row is answered.
    status : int
        HTTP status of the answer, [-]
    role : str, optional
        Least role, where it is not the viewset's ``write_role``.
    sights : tuple of Sight
        Kinds of knowledge that the answer is wholly of, besides the viewset's own.
    on_row : bool
        Whether the address names a row.
    path : str, optional
        The end of the address; without it the method's name.
    """

    def decorate(method: Method) -> Method:
        @wraps(method)
        def handler(self, request: ApiRequest, **key: Any) -> Response | HttpResponse:
            row = self.row() if on_row else None
            if row is not None:
                self.refuse_stale(row, needed=False)
            sent = self.sent(takes, acted_on=row) if takes else nothing(request)
            result = method(self, row, **sent) if on_row else method(self, **sent)
            if isinstance(result, HttpResponse | Response):
                return result
            return (
                self.response_of(result, gives, status)
                if gives
                else self.fresh_response(result, status)
            )

        vars(handler).update(role=role, sights=sights, takes=takes, gives=gives, status=status)
        return _routed(handler, ["post"], on_row, path)

    return decorate


def answer(
    gives: type[BaseSerializer],
    *,
    on_row: bool = True,
    pages: bool = False,
    parameters: tuple[Asked, ...] = (),
    role: str | None = None,
    sights: tuple[Sight, ...] = (),
    path: str | None = None,
) -> Callable[[Method], Method]:
    """Make a method of a viewset a question that is asked by GET.

    The method is given the row that the address names and returns what is answered through
    ``gives``, in ``pages`` where it is a list of any length.
    """

    def decorate(method: Method) -> Method:
        @wraps(method)
        def handler(self, request: ApiRequest, **key: Any) -> Response | HttpResponse:
            result = method(self, self.row()) if on_row else method(self)
            return self.page_response(result, gives) if pages else self.response_of(result, gives)

        vars(handler).update(
            role=role, sights=sights, gives=gives, is_listing=pages, parameters=parameters
        )
        return _routed(handler, ["get"], on_row, path)

    return decorate


def file(
    *,
    media_types: tuple[str, ...] = (PDF,),
    on_row: bool = True,
    parameters: tuple[Asked, ...] = (),
    role: str | None = None,
    sights: tuple[Sight, ...] = (),
    path: str | None = None,
) -> Callable[[Method], Method]:
    """Make a method of a viewset one that answers with a file, a PDF if nothing else is said.

    The method returns the `HttpResponse`.
    """

    def decorate(method: Method) -> Method:
        @wraps(method)
        def handler(self, request: ApiRequest, **key: Any) -> Response | HttpResponse:
            return method(self, self.row()) if on_row else method(self)

        vars(handler).update(
            role=role, sights=sights, media_types=media_types, parameters=parameters
        )
        return _routed(handler, ["get"], on_row, path)

    return decorate


def _routed(
    handler: Method, methods: list[Literal["get", "post"]], on_row: bool, path: str | None
) -> Method:
    name = handler.__name__.replace("_", "-")
    return action(detail=on_row, methods=methods, url_path=path or name, url_name=name)(handler)


def nothing(request: ApiRequest) -> dict:
    """Return no fields for an act that takes none; refuse a request that sends some."""
    if isinstance(request.data, dict) and request.data:
        odd = {name: [ErrorDetail("Nothing is sent here.", "unknown")] for name in request.data}
        raise ValidationError(odd)
    return {}
