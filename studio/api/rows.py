"""Rows of a studio in what is sent: only its own can be named, and only once each."""

from collections.abc import Collection, Mapping, Sequence
from copy import copy
from typing import Any, ClassVar

from django.core.exceptions import ObjectDoesNotExist
from django.db import models
from django.db.models import UniqueConstraint
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers
from rest_framework.exceptions import ErrorDetail
from rest_framework.serializers import BaseSerializer

from studio.api.fields import MomentField
from studio.models import Studio
from studio.requests import ApiRequest
from studio.rows import TakenError, keep_row
from studio.sight import Sight

UNKNOWN = "There is no field of this name here. The description lists what there is."
TAKEN = "There is one like this already. Give another."


class OwnRow(serializers.RelatedField):
    """A row named by its key; another studio's reads as one that does not exist.

    ``through`` is the way from the row to its studio. What is archived cannot be chosen anew.
    """

    by = "pk"
    default_error_messages = {
        "does_not_exist": "There is no {word} like that in this studio: “{value}” does not exist.",
        "unreadable": "Name a {word} by its {by}.",
    }
    called = "id"

    def __init__(self, *, by: str | None = None, through: str = "studio", **options: Any) -> None:
        self.by, self.through = by or self.by, through
        super().__init__(**options)

    def to_internal_value(self, value: Any) -> models.Model:
        queryset = self.get_queryset()
        assert queryset is not None  # as only a field that is read alone may be without
        word = queryset.model._meta.verbose_name
        if isinstance(value, bool) or not isinstance(value, int | str) or "\0" in str(value):
            self.fail("unreadable", word=word, by=self.called)
        rows = queryset.filter(**{self.through: self.context["request"].studio})
        try:
            row = rows.get(**{self.by: value})
        except ValueError:
            self.fail("unreadable", word=word, by=self.called)
        except ObjectDoesNotExist:
            self.fail("does_not_exist", word=word, value=value)
        if getattr(row, "archived_at", None) and not self._is_chosen(row):
            self.fail("does_not_exist", word=word, value=value)
        return row

    def to_representation(self, row: Any) -> Any:
        return getattr(row, self.by)

    def _is_chosen(self, row: models.Model) -> bool:
        instance = getattr(self.parent, "instance", None)
        return getattr(instance, f"{self.source}_id", None) == row.pk


@extend_schema_field(int)
class OwnId(OwnRow):
    """A row named by its id."""

    def use_pk_only_optimization(self) -> bool:
        return True

    def to_representation(self, row: Any) -> Any:
        return row.pk


@extend_schema_field(int)
class OwnNumber(OwnRow):
    """A row named by the number a studio gave it."""

    by = called = "number"


@extend_schema_field(str)
class OwnSlug(OwnRow):
    """A row named by its slug."""

    by = called = "slug"


@extend_schema_field(str)
class OwnCode(OwnRow):
    """A row named by its code, in capitals or not."""

    by, called = "code__iexact", "code"


class Sighted(serializers.Serializer):
    """Fields of which some are of a kind that not every member sees: ``sights`` is {name: kind}.

    For those who do not see them there are no such fields, neither to read nor to write.
    """

    sights: ClassVar[Mapping[str, Sight]] = {}

    def get_fields(self) -> dict[str, serializers.Field]:
        fields = super().get_fields()
        membership = getattr(self.context.get("request"), "membership", None)
        if membership is None:  # described, with nobody asking
            return fields
        for name, sight in self.sights.items():
            if not membership.sees(sight):
                del fields[name]
        return fields


class RowOut(Sighted, serializers.ModelSerializer):
    """A row as it is written out; its moments in UTC."""

    serializer_field_mapping = {
        **serializers.ModelSerializer.serializer_field_mapping,
        models.DateTimeField: MomentField,
    }


def name_of(model: type[models.Model], *more: str) -> type[RowOut]:
    """Return the serializer of a row as others refer to it: its id, its name, and ``more``."""
    named = ("id", "name", *more)
    meta = type("Meta", (), {"model": model, "fields": named, "read_only_fields": named})
    return type(f"{model.__name__}Name", (RowOut,), {"Meta": meta, "__doc__": None})


class RowIn(Sighted, serializers.ModelSerializer):
    """What may be written of a row that belongs to a studio."""

    serializer_related_field = OwnId

    @property
    def studio(self) -> Studio:
        return self.context["request"].studio

    def validate(self, data: dict[str, Any]) -> dict[str, Any]:
        row = copy(self.instance) if self.instance else self._new()
        fields = {field.name for field in row._meta.concrete_fields}
        for name in fields & data.keys():
            setattr(row, name, data[name])
        for constraint in row._meta.constraints:
            if isinstance(constraint, UniqueConstraint) and constraint.condition is None:
                _refuse_second(row, constraint.fields)
        return data

    def create(self, data: Mapping[str, Any]) -> models.Model:
        return self._written(self._new(), data)

    def update(self, row: models.Model, data: Mapping[str, Any]) -> models.Model:
        return self._written(row, data)

    def _new(self) -> models.Model:
        model: type[models.Model] = self.Meta.model
        return model(studio=self.studio)

    def _written(self, row: models.Model, data: Mapping[str, Any]) -> models.Model:
        for name, value in data.items():
            setattr(row, name, value)
        try:
            return self.keep(row, data.keys())
        except TakenError:
            raise serializers.ValidationError(TAKEN, code="unique") from None

    def keep(self, row: Any, names: Collection[str]) -> Any:
        """Write a row down whose fields of these names were set; a service of its own may do so."""
        return keep_row(row=row, names=names)


class WholeIn(Sighted):
    """What stands in a list of what is sent: always whole, also where the rest is sent in part."""

    def run_validation(self, data: Any = serializers.empty) -> Any:
        if getattr(self.root, "partial", False):
            return type(self)(context=self.context).run_validation(data)
        return super().run_validation(data)


def _refuse_second(row: models.Model, names: Sequence[str]) -> None:
    same = type(row)._default_manager.filter(**{name: getattr(row, name) for name in names})
    if same.exclude(pk=row.pk).exists():
        field = "name" if "name" in names else names[-1]
        raise serializers.ValidationError({field: [TAKEN]}, code="unique")


def checked_serializer(
    request: ApiRequest,
    serializer_class: type[BaseSerializer],
    row: Any = None,
    *,
    partial: bool = False,
    acted_on: Any = None,
) -> BaseSerializer:
    """Return the serializer of what was sent, checked; bad input is a 400 that names the fields.

    ``acted_on`` is the row that an act is done to, where the address names one.
    """
    context = {"request": request, "acted_on": acted_on}
    sent = serializer_class(row, data=request.data, partial=partial, context=context)
    if odd := _unknown(sent, request.data):
        raise serializers.ValidationError(odd)
    sent.is_valid(raise_exception=True)
    return sent


def _unknown(serializer: serializers.Field | None, data: Any) -> dict[Any, Any]:
    """Return what was sent by a name that nothing is taken by, each with a sentence."""
    if isinstance(serializer, serializers.ListSerializer):
        rows = data if isinstance(data, list) else []
        problems = [_unknown(serializer.child, row) for row in rows]
        return {place: one for place, one in enumerate(problems) if one}
    if not isinstance(serializer, serializers.Serializer) or not isinstance(data, Mapping):
        return {}
    fields = {name: one for name, one in serializer.fields.items() if not one.read_only}
    refusal = [ErrorDetail(UNKNOWN, "unknown")]
    odd = {name: refusal for name in data if name not in fields}
    inner = {name: _unknown(one, data[name]) for name, one in fields.items() if name in data}
    return odd | {name: one for name, one in inner.items() if one}
