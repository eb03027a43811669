"""The viewsets that endpoints start from: rows of one kind, and things there is one of.

A viewset says what its rows are and how one is named (`rows`, ``lookup_field``), what goes out
(`out`) and what comes in (`takes`), who may read and write (`read_role`, `write_role`), and by what
a list is narrowed and sorted (``filterset_class``, ``search_fields``, ``sort_fields``). What can be
done with a row is a mixin (`Listed`, `Read`, `Added`, `Changed`, `PutAway`) or a method of its own
under `act`, `answer` or `paper`; each calls one service.
"""

import hashlib
from collections.abc import Callable
from functools import wraps
from typing import Any

from django.db import transaction
from django.db.models import Model, QuerySet
from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.utils.http import parse_etags
from django_filters.rest_framework import DjangoFilterBackend
from drf_spectacular.utils import OpenApiParameter
from rest_framework.decorators import action
from rest_framework.exceptions import ErrorDetail, ValidationError
from rest_framework.renderers import JSONRenderer
from rest_framework.response import Response
from rest_framework.serializers import BaseSerializer
from rest_framework.viewsets import GenericViewSet

from studio.api.asked import Search, Sort, refuse_unknown
from studio.api.errors import ChangedMeanwhile, MatchRequired
from studio.api.pages import Pages
from studio.api.rows import asked
from studio.api.views import StudioView
from studio.rows import put_away

PDF = "application/pdf"
Asked = OpenApiParameter | type[BaseSerializer]


class StudioViewSet(StudioView, GenericViewSet):
    """What a studio's token may ask of one kind of thing."""

    model: type[Model]
    out: type[BaseSerializer]
    takes: type[BaseSerializer]
    read_role, write_role = "viewer", "maker"
    partial = True  # whether a change may name some of the fields only
    lookup_value_converter = "int"
    pagination_class = Pages
    filter_backends = (DjangoFilterBackend, Search, Sort)
    queryset = None

    def initial(self, request, *args, **kwargs):
        super().initial(request, *args, **kwargs)
        refuse_unknown(self, request)

    def perform_content_negotiation(self, request, force=False):
        """Refusals are JSON, whatever is asked for; only papers and files are something else."""
        return JSONRenderer(), JSONRenderer.media_type

    def options(self, request, *args, **kwargs):
        return Response(status=204)  # the header Allow says by which methods it may be asked

    @property
    def studio(self):
        return self.request.studio

    def rows(self) -> QuerySet:
        """Return the studio's rows, with all that is written out of each."""
        raise NotImplementedError  # a kind of thing that has no rows is never asked for them

    def get_queryset(self):
        if getattr(self, "swagger_fake_view", False):  # described, with nobody asking
            return self.model._default_manager.none()
        return self.rows()

    def get_serializer_class(self):
        return self.out

    def row(self, *, lock: bool = False) -> Any:
        """Return the row that the address names, or a 404; locked until the change is done."""
        wanted = {self.lookup_field: self.kwargs[self.lookup_url_kwarg or self.lookup_field]}
        row = get_object_or_404(self.rows(), **wanted)
        if lock:  # by itself, since what is counted beside it cannot be locked
            self.model._default_manager.select_for_update().get(pk=row.pk)
            row = self.rows().get(pk=row.pk)
        return row

    def sent(self, takes: type[BaseSerializer], row=None, *, partial: bool = False) -> dict:
        """Return what was sent, checked; bad input is a 400 that names the fields."""
        return asked(self.request, takes, row, partial=partial).validated_data

    def asked_by(self, takes: type[BaseSerializer]) -> dict:
        """Return what the address asks by, checked, where it is more than a list's filters."""
        wanted = takes(data=self.request.query_params, context=self.get_serializer_context())
        wanted.is_valid(raise_exception=True)
        return wanted.validated_data

    def told(self, thing, out: type[BaseSerializer] | None = None, status: int = 200) -> Response:
        """Answer with one thing, and with what its version is called."""
        many = isinstance(thing, list | tuple)
        data = (out or self.out)(thing, many=many, context=self.get_serializer_context()).data
        return Response(data, status=status, headers={"ETag": version(data)})

    def told_anew(self, row: Model, status: int = 200) -> Response:
        """Answer with a row as it is read now."""
        return self.told(*self.shown([self.rows().get(pk=row.pk)]), status=status)

    def listed(self, rows, out: type[BaseSerializer] | None = None) -> Response:
        """Answer one page of rows."""
        page = self.shown(self.paginate_queryset(rows))
        data = (out or self.out)(page, many=True, context=self.get_serializer_context()).data
        return self.get_paginated_response(data)

    def shown(self, page: list) -> list:
        """Return the rows of a page, or one by itself, with what is only read to be written out."""
        return page

    def refuse_stale(self, row: Model, *, needed: bool = True) -> None:
        """Refuse a change of a row that is not as it was when it was read (RFC 9110, 13.1.1)."""
        sent = self.request.headers.get("If-Match")
        if sent is None:
            if needed:
                raise MatchRequired
            return
        if sent.strip() == "*":
            return
        (row,) = self.shown([row])
        data = self.out(row, context=self.get_serializer_context()).data
        if version(data) not in parse_etags(sent):
            raise ChangedMeanwhile

    @classmethod
    def role_of(cls, name: str, method: str) -> str:
        """Return the least role that may ask for the action of this name."""
        usual = cls.read_role if method.upper() in ("GET", "HEAD", "OPTIONS") else cls.write_role
        return getattr(getattr(cls, name, None), "role", None) or usual

    def is_listing(self) -> bool:
        """Tell whether the answer comes in pages."""
        handler = getattr(self, self.action or "", None)
        return self.action == "list" or getattr(handler, "is_listing", False)

    def parameters_asked(self) -> tuple[Asked, ...]:
        """Return what an address may ask by besides the filters of the list.

        A serializer stands for a parameter of each of its fields, see `asked_by`.
        """
        return getattr(getattr(self, self.action or "", None), "parameters", ())


def version(data) -> str:
    """Return what a version of something is called: an entity tag of what is written out."""
    return f'"{hashlib.sha256(JSONRenderer().render(data)).hexdigest()[:32]}"'


class Listed(StudioViewSet):
    def list(self, request, **key):
        return super().listed(self.filter_queryset(self.get_queryset()))


class Read(StudioViewSet):
    def retrieve(self, request, **key):
        return self.told(*self.shown([self.row()]))


class Added(StudioViewSet):
    @transaction.atomic
    def create(self, request, **key):
        return self.told_anew(self.add(**self.sent(self.takes)), status=201)

    def add(self, **sent) -> Model:
        """Write a new row down through its service; without one, the serializer does."""
        return asked(self.request, self.takes).save()


class Changed(StudioViewSet):
    @transaction.atomic
    def partial_update(self, request, **key):
        row = self.row(lock=True)
        self.refuse_stale(row)
        sent = asked(request, self.takes, row, partial=self.partial)
        return self.told_anew(self.change(row, sent))

    def change(self, row: Model, sent: BaseSerializer) -> Model:
        """Change a row by what was sent, through its service; without one, the serializer does."""
        return sent.save()


class PutAway(StudioViewSet):
    """Rows that are put away instead of deleted: what refers to them keeps them."""

    @transaction.atomic
    def destroy(self, request, **key):
        row = self.row(lock=True)
        self.refuse_stale(row)
        put_away(row=row, at=timezone.now())
        return Response(status=204)

    @action(detail=True, methods=["post"], url_path="bring-back", url_name="bring-back")
    def bring_back(self, request, **key):
        """Bring back what was put away."""
        return self.told_anew(put_away(row=self.row(), at=None))


class Removed(StudioViewSet):
    """Rows that are gone once they are deleted."""

    @transaction.atomic
    def destroy(self, request, **key):
        row = self.row(lock=True)
        self.refuse_stale(row)
        self.remove(row)
        return Response(status=204)

    def remove(self, row: Model) -> None:
        """Delete a row through its service."""
        raise NotImplementedError  # each kind of row goes by a service of its own


class Kept(Listed, Read, Added, Changed, PutAway):
    """Simple rows that a studio keeps: listed, read, added, changed, put away."""


def act(
    takes: type[BaseSerializer] | None = None,
    *,
    gives: type[BaseSerializer] | None = None,
    status: int = 200,
    role: str | None = None,
    on_row: bool = True,
    path: str | None = None,
) -> Callable:
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
    on_row : bool
        Whether the address names a row.
    path : str, optional
        The end of the address; without it the method's name.
    """

    def decorate(method):
        @wraps(method)
        def handler(self, request, **key):
            row = self.row() if on_row else None
            if row is not None:
                self.refuse_stale(row, needed=False)
            sent = self.sent(takes) if takes else nothing(request)
            made = method(self, row, **sent) if on_row else method(self, **sent)
            if isinstance(made, HttpResponse | Response):
                return made
            return self.told(made, gives, status) if gives else self.told_anew(made, status)

        handler.role, handler.takes, handler.gives, handler.status = role, takes, gives, status
        return _routed(handler, ["post"], on_row, path)

    return decorate


def answer(
    gives: type[BaseSerializer],
    *,
    on_row: bool = True,
    pages: bool = False,
    parameters: tuple[Asked, ...] = (),
    role: str | None = None,
    path: str | None = None,
) -> Callable:
    """Make a method of a viewset a question that is asked by GET.

    The method is given the row that the address names and returns what is answered through
    ``gives``, in ``pages`` where it is a list of any length.
    """

    def decorate(method):
        @wraps(method)
        def handler(self, request, **key):
            found = method(self, self.row()) if on_row else method(self)
            return self.listed(found, gives) if pages else self.told(found, gives)

        handler.role, handler.gives, handler.is_listing = role, gives, pages
        handler.parameters = parameters
        return _routed(handler, ["get"], on_row, path)

    return decorate


def file(
    *,
    media_types: tuple[str, ...] = (PDF,),
    on_row: bool = True,
    parameters: tuple[Asked, ...] = (),
    role: str | None = None,
    path: str | None = None,
) -> Callable:
    """Make a method of a viewset one that answers with a file, a PDF if nothing else is said.

    The method returns the `HttpResponse`.
    """

    def decorate(method):
        @wraps(method)
        def handler(self, request, **key):
            return method(self, self.row()) if on_row else method(self)

        handler.role, handler.media_types, handler.parameters = role, media_types, parameters
        return _routed(handler, ["get"], on_row, path)

    return decorate


def _routed(handler, methods, on_row, path):
    dashed = handler.__name__.replace("_", "-")
    return action(detail=on_row, methods=methods, url_path=path or dashed, url_name=dashed)(handler)


def nothing(request) -> dict:
    """Return nothing, and refuse whatever was sent where nothing is taken."""
    if isinstance(request.data, dict) and request.data:
        odd = {name: [ErrorDetail("Nothing is sent here.", "unknown")] for name in request.data}
        raise ValidationError(odd)
    return {}
