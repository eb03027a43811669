"""Rows that know when they were last written, so that a program can ask for what is new only."""

from collections.abc import Iterable
from typing import Any, ClassVar

from django.db import models
from django.utils import timezone

from studio.modelfields import MomentField


class Tracking:
    """Lets a queryset write the moment of tracked rows; its `bulk_update` goes by `update`."""

    model: Any

    def update(self, **values: Any) -> int:
        rows: Any = super()
        return rows.update(**{"changed_at": timezone.now(), **values})

    def bulk_create(self, *args: Any, **options: Any) -> list[Any]:
        rows: Any = super()
        if options.get("update_fields"):  # of rows that are there already
            options["update_fields"] = [*options["update_fields"], "changed_at"]
        return rows.bulk_create(*args, **options)

    def delete(self) -> tuple[int, dict[str, int]]:
        rows: Any = super()
        if name := self.model.part_of:
            whole = self.model._meta.get_field(name).related_model
            whole._default_manager.filter(pk__in=rows.values(name)).update()
        return rows.delete()

    delete.queryset_only = True  # type: ignore[attr-defined]  # as Django marks its own


class TrackedQuerySet(Tracking, models.QuerySet[Any]):
    """The queryset of tracked rows that have none of their own."""


class Tracked(models.Model):
    """A row with the moment of its last change, whichever way it was written.

    What writes past the querysets, such as SQL of one's own, writes the moment too.
    """

    # The row that this one is a part of, where it goes out as one with it: taking the part away is
    # a change of that row, since no part is left to tell it.
    part_of: ClassVar[str] = ""

    changed_at = MomentField(auto_now=True, db_index=True)

    objects = TrackedQuerySet.as_manager()

    class Meta:
        abstract = True

    def save_base(
        self,
        raw: bool = False,
        force_insert: Any = False,
        force_update: bool = False,
        using: str | None = None,
        update_fields: Iterable[str] | None = None,
    ) -> None:
        # Here also come the fields that Django chooses itself, of a row that was read in part.
        if update_fields:
            update_fields = frozenset({*update_fields, "changed_at"})
        super().save_base(raw, force_insert, force_update, using, update_fields)

    def delete(self, *args: Any, **options: Any) -> tuple[int, dict[str, int]]:
        if self.part_of:
            whole: Any = self._meta.get_field(self.part_of).related_model
            whole._default_manager.filter(pk=getattr(self, f"{self.part_of}_id")).update()
        return super().delete(*args, **options)
