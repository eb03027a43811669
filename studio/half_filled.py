"""Forms that somebody left half filled in, to make what they lack: kept, and shown as they were.

They are kept in the session, the latest few. A page that somebody comes back to gets what was typed
into it as if it were sent, though nothing is: its form is bound, and says nothing yet of what is
wrong.
"""

import secrets
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from django import forms
from django.db.models import Model
from django.forms.utils import ErrorDict, ErrorList
from django.http import HttpRequest, QueryDict

# In addresses: which form waits for what a page makes, and which one is here again.
WAITING, KEPT = "for", "kept"
SESSION_KEY = "half_filled"
MOST_KEPT = 10
# Instead of a row's key a field may take its name, as a text that is typed does.
BY_NAME = "name"


@dataclass(frozen=True)
class HalfFilled:
    """A form that waits: the way back to it, what it is called, what the new row starts with."""

    url: str
    title: str
    asked: dict[str, str]


def keep(
    request: HttpRequest,
    *,
    title: str,
    typed: Mapping[str, list[str]],
    field: str,
    how: str,
    asked: Mapping[str, str],
) -> str:
    """Keep a form as far as it is typed; returns what the page that makes has in its address.

    ``field`` takes what will be made: by its key, with ``how`` before it, or `BY_NAME`. ``asked``
    is what the new row starts with, by field.
    """
    query = request.GET.copy()
    query.pop(KEPT, None)
    is_sent = request.method == "POST"
    kept = {
        "path": request.path,
        "query": query.urlencode() if is_sent else "",
        "is_sent": is_sent,
        "title": title,
        "typed": dict(typed),
        "field": field,
        "how": how,
        "asked": dict(asked),
    }
    token = secrets.token_urlsafe(9)
    every = {**request.session.get(SESSION_KEY, {}), token: kept}
    request.session[SESSION_KEY] = dict(list(every.items())[-MOST_KEPT:])
    return urlencode({WAITING: token})


def waiting(request: HttpRequest) -> HalfFilled | None:
    """Return the form that waits for what this page makes, or None."""
    token = request.GET.get(WAITING, "")
    kept = request.session.get(SESSION_KEY, {}).get(token)
    return HalfFilled(_way_back(token, kept), kept["title"], kept["asked"]) if kept else None


def come_back(request: HttpRequest, made: object) -> str:
    """Return the way back to the form that waits, with what was made chosen; empty without one."""
    token = request.GET.get(WAITING, "")
    every = request.session.get(SESSION_KEY, {})
    kept = every.get(token)
    if not kept or not isinstance(made, Model):
        return ""
    text = str(made) if kept["how"] == BY_NAME else f"{kept['how']}{made.pk}"
    if kept["field"]:
        kept["typed"][kept["field"]] = [text]
    request.session[SESSION_KEY] = every
    return _way_back(token, kept)


def restore(request: HttpRequest) -> None:
    """Give a page that comes back what was typed into it, as if it were sent, though it is not."""
    if request.method != "GET" or KEPT not in request.GET:
        return
    kept = request.session.get(SESSION_KEY, {}).get(request.GET[KEPT])
    if kept and kept["is_sent"] and kept["path"] == request.path:
        request.POST = _query(kept["typed"])  # type: ignore[assignment]  # made immutable there


def hush(*things: object) -> None:
    """Say nothing yet of what is wrong with the forms and rows of forms among some things."""
    for one in things:
        if isinstance(one, forms.BaseFormSet):
            vars(one).update(_errors=[{} for _ in one.forms], _non_form_errors=ErrorList())
            hush(*one.forms)
        elif isinstance(one, forms.BaseForm):
            vars(one).update(_errors=ErrorDict(), cleaned_data={})


def _way_back(token: str, kept: dict[str, Any]) -> str:
    if not kept["is_sent"]:  # all of it stands in its address
        return f"{kept['path']}?{_query(kept['typed']).urlencode()}"
    query = QueryDict(kept["query"], mutable=True)
    query[KEPT] = token
    return f"{kept['path']}?{query.urlencode()}"


def _query(typed: dict[str, list[str]]) -> QueryDict:
    query = QueryDict(mutable=True)
    for name, texts in typed.items():
        query.setlist(name, texts)
    query._mutable = False
    return query
