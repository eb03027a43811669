"""Forms for pictures: choose them, say what they show."""

from typing import Any

from django import forms

from pricing.bench.pictures import MOST, Thing, kinds_of
from studio.formfields import CHOOSE_AGAIN, PicturesField


class PictureForm(forms.Form):
    """What a picture of a commission, a pour or a set shows."""

    def __init__(self, *args: Any, thing: Thing, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        kinds = kinds_of(thing)
        self.fields["kind"] = forms.ChoiceField(
            label="Shows", choices=[(kind, kind.label) for kind in kinds], initial=kinds[0]
        )
        self.fields["caption"] = forms.CharField(
            max_length=200, required=False, help_text="What to look at, such as “this blue”."
        )


class NewPicturesForm(PictureForm):
    """One or several pictures that show the same."""

    field_order = ("pictures", "kind", "caption")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["pictures"] = PicturesField(most=MOST, label="Pictures")
        if len(self.files) and len(self.files.getlist("pictures")) > 1:
            self.fields["pictures"].help_text = CHOOSE_AGAIN
        self.order_fields(self.field_order)
