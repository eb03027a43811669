"""A form field for prices or fees that fall in steps, in one line of text."""

from typing import Any

from django import forms

from inventory.steps import LONGEST_TEXT, Steps


class StepsField(forms.CharField):
    """Read as `inventory.steps` has it; ``currency`` is set by the form, once it has its studio."""

    currency = ""

    def __init__(self, kind: Steps[Any], **options: Any) -> None:
        super().__init__(required=False, max_length=LONGEST_TEXT, **options)
        self.kind = kind
        self.widget.attrs["autocomplete"] = "off"

    def to_python(self, value: Any) -> Any:
        return super().to_python(self.prepare_value(value))

    def clean(self, value: Any) -> list[dict[str, Any]]:
        return self.kind.read(super().clean(value), self.currency)

    def prepare_value(self, value: Any) -> Any:
        return self.kind.written(value) if isinstance(value, list) else value

    def has_changed(self, initial: Any, data: Any) -> bool:
        return super().has_changed(self.prepare_value(initial) or "", data)
