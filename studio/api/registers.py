"""Endpoints of simple rows that a studio keeps: listed, added, read, changed, put away."""

from django.shortcuts import get_object_or_404
from django.urls import path
from django.utils import timezone
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.response import Response

from studio.api.rows import asked, asked_number
from studio.api.schema import pages_of
from studio.api.views import StudioView
from studio.rows import put_away

ARCHIVED = OpenApiParameter("archived", bool, description="List what was put away too.")


class Register:
    """The endpoints of one kind of row.

    Parameters
    ----------
    name, plural : str
        How the routes are called: ``api-name`` and ``api-plural``.
    word : str
        What one row is called in the description.
    rows : callable
        Takes a studio and returns its rows.
    out, takes : type
        Serializers of what goes out and what comes in.
    save : callable, optional
        Takes a studio, the row to change or None, and the fields, and returns the row; without it
        the serializer writes the row.
    write_role : str
        Who may add and change.
    filters : dict, optional
        Query parameter to a callable of the rows and its text that narrows the rows.
    ids : tuple, optional
        Query parameters that are the ids of rows which the rows name.
    can_add : bool
        Whether rows can be added.
    whole : bool
        Whether a row is always written whole (PUT), not in part (PATCH).
    """

    def __init__(
        self, *, name, plural, word, rows, out, takes, save=None, write_role="maker", filters=None,
        ids=(), can_add=True, whole=False,
    ):  # fmt: skip
        self.name, self.plural, self.word = name, plural, word
        self.rows, self.out, self.takes, self.save = rows, out, takes, save
        self.write_role, self.filters = write_role, filters or {}
        self.ids = ids
        self.can_add, self.whole = can_add, whole

    def urls(self, prefix):
        """Return the URL patterns of the endpoints under ``prefix``."""
        patterns = [
            path(prefix, self._list_view().as_view(), name=f"api-{self.plural}"),
            path(f"{prefix}<int:pk>/", self._row_view().as_view(), name=f"api-{self.name}"),
        ]
        if self.can_archive:
            back = self._back_view().as_view()
            patterns.append(
                path(f"{prefix}<int:pk>/bring-back/", back, name=f"api-{self.name}-back")
            )
        return patterns

    @property
    def can_archive(self):
        return any(field.name == "archived_at" for field in self.out.Meta.model._meta.fields)

    def found(self, request, pk):
        """Return one row of the studio, or a 404."""
        return get_object_or_404(self.rows(request.studio), pk=pk)

    def listed(self, request):
        """Return the rows that were asked for."""
        rows = self.rows(request.studio).all()
        if self.can_archive and request.query_params.get("archived") != "true":
            rows = rows.filter(archived_at=None)
        for name, narrow in self.filters.items():
            if text := request.query_params.get(name, "").strip():
                rows = narrow(rows, text)
        for name in self.ids:
            if (pk := asked_number(request, name)) is not None:
                rows = rows.filter(**{name: pk})
        return rows

    def written(self, request, row):
        """Write what was sent, and return the row as it reads now."""
        sent = asked(request, self.takes, row, partial=bool(row) and not self.whole)
        if self.save is None:
            saved = sent.save()
        else:
            saved = self.save(request.studio, row, **sent.validated_data)
        return self.out(self.found(request, saved.pk), context={"request": request}).data

    def archive(self, request, pk, at):
        """Put a row away at a moment, or bring it back; its history stays."""
        row = self.found(request, pk)
        put_away(row=row, at=at)

    def _list_view(self):
        register = self
        parameters = [OpenApiParameter(name, str) for name in self.filters]
        parameters += [OpenApiParameter(name, int) for name in self.ids]
        parameters += [ARCHIVED] if self.can_archive else []

        class RowList(StudioView):
            write_role = self.write_role

            @extend_schema(
                operation_id=f"{_key(self.plural)}_list",
                description=f"List the {_words(self.plural)}.",
                parameters=parameters,
                responses=pages_of(self.out),
            )
            def get(self, request):
                return self.paginated(register.listed(request), register.out)

            if self.can_add:

                @extend_schema(
                    operation_id=f"{_key(self.plural)}_add",
                    description=f"Add a {self.word}.",
                    request=self.takes,
                    responses={201: self.out},
                )
                def post(self, request):
                    return Response(register.written(request, None), status=201)

        return RowList

    def _row_view(self):
        register = self
        change = extend_schema(
            operation_id=f"{_key(self.plural)}_change",
            description=f"Change a {self.word}.",
            request=self.takes if self.whole else self.takes(partial=True),
            responses=self.out,
        )

        def changed(view, request, pk):
            return Response(register.written(request, register.found(request, pk)))

        class Row(StudioView):
            write_role = self.write_role

            @extend_schema(
                operation_id=f"{_key(self.plural)}_read",
                description=f"Read one {self.word}.",
                responses=self.out,
            )
            def get(self, request, pk):
                row = register.found(request, pk)
                return Response(register.out(row, context={"request": request}).data)

            if self.whole:
                put = change(changed)
            else:
                patch = change(changed)

            if self.can_archive:

                @extend_schema(
                    operation_id=f"{_key(self.plural)}_put_away",
                    description=f"Put a {self.word} away; what refers to it keeps it.",
                    request=None,
                    responses={204: None},
                )
                def delete(self, request, pk):
                    register.archive(request, pk, timezone.now())
                    return Response(status=204)

        return Row

    def _back_view(self):
        register = self

        class BringBack(StudioView):
            write_role = self.write_role

            @extend_schema(
                operation_id=f"{_key(self.plural)}_bring_back",
                description=f"Bring back a {self.word} that was put away.",
                request=None,
                responses=self.out,
            )
            def post(self, request, pk):
                register.archive(request, pk, None)
                row = register.found(request, pk)
                return Response(register.out(row, context={"request": request}).data)

        return BringBack


def _key(plural):
    return plural.replace("-", "_")


def _words(plural):
    return plural.replace("-", " ")
