"""Rows that cache the ledger's sums."""

from typing import Any

from studio.models import Tracked


class CachesLedger(Tracked):
    """A row some of whose fields are changed with the ledger only, in its own transaction.

    A form saves the row as it was read, perhaps before stock moved; so `save` of a row that exists
    leaves those fields alone.
    """

    LEDGER_FIELDS: tuple[str, ...] = ()

    class Meta:
        abstract = True

    def save(self, *args: Any, **kwargs: Any) -> None:
        if not self._state.adding and kwargs.get("update_fields") is None:
            kwargs["update_fields"] = [
                field.name
                for field in self._meta.concrete_fields
                if not field.primary_key and field.name not in self.LEDGER_FIELDS
            ]
        super().save(*args, **kwargs)
