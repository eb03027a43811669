"""The field for a reason, out of sight on a form until one is asked for."""

from typing import Any

from django import forms

from pricing.models.gone_on import MOST_REASON


class ReasonField(forms.CharField):
    """Why an act goes on before its time."""

    def __init__(self) -> None:
        super().__init__(
            label="Reason to go on",
            max_length=MOST_REASON,
            required=False,
            widget=forms.HiddenInput,
            help_text="Wait, or write down why it goes on all the same. It stays on record.",
        )

    def show(self) -> None:
        """Ask for it, as `studio.views.form_page` does where something speaks against the act."""
        self.widget = forms.Textarea(attrs={"rows": 2, "maxlength": MOST_REASON})


def add_reason(form: forms.BaseForm) -> None:
    """Let a form take a reason, as its last field; one that was written is seen again."""
    field: Any = ReasonField()
    form.fields["reason"] = field
    if form.data.get(form.add_prefix("reason")):
        field.show()
