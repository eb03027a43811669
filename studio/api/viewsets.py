"""The viewsets that endpoints start from: rows of one kind, and things there is one of.

A viewset says what its rows are and how one is named (`rows`, ``lookup_field``), what goes out
(`out`) and what comes in (`takes`), who may read and write (`read_role`, `write_role`), of what
kinds of knowledge all that is told and written is (`sights`, `write_sights`), and by what a list is
narrowed and sorted (``filterset_class``, ``search_fields``, ``sort_fields``). What can be done with
a row is a mixin (`Listed`, `Read`, `Added`, `Changed`, `PutAway`) or a method of its own under
`act`, `answer` or `file` (acts.py); each calls one service.
"""

from collections.abc import Sequence
from typing import Any

from django.db import transaction
from django.db.models import Model, QuerySet
from django.http import HttpRequest
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.utils.http import parse_etags
from django_filters.rest_framework import DjangoFilterBackend
from drf_spectacular.utils import OpenApiParameter
from rest_framework.decorators import action
from rest_framework.renderers import JSONRenderer
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.serializers import BaseSerializer, Serializer
from rest_framework.viewsets import GenericViewSet

from studio.api.asked import ChangedSince, InPeriod, Sort, WordSearch, refuse_unknown
from studio.api.errors import ChangedMeanwhile, MatchRequired
from studio.api.pages import Pages
from studio.api.rows import checked_serializer
from studio.api.versions import version, with_version
from studio.api.views import StudioView
from studio.models import Studio
from studio.rows import put_away
from studio.sight import Sight

Asked = OpenApiParameter | type[Serializer]


class StudioViewSet(StudioView, GenericViewSet):
    """What a studio's token may ask of one kind of thing."""

    model: type[Model]
    out: type[BaseSerializer]
    takes: type[BaseSerializer]
    read_role, write_role = "viewer", "maker"
    sights: tuple[Sight, ...] = ()  # of reading and of writing
    write_sights: tuple[Sight, ...] = ()  # of writing too
    partial = True  # whether a change may name some of the fields only
    lookup_value_converter = "int"
    pagination_class = Pages
    filter_backends: tuple[Any, ...] = (DjangoFilterBackend, WordSearch, Sort)
    queryset = None

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        super().initial(request, *args, **kwargs)
        refuse_unknown(self, request)

    def perform_content_negotiation(
        self, request: Request, force: bool = False
    ) -> tuple[JSONRenderer, str]:
        """Refusals are JSON, whatever is asked for; only papers and files are something else."""
        return JSONRenderer(), JSONRenderer.media_type

    def options(self, request: HttpRequest, *args: Any, **kwargs: Any) -> Response:
        return Response(status=204)  # the header Allow says by which methods it may be asked

    @property
    def studio(self) -> Studio:
        return self.request.studio

    def rows(self) -> QuerySet:
        """Return the studio's rows, with all that is written out of each."""
        raise NotImplementedError  # a kind of thing that has no rows is never asked for them

    def get_queryset(self) -> QuerySet[Any]:
        if getattr(self, "swagger_fake_view", False):  # described, with nobody asking
            return self.model._default_manager.none()
        return self.rows()

    def get_serializer_class(self) -> type[BaseSerializer]:
        return self.out

    def row(self, *, lock: bool = False) -> Any:
        """Return the row that the address names, or a 404; locked until the change is done."""
        key = {self.lookup_field: self.kwargs[self.lookup_url_kwarg or self.lookup_field]}
        row = get_object_or_404(self.rows(), **key)
        if lock:  # by itself, since what is counted beside it cannot be locked
            self.model._default_manager.select_for_update().get(pk=row.pk)
            row = self.rows().get(pk=row.pk)
        return row

    def sent(
        self,
        takes: type[BaseSerializer],
        row: Any = None,
        *,
        partial: bool = False,
        acted_on: Any = None,
    ) -> dict:
        """Return what was sent, checked; bad input is a 400 that names the fields."""
        serializer = checked_serializer(
            self.request, takes, row, partial=partial, acted_on=acted_on
        )
        return serializer.validated_data

    def checked_query(self, takes: type[BaseSerializer]) -> dict:
        """Return what the address asks by, checked, where it is more than a list's filters."""
        serializer = takes(data=self.request.query_params, context=self.get_serializer_context())
        serializer.is_valid(raise_exception=True)
        return serializer.validated_data

    def response_of(
        self, thing: Any, out: type[BaseSerializer] | None = None, status: int = 200
    ) -> Response:
        """Answer with one thing, and with what its version is called."""
        many = isinstance(thing, list | tuple)
        data = (out or self.out)(thing, many=many, context=self.get_serializer_context()).data
        return with_version(Response(data, status=status))

    def fresh_response(self, row: Model, status: int = 200) -> Response:
        """Answer with a row as it is read now."""
        (thing,) = self.with_details([self.rows().get(pk=row.pk)])
        return self.response_of(thing, status=status)

    def page_response(
        self, rows: QuerySet[Any] | Sequence[Any], out: type[BaseSerializer] | None = None
    ) -> Response:
        """Answer one page of rows."""
        page = self.with_details(self.paginate_queryset(rows) or [])
        data = (out or self.out)(page, many=True, context=self.get_serializer_context()).data
        return self.get_paginated_response(data)

    def with_details(self, page: list) -> list:
        """Return the rows of a page, or one by itself, with what is only read to be written out."""
        return page

    def refuse_stale(self, row: Any, *, needed: bool = True) -> None:
        """Refuse a change of a row that is not as it was when it was read (RFC 9110, 13.1.1)."""
        sent = self.request.headers.get("If-Match")
        if sent is None:
            if needed:
                raise MatchRequired
            return
        if sent.strip() == "*":
            return
        (row,) = self.with_details([row])
        data = self.out(row, context=self.get_serializer_context()).data
        if version(data) not in parse_etags(sent):
            raise ChangedMeanwhile

    @classmethod
    def role_of(cls, name: str, method: str) -> str:
        """Return the least role that may ask for the action of this name."""
        usual = cls.read_role if method.upper() in ("GET", "HEAD", "OPTIONS") else cls.write_role
        return getattr(getattr(cls, name, None), "role", None) or usual

    def sights_of(self, name: str, method: str) -> tuple[Sight, ...]:
        """Return the kinds of knowledge that whoever asks for the action of this name must see."""
        writes = () if method.upper() in ("GET", "HEAD", "OPTIONS") else self.write_sights
        own = getattr(getattr(self, name, None), "sights", ())
        return tuple(dict.fromkeys((*self.sights, *writes, *own)))

    def is_listing(self) -> bool:
        """Tell whether the answer comes in pages."""
        handler = getattr(self, self.action or "", None)
        return self.action == "list" or getattr(handler, "is_listing", False)

    def parameters_asked(self) -> tuple[Asked, ...]:
        """Return what an address may ask by besides the filters of the list.

        A serializer stands for a parameter of each of its fields, see `checked_query`.
        """
        return getattr(getattr(self, self.action or "", None), "parameters", ())


class Listed(StudioViewSet):
    # By which moments a row is told to be changed: its own, and those of what is told with it.
    changed_by: tuple[str, ...] = ("changed_at",)
    # The day or moment of a row by which a list is narrowed to a period; none, if it has no such.
    dated_by = ""
    filter_backends = (*StudioViewSet.filter_backends, ChangedSince, InPeriod)

    def list(self, request: Request, **key: Any) -> Response:
        return super().page_response(self.filter_queryset(self.get_queryset()))


class Read(StudioViewSet):
    def retrieve(self, request: Request, **key: Any) -> Response:
        return self.response_of(*self.with_details([self.row()]))


class Added(StudioViewSet):
    @transaction.atomic
    def create(self, request: Request, **key: Any) -> Response:
        return self.fresh_response(self.add(**self.sent(self.takes)), status=201)

    def add(self, *args: Any, **sent: Any) -> Model:
        """Write a new row down through its service; without one, the serializer does."""
        return checked_serializer(self.request, self.takes).save()


class Changed(StudioViewSet):
    @transaction.atomic
    def partial_update(self, request: Request, **key: Any) -> Response:
        row = self.row(lock=True)
        self.refuse_stale(row)
        sent = checked_serializer(self.request, self.takes, row, partial=self.partial)
        return self.fresh_response(self.change(row, sent))

    def change(self, row: Any, sent: BaseSerializer) -> Model:
        """Change a row by what was sent, through its service; without one, the serializer does."""
        return sent.save()


class Gone(StudioViewSet):
    @transaction.atomic
    def destroy(self, request: Request, **key: Any) -> Response:
        row = self.row(lock=True)
        self.refuse_stale(row)
        self.remove(row)
        return Response(status=204)

    def remove(self, row: Any) -> None:
        """Let a row go through its service."""
        raise NotImplementedError  # each kind of row goes by a service of its own


class Removed(Gone):
    """Rows that are gone once they are deleted."""


class PutAway(Gone):
    """Rows that are archived instead of deleted: what refers to them keeps them."""

    def remove(self, row: Any) -> None:
        put_away(row=row, at=timezone.now())

    @action(detail=True, methods=["post"], url_path="bring-back", url_name="bring-back")
    def bring_back(self, request: Request, **key: Any) -> Response:
        """Bring back what was archived."""
        return self.fresh_response(put_away(row=self.row(), at=None))


class RegisterViewSet(Listed, Read, Added, Changed, PutAway):
    """Simple rows that a studio keeps: listed, read, added, changed, archived."""
