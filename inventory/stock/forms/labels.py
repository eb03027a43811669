"""Which blank labels are in the printer, and where to begin."""

from typing import Any

from django import forms
from django.http import QueryDict

from inventory.stock.labelling import STOCKS, LabelError, own_stock, usual_stock
from inventory.supplies.forms.materials import unit
from studio.models import Studio
from studio.pdf import paper

OWN = "own"
MEASURES = {  # name: (label, needed, whole number)
    "page_width": ("Page, width", True, False),
    "page_height": ("Page, height", True, False),
    "columns": ("Labels across", True, True),
    "rows": ("Labels down", True, True),
    "width": ("Label, width", True, False),
    "height": ("Label, height", True, False),
    "left": ("Left margin", False, False),
    "top": ("Top margin", False, False),
    "gap_x": ("Gap between columns", False, False),
    "gap_y": ("Gap between rows", False, False),
}


class LabelsForm(forms.Form):
    """The blank labels, the first free one, and how many of each."""

    def __init__(
        self, data: QueryDict | None = None, *args: Any, studio: Studio, **kwargs: Any
    ) -> None:
        self.usual = usual_stock(paper(studio.locale)).key
        super().__init__(self._filled(data), *args, **kwargs)
        names = [(key, stock.name) for key, stock in STOCKS.items()]
        self.fields["stock"] = forms.ChoiceField(
            label="Blank labels",
            choices=[*names, (OWN, "My own size, as measured below")],
            help_text="Print at 100 %, not “fit to page”.",
        )
        self.fields["start"] = forms.IntegerField(
            label="Start at label",
            min_value=1,
            help_text="The first free one of a sheet used in part, counted along the rows.",
        )
        self.fields["copies"] = forms.IntegerField(
            label="Copies of each", min_value=1, max_value=20
        )
        for name, (label, _, is_whole) in MEASURES.items():
            kind = forms.IntegerField if is_whole else forms.FloatField
            field = kind(label=label, min_value=0, required=False)
            if not is_whole:
                unit(field, "mm")
            self.fields[name] = field

    def _filled(self, data: QueryDict | None) -> dict[str, Any]:
        """Return what was asked, with the usual where nothing was said."""
        usual = {"stock": self.usual, "start": "1", "copies": "1"}
        values = {name: data[name] for name in data} if data else {}
        return usual | {name: value for name, value in values.items() if value != ""}

    def clean(self) -> dict[str, Any]:
        super().clean()
        data = self.cleaned_data
        if self.errors:
            return data
        if data["stock"] != OWN:
            data["blank"] = STOCKS[data["stock"]]
            return data
        needed = {name: label for name, (label, is_needed, _) in MEASURES.items() if is_needed}
        missing = [label for name, label in needed.items() if not data[name]]
        if missing:
            raise forms.ValidationError(f"Measure your own labels first: {', '.join(missing)}.")
        try:
            data["blank"] = own_stock(**{name: data[name] or 0 for name in MEASURES})
        except LabelError as error:
            raise forms.ValidationError(str(error)) from error
        return data
