"""What an address may ask of a list: filters, words, an order. Whatever else it asks is refused."""

from collections.abc import Iterable
from datetime import date
from typing import Any

from django import forms
from django.db.models import QuerySet
from django.forms.utils import ErrorDict, ErrorList
from django_filters import rest_framework as filters
from drf_spectacular.utils import OpenApiParameter, extend_schema_field
from rest_framework.exceptions import ValidationError
from rest_framework.filters import BaseFilterBackend, OrderingFilter, SearchFilter
from rest_framework.request import Request
from rest_framework.serializers import Serializer
from rest_framework.views import APIView

from studio.api.fields import MomentField
from studio.models import Studio
from studio.past_day import NAME, PastDayError, read_past_day
from studio.period_rows import in_period
from studio.periods import Period, PeriodError, read_period

PAGING = {"page", "page_size"}
MOST_SEARCHED = 200  # each word is a condition, and a database takes only so many


class WordSearch(SearchFilter):
    """Narrows a list to the rows that contain all the words of ``search``."""

    search_param = "search"
    search_description = "Words that all stand in the row: {}."

    def get_search_fields(self, view: APIView, request: Request) -> list[str]:
        return seen_names(view, super().get_search_fields(view, request) or ())

    def get_search_terms(self, request: Request) -> list[str]:
        if len(request.query_params.get(self.search_param, "")) > MOST_SEARCHED:
            refusal = f"Search for {MOST_SEARCHED} characters at most."
            raise ValidationError({self.search_param: [refusal]}, code="too_long")
        return super().get_search_terms(request)

    def get_schema_operation_parameters(self, view: APIView) -> list[dict[str, Any]]:
        names = getattr(view, "search_fields", None) or ()
        return [
            parameter
            | {"description": self.search_description.format(", ".join(map(_plain, names)))}
            for parameter in super().get_schema_operation_parameters(view)
            if names
        ]


class Sort(OrderingFilter):
    """An order by columns that the description names; the key breaks ties."""

    ordering_param = "sort"
    ordering_description = "Columns to sort by, a minus before one to turn it round: {}."

    def get_valid_fields(
        self, queryset: QuerySet[Any], view: APIView, context: Any = None
    ) -> list[tuple[str, str]]:
        return [(name, name) for name in seen_names(view, getattr(view, "sort_fields", ()))]

    def remove_invalid_fields(
        self, queryset: QuerySet[Any], fields: Iterable[str], view: APIView, request: Request
    ) -> list[str]:
        valid = [name for name, _ in self.get_valid_fields(queryset, view)]
        for name in fields:
            if name.removeprefix("-") not in valid:
                choices = ", ".join(valid) or "nothing"
                refusal = f"“{name}” cannot be sorted by. What can: {choices}."
                raise ValidationError({self.ordering_param: [refusal]}, code="unknown")
        return list(fields)

    def filter_queryset(
        self, request: Request, queryset: QuerySet[Any], view: APIView
    ) -> QuerySet[Any]:
        ordering = self.get_ordering(request, queryset, view)
        if ordering and request.query_params.get(self.ordering_param):
            return queryset.order_by(*ordering, "pk")
        return queryset

    def get_schema_operation_parameters(self, view: APIView) -> list[dict[str, Any]]:
        names = getattr(view, "sort_fields", ())
        return [
            parameter | {"description": self.ordering_description.format(", ".join(names))}
            for parameter in super().get_schema_operation_parameters(view)
            if names
        ]


class ChangedSince(BaseFilterBackend):
    """Rows that were changed at a moment or later, by what the viewset says: `Listed.changed_by`.

    Each of those moments is looked up by its own index, across studios: so the database begins
    with the few rows that changed lately, and need not look at every row of the studio.
    """

    param = "changed_since"

    def filter_queryset(
        self, request: Request, queryset: QuerySet[Any], view: Any
    ) -> QuerySet[Any]:
        if (text := request.query_params.get(self.param)) is None:
            return queryset
        try:
            moment = MomentField().run_validation(text)
        except ValidationError as error:
            raise ValidationError({self.param: error.detail}) from None
        rows = view.model._base_manager.order_by()
        own, *others = (
            rows.filter(**{f"{name}__gte": moment}).values("pk") for name in view.changed_by
        )
        return queryset.filter(pk__in=own.union(*others) if others else own)

    def get_schema_operation_parameters(self, view: Any) -> list[dict[str, Any]]:
        # The rest is said once for all lists, see `studio.api.schema`.
        return [{"name": self.param, "in": "query", "schema": {"type": "string"}}]


def seen_names(view: Any, names: Iterable[str]) -> list[str]:
    """Return the columns that whoever asks sees: by the others nothing is found or sorted."""
    sights = getattr(view.out, "sights", {})
    membership = view.request.membership
    return [name for name in names if name not in sights or membership.sees(sights[name])]


# What narrows a list or a report to a period; said once for all, see `studio.api.schema`.
PERIOD = tuple(OpenApiParameter(name) for name in ("from", "to", "period"))


def asked_period(view: Any, default: str = "all") -> Period:
    """Return the period that an address asks for; ``default`` is one of `studio.periods.NAMES`."""
    studio: Studio = view.studio
    asked = {name: view.request.query_params.get(name, "") for name in _names_of(PERIOD)}
    try:
        return read_period(asked, studio.today(), studio.year_begins, default)
    except PeriodError as error:
        raise ValidationError({"period": [str(error)]}, code="period") from None


# What lets a report speak of a past day; said once for all, as above.
AS_OF = (OpenApiParameter(NAME),)


def asked_past_day(view: Any) -> date | None:
    """Return the past day that an address asks for; None for now."""
    try:
        return read_past_day(view.request.query_params.get(NAME, ""), view.studio.today())
    except PastDayError as error:
        raise ValidationError({NAME: [str(error)]}, code="day") from None


class InPeriod(BaseFilterBackend):
    """Rows of a period, by the day or moment that the viewset names: `Listed.dated_by`."""

    def filter_queryset(
        self, request: Request, queryset: QuerySet[Any], view: Any
    ) -> QuerySet[Any]:
        if not view.dated_by:
            return queryset
        return in_period(queryset, view.dated_by, asked_period(view), view.studio)

    def get_schema_operation_parameters(self, view: Any) -> list[dict[str, Any]]:
        names = _names_of(PERIOD) if view.dated_by else ()
        return [{"name": name, "in": "query", "schema": {"type": "string"}} for name in names]


def _plain(name: str) -> str:
    return name.lstrip("^=@$").replace("__", " ")


def names_asked(view: Any) -> set[str]:
    """Return the names that an address of this view may ask by."""
    names = {name for one in view.parameters_asked() for name in _names(one, view)}
    if not view.is_listing():
        return names
    names |= PAGING
    if view.action == "list":
        filterset = getattr(view, "filterset_class", None)
        names |= set(filterset.base_filters if filterset else ())
        names |= {WordSearch.search_param} if getattr(view, "search_fields", ()) else set()
        names |= {Sort.ordering_param} if getattr(view, "sort_fields", ()) else set()
        names |= {ChangedSince.param} if ChangedSince in view.filter_backends else set()
        names |= set(_names_of(PERIOD)) if getattr(view, "dated_by", "") else set()
    return names


def _names_of(parameters: Iterable[OpenApiParameter]) -> list[str]:
    return [one.name for one in parameters]


def _names(parameter: OpenApiParameter | type[Serializer], view: Any) -> set[str]:
    """Return the names of a parameter, or of a serializer whose fields are parameters."""
    if isinstance(parameter, OpenApiParameter):
        return {parameter.name}
    return set(parameter(context={"request": view.request}).fields)


def refuse_unknown(view: Any, request: Request) -> None:
    """Refuse what an address asks by a name that the description does not have."""
    names = names_asked(view)
    odd = sorted(set(request.query_params) - names)
    if odd:
        listed = f"What may: {', '.join(sorted(names))}." if names else "Leave it out."
        raise ValidationError(
            {name: [f"Nothing is asked by “{name}” here. {listed}"] for name in odd}, code="unknown"
        )


class Filters(filters.FilterSet):
    """Filters of a list; what is neither yes nor no is refused as whatever else cannot be read."""

    @property
    def errors(self) -> ErrorDict:
        errors = super().errors
        for name, one in self.filters.items():
            text = self.data.get(name, "")
            is_read = text.lower() in ("", "true", "false")
            if isinstance(one, filters.BooleanFilter) and not is_read:
                errors[name] = ErrorList(["Say true or false."])
        return errors

    def is_valid(self) -> bool:
        return self.is_bound and not self.errors


class KeptFilters(Filters):
    """Filters of rows that can be archived: those are left out unless asked for."""

    archived = filters.BooleanFilter(
        method="with_archived", label="List what was archived too.", required=False
    )

    def with_archived(self, rows: QuerySet, name: str, value: bool) -> QuerySet:
        return rows

    def filter_queryset(self, rows: QuerySet) -> QuerySet:
        rows = super().filter_queryset(rows)
        return rows if self.form.cleaned_data.get("archived") else rows.filter(archived_at=None)


@extend_schema_field({"type": "integer", "minimum": 1})
class IdFilter(filters.NumberFilter):
    """Rows that name another by its id; of one that is not the studio's there are none."""

    field_class = forms.IntegerField

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, min_value=1, max_value=2**63 - 1, **options)
