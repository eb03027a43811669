"""What a person says of their own sheet: the role of each column, answers for all of it."""

import base64
import binascii
from collections import Counter
from collections.abc import Iterator
from typing import Any

from django import forms
from django.forms import BoundField
from django.http import QueryDict

from inventory.stock.imports.own import SheetReady
from inventory.stock.sheets import ROLES, SKIPPED, Told
from studio.tables import TableError

COLUMN, ANSWER = "column_", "answer_"
CHOICES = [(SKIPPED, "Not read"), *ROLES.items()]
LONGEST_ROW = 100_000
SAMPLES = 3


class OwnSheetForm(forms.Form):
    """A sheet that was shown: its bytes, its name, and how it is to be understood.

    The page carries the bytes, so that nothing waits on one machine for a second request.
    """

    kept = forms.CharField(max_length=4_000_000, widget=forms.HiddenInput)
    name = forms.CharField(max_length=120, required=False, widget=forms.HiddenInput)
    shown = forms.CharField(max_length=64, widget=forms.HiddenInput)
    headings_were = forms.IntegerField(min_value=0, max_value=LONGEST_ROW, widget=forms.HiddenInput)
    heading_row = forms.IntegerField(
        label="Row of the headings",
        min_value=0,
        max_value=LONGEST_ROW,
        help_text="0 where there are none.",
    )

    def __init__(self, ready: SheetReady, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        layout = ready.reading.layout
        self.fields["heading_row"].widget.attrs["inputmode"] = "numeric"
        self.initial = {
            **self.initial,
            "heading_row": layout.heading_row,
            "headings_were": layout.heading_row,
        }
        self.samples: dict[str, list[str]] = {}
        for question in ready.plan.questions:
            self.fields[ANSWER + question.key] = forms.ChoiceField(
                label=question.sentence,
                choices=question.options,
                required=False,
                widget=forms.RadioSelect,
            )
            self.initial[ANSWER + question.key] = question.answer
        for place in range(width_of(ready)):
            name = f"{COLUMN}{place}"
            self.fields[name] = forms.ChoiceField(label=heading_of(ready, place), choices=CHOICES)
            self.initial[name] = layout.columns.get(place, SKIPPED)
            cells = (thing.line.cell(place) for thing in layout.things)
            self.samples[name] = [text for text in cells if text][:SAMPLES]

    def clean(self) -> dict[str, Any]:
        data: dict[str, Any] = super().clean() or {}
        roles = Counter(value for name, value in data.items() if name.startswith(COLUMN))
        for role, count in roles.items():
            if role != SKIPPED and count > 1:
                self.add_error(None, f"“{ROLES[role]}” is chosen for {count} columns. Keep one.")
        return data

    @property
    def questions(self) -> list[BoundField]:
        return [self[name] for name in self.fields if name.startswith(ANSWER)]

    @property
    def columns(self) -> Iterator[tuple[BoundField, list[str]]]:
        """The choice of each column, with what stands first in it."""
        for name, samples in self.samples.items():
            yield self[name], samples


def width_of(ready: SheetReady) -> int:
    """Return how many columns a sheet has."""
    rows = (len(thing.line.cells) for thing in ready.reading.layout.things)
    return max(len(ready.reading.layout.headings), *rows, 0)


def heading_of(ready: SheetReady, place: int) -> str:
    """Return what a column is called: by its heading, or by its place."""
    headings = ready.reading.layout.headings
    own = headings[place] if place < len(headings) else ""
    return " ".join(own.split()) or f"Column {place + 1}"


def told_in(data: QueryDict) -> Told:
    """Return what a page says of its sheet; whatever is no answer is passed over.

    Where another row is said to hold the headings, the columns are guessed anew.
    """
    rows = {name: data.get(name, "") for name in ("heading_row", "headings_were")}
    row = int(rows["heading_row"]) if _is_row(rows["heading_row"]) else None
    columns = {
        int(name.removeprefix(COLUMN)): str(value)
        for name, value in data.items()
        if name.startswith(COLUMN) and _is_row(name.removeprefix(COLUMN)) and _is_role(value)
    }
    is_other = rows["heading_row"] != rows["headings_were"]
    answers = {
        name.removeprefix(ANSWER): str(value)
        for name, value in data.items()
        if name.startswith(ANSWER) and value
    }
    return Told(None if is_other or not columns else columns, row, answers)


def body_in(data: QueryDict) -> bytes:
    """Return the file that a page carries."""
    try:
        return base64.urlsafe_b64decode(data.get("kept", ""))
    except (binascii.Error, ValueError) as error:
        raise TableError("The file did not come through whole. Choose it again.") from error


def _is_row(text: str) -> bool:
    return text.isascii() and text.isdigit() and len(text) <= 6


def _is_role(value: object) -> bool:
    return value in ROLES or value == SKIPPED
