"""The field for a reason, out of sight on a form until one is asked for."""

from collections.abc import Collection, Iterable
from decimal import Decimal
from typing import Any

from django import forms

from pricing.errors import hint_of
from pricing.models.fields import LEAST_ROOM_C, MOST_ROOM_C
from pricing.models.gone_on import MOST_REASON
from pricing.readiness.asking import Concern, offered, what_helps
from pricing.readiness.rooms import last_room
from studio.formfields import temperature_field
from studio.models import Studio


class ReasonField(forms.CharField):
    """Why an act goes on before its time."""

    def __init__(self) -> None:
        super().__init__(
            label="Reason to go on",
            max_length=MOST_REASON,
            required=False,
            widget=forms.HiddenInput,
            help_text="Why it goes on all the same. It stays on record.",
        )

    def show(self) -> None:
        """Ask for it, as `studio.views.form_page` does where something speaks against the act."""
        self.uncover()
        self.required = True  # so that it is not called optional

    def uncover(self) -> None:
        """Let it be seen, with what was written into it, before anybody asks."""
        self.widget = forms.Textarea(attrs={"rows": 2, "maxlength": MOST_REASON})


def room_fields(studio: Studio) -> dict[str, forms.Field]:
    """Return the fields of the room, filled in as it was noted last."""
    last = last_room(studio)
    humidity = forms.DecimalField(
        label="Humidity",
        min_value=Decimal(0),
        max_value=Decimal(100),
        max_digits=4,
        decimal_places=1,
        initial=last.humidity_percent,
        required=False,
    )
    humidity.widget.unit = "%"
    room = temperature_field(
        studio,
        label="Room",
        least=LEAST_ROOM_C,
        most=MOST_ROOM_C,
        initial=last.room_c,
        required=False,
    )
    return {"room_c": room, "humidity_percent": humidity}


class ReasonForm(forms.Form):
    """Nothing but the reason, for an act that needs no more."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        add_reason(self)

    def ask_for(self, concerns: Collection[Concern], before: Iterable[Any]) -> None:
        """Ask for the reason before the act, where something speaks against it."""
        if not concerns:
            return
        text, field = offered(concerns, before), self.fields["reason"]
        field.help_text = hint_of(what_helps(concerns), text)
        self.initial["reason"] = text
        assert isinstance(field, ReasonField)
        field.show()


def add_reason(form: forms.BaseForm) -> None:
    """Let a form take a reason, as its last field; one that was written is seen again."""
    field: Any = ReasonField()
    form.fields["reason"] = field
    if form.data.get(form.add_prefix("reason")):
        field.uncover()
