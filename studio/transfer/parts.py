"""One table of the archive: which rows, which columns, and how a cell is written and read."""

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime
from decimal import Decimal
from functools import cached_property
from typing import Any, NoReturn, TypeAlias

from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import models
from django.utils import timezone

from studio.errors import StudioError
from studio.models import Studio
from studio.tables import guarded, unguarded


class TransferRefused(StudioError):
    """An archive that is not, or not wholly, one studio; nothing of it was kept."""

    code = "transfer_refused"


Column: TypeAlias = "models.Field[Any, Any]"
# The new keys of rows, by their model and their old ones.
Keys = Mapping[type[models.Model], Mapping[str, int]]


@dataclass(frozen=True)
class ArchivePart:
    """The rows of one model that belong to a studio.

    Parameters
    ----------
    model : type
        A model with a numeric key.
    owner : str
        The way from a row to its studio.
    is_given : bool
        Whether a new studio starts with such rows, which then give way to those of the archive.
    adapt : callable, optional
        Takes a row about to be written and {model: {old key: new key}}, and corrects what names
        other rows inside a text; raises `ValidationError` where it is not whole. The rows that it
        names may not be there yet.
    name : str
        What its table is called, where that is not the model's plural.
    bytes_of : str
        The binary column, if any, whose bytes go beside the table, one file a row; other binary
        columns are not carried.
    ending : str
        How the names of those files end.
    """

    model: type[models.Model]
    owner: str = "studio"
    is_given: bool = False
    adapt: Callable[[Any, Keys], None] | None = None
    name: str = ""
    bytes_of: str = ""
    ending: str = ""

    @cached_property
    def file(self) -> str:
        """Return the name of the table in the archive."""
        return f"{self.place}.csv"

    @cached_property
    def place(self) -> str:
        """Return where its table and files lie, without an ending."""
        name = self.name or str(self.model._meta.verbose_name_plural).replace(" ", "-")
        return f"{self.model._meta.app_label}/{name}"

    def file_of(self, key: int | str) -> str:
        """Return the name of the file with the bytes of one row."""
        return f"{self.place}/{key}{self.ending}"

    def rows(self, studio: Studio) -> models.QuerySet[Any]:
        return self.model._base_manager.filter(**{self.owner: studio}).order_by("pk")

    @property
    def columns(self) -> list[Column]:
        """Return the fields that are written, the key first; the studio goes without saying.

        When a row was changed is told of the database that it is in: there, that it came in.
        """
        return [
            field
            for field in self.model._meta.concrete_fields
            if related(field) is not Studio
            and not isinstance(field, models.BinaryField)
            and field.name != "changed_at"
        ]


def related(field: Column) -> type[models.Model] | None:
    """Return the model whose rows a field names, if it names any."""
    return field.related_model if field.is_relation else None


def is_person(field: Column) -> bool:
    model = related(field)
    return model is not None and model._meta.label == settings.AUTH_USER_MODEL


def lookup(field: Column) -> str:
    """Return how a field's cell is asked for; people are named by their e-mail address."""
    return f"{field.name}__email" if is_person(field) else field.attname


def cell(field: Column, value: object) -> str:
    """Return a value as text that comes back exactly as it is."""
    if value is None:
        return ""
    if isinstance(field, models.JSONField):
        return json.dumps(value, cls=field.encoder, ensure_ascii=False, sort_keys=False)
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat()
    if isinstance(value, Decimal):
        return f"{value:f}"
    if isinstance(value, int | date):
        return str(value)
    return guarded(str(value))


def value_of(field: Column, text: str) -> Any:
    """Return what a cell stands for, checked as the model has it; raises `ValidationError`."""
    is_text = isinstance(field, models.CharField | models.TextField)
    if not text and not (is_text and not field.null):
        value = None
    elif isinstance(field, models.JSONField):
        value = field.to_python(_json(text))
    elif isinstance(field, models.BooleanField):
        value = _yes_or_no(text)
    else:
        value = field.to_python(unguarded(text) if is_text else text)
    if isinstance(value, datetime) and timezone.is_naive(value):
        raise ValidationError("Give the moment with its time zone, as 2026-05-31T12:00:00+00:00.")
    if value is None and not field.null:
        raise ValidationError("This cannot be left empty.")
    return field.clean(value, None)


def _json(text: str) -> Any:
    try:
        return json.loads(text, object_pairs_hook=_each_once, parse_constant=_no_number)
    except (ValueError, RecursionError):
        raise ValidationError("This is no JSON.") from None


def _each_once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    values = dict(pairs)
    if len(values) < len(pairs):
        raise ValueError
    return values


def _no_number(word: str) -> NoReturn:
    """Refuse NaN and the infinities, which JSON does not have."""
    raise ValueError(word)


def _yes_or_no(text: str) -> bool:
    if text not in ("yes", "no"):
        raise ValidationError("Write yes or no.")
    return text == "yes"
