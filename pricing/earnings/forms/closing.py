"""Which month to close, and why one is opened again."""

from collections.abc import Mapping
from datetime import date
from typing import Any

from django import forms

from studio.closing import months_to_close
from studio.models import Studio


class ClosingForm(forms.Form):
    """One of the months that are over and not closed."""

    up_to = forms.TypedChoiceField(
        label="Close all up to the end of", coerce=date.fromisoformat, choices=()
    )

    def __init__(self, data: Mapping[str, Any] | None = None, *, studio: Studio) -> None:
        self.months = months_to_close(studio)
        # The next one; of a studio that has closed none, the last.
        first = self.months[0 if studio.closed_up_to else -1] if self.months else None
        super().__init__(data, initial={"up_to": first and first.isoformat()})
        up_to = self.fields["up_to"]
        assert isinstance(up_to, forms.TypedChoiceField)
        up_to.choices = [(day.isoformat(), f"{day:%B %Y}") for day in self.months]
