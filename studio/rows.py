"""Simple rows that a studio keeps, such as materials and customers: written down, archived; and
whose they are, since rows of two studios never meet in one record."""

from collections.abc import Collection, Iterable
from datetime import datetime
from typing import Protocol, TypeVar

from django.db import IntegrityError, models, transaction

from studio.errors import StudioError


class NotYours(StudioError):
    """Something named in a request is not the studio's."""

    code = "not_in_this_studio"


class TakenError(StudioError):
    """The studio has a row like this already."""

    code = "taken"


class Archived(Protocol):
    """A row that can be archived."""

    archived_at: datetime | None

    def save(self, *, update_fields: Iterable[str]) -> None: ...


Row = TypeVar("Row", bound=models.Model)
ArchivedRow = TypeVar("ArchivedRow", bound=Archived)


def keep_row(*, row: Row, names: Collection[str] | None = None) -> Row:
    """Write down a row whose fields were set and checked.

    Parameters
    ----------
    row : Model
        A row of one studio, new or changed
    names : collection of str, optional
        The fields that were changed; nothing else of a row that is there is written, so that two
        people do not undo each other. Without them, all

    Raises
    ------
    TakenError
        If somebody else wrote the same name down a moment before.
    """
    if names is not None:
        names = None if row._state.adding else list(names)
    try:
        with transaction.atomic():
            row.save(update_fields=names)
    except IntegrityError:
        raise TakenError(
            "This clashes with something that is there already, perhaps saved a moment ago. "
            "Look at what is there, change what is the same, and save again."
        ) from None
    return row


def put_away(*, row: ArchivedRow, at: datetime | None) -> ArchivedRow:
    """Take a row off the lists at a moment, or bring it back (None); what refers to it keeps it."""
    row.archived_at = at
    row.save(update_fields=["archived_at"])
    return row


def refuse_strangers(studio: models.Model, *things: models.Model | None) -> None:
    """Refuse anything that belongs to another studio; None is nobody's and passes."""
    for thing in things:
        if thing is not None and thing.serializable_value("studio") != studio.pk:
            raise NotYours(f"There is no {thing._meta.verbose_name} like that in this studio.")
