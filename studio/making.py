"""What a form lacks is made in between: nothing typed is lost, and what was made comes back chosen.

Beside a choice of palettes, say, stands a button “New palette”. It sends the form as it is, half
filled in; that is kept (`studio.half_filled`), and the page of a new palette opens. Once it is
saved it leads back to the form as it was, with the palette chosen. It is plain HTML: it works
without JavaScript, and inside itself, so that a palette's page can have a mix made, and that one a
material.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from django import forms
from django.http import HttpResponse, QueryDict
from django.shortcuts import redirect
from django.urls import resolve, reverse

from studio import half_filled
from studio.access import opens
from studio.models import Membership
from studio.requests import StudioRequest

# The name of the buttons.
BUTTON = "make"
NOT_KEPT = ("csrfmiddlewaretoken", "once", BUTTON)
ROW, MOST_ROWS = "*", 200


@dataclass(frozen=True)
class Maker:
    """Where a kind of row is made: its page, by name, and what a button to it says."""

    page: str
    words: str


@dataclass(frozen=True)
class MakeButton:
    """A button that has something made for a field; ``value`` is what it sends."""

    value: str
    words: str


# By the name of the model. Each app offers its own as it is ready.
makers: dict[str, Maker] = {}


def button(
    membership: Membership, model: str, field: str, how: str = "", **asked: str
) -> MakeButton | None:
    """Return the button that has a row made for a field, or None for who may not.

    Parameters
    ----------
    membership : Membership
        Whoever looks at the form
    model : str
        The name of the model, such as ``palette``
    field : str
        The name of the field as it is sent; ``*`` in it is the first row that is empty
    how : str
        What stands before the key in the field, or `half_filled.BY_NAME` for the row's name
    asked : str
        What the new row starts with, by field
    """
    maker = makers.get(model)
    if maker is None or not opens(membership, resolve(reverse(maker.page)).func):
        return None
    return MakeButton(f"{model}:{field}:{how}:{urlencode(asked)}", maker.words)


def offer_making(membership: Membership, form: forms.BaseForm) -> None:
    """Put its button on each field of a form that chooses among rows which have a page to be made.

    A field may say what a new row for it starts with, as ``made_as``; None is for no button.
    """
    for name, field in form.fields.items():
        if not isinstance(field, forms.ModelChoiceField) or field.queryset is None:
            continue
        asked = getattr(field, "made_as", {})
        if asked is not None and not isinstance(field, forms.ModelMultipleChoiceField):
            model = str(field.queryset.model._meta.model_name)
            made: Any = field
            made.making = button(membership, model, form.add_prefix(name), **asked)


def leave(request: StudioRequest, title: str) -> HttpResponse | None:
    """Keep a form as far as it is typed and go on to where what it lacks is made.

    ``title`` is what the way back is called. None where nobody asked for that.
    """
    sent = request.POST if request.method == "POST" else request.GET
    model, field, how, asked = [*sent.get(BUTTON, "").split(":", 3), "", "", ""][:4]
    if model not in makers:
        return None
    typed = {name: texts for name, texts in sent.lists() if name not in NOT_KEPT}
    waits = half_filled.keep(
        request,
        title=title,
        typed=typed,
        field=_empty_row(field, typed),
        how=how,
        asked={name: text for name, text in QueryDict(asked).items() if isinstance(text, str)},
    )
    return redirect(f"{reverse(makers[model].page)}?{waits}")


def _empty_row(field: str, typed: Mapping[str, list[str]]) -> str:
    """Return the name of a field, in the first of its rows that is sent empty; none is no name."""
    if ROW not in field:
        return field
    names = (field.replace(ROW, str(number)) for number in range(MOST_ROWS))
    return next((name for name in names if typed.get(name) == [""]), "")
