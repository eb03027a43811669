"""Rows that are only ever added: what was wrong is taken back by another row."""

from typing import Any, NoReturn

from django.db import models


class AppendOnlyQuerySet(models.QuerySet):
    def update(self, **values: Any) -> NoReturn:
        raise TypeError("What is on record is taken back by another row, not edited.")

    def delete(self) -> NoReturn:
        raise TypeError("What is on record is taken back by another row, not deleted.")


class AppendOnly(models.Model):
    objects = AppendOnlyQuerySet.as_manager()

    class Meta:
        abstract = True

    def save(self, *args: Any, **kwargs: Any) -> None:
        if not self._state.adding:
            raise TypeError("What is on record is taken back by another row, not edited.")
        super().save(*args, **kwargs)

    def delete(self, *args: Any, **kwargs: Any) -> NoReturn:
        raise TypeError("What is on record is taken back by another row, not deleted.")
