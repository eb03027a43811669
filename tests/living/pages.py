"""Pages as a browser reads them: forms with what they offer, links, sentences, faults of HTML."""

import re
from dataclasses import dataclass, field
from html.parser import HTMLParser

VOID = frozenset(
    [
        "area",
        "base",
        "br",
        "col",
        "embed",
        "hr",
        "img",
        "input",
        "link",
        "meta",
        "source",
        "track",
        "wbr",
    ]
)
# What a browser closes by itself (HTML Living Standard, 13.1.2.4).
MAY_STAY_OPEN = frozenset(
    ["li", "p", "dt", "dd", "option", "optgroup", "tr", "td", "th", "thead", "tbody", "tfoot"]
)
# Where the product tells what happened, and where it tells that something did not.
TELLING = re.compile(r"errorlist|error-summary|field-error|note-box")
REFUSING = re.compile(r"errorlist|error-summary|field-error")


@dataclass
class Field:
    """One control of a form: what it is called, and what it sends when left as it is."""

    name: str
    type: str
    values: list = field(default_factory=list)
    options: list = field(default_factory=list)  # (value, words) of each choice
    most: int = 0  # characters that a browser lets be typed; 0 for any number

    def offered(self):
        """Return the values that can be chosen, without the empty one.

        Those of a list are put in the order of their words: a page has them in the order of its
        database, and each sorts letters and signs in its own way.
        """
        options = self.options
        if self.type.startswith("select"):
            options = sorted(options, key=lambda one: one[1])
        return [value for value, _ in options if value]


@dataclass
class Button:
    name: str = ""
    value: str = ""
    words: str = ""
    action: str = ""


@dataclass
class Form:
    """A form of a page, with its controls in order and its buttons."""

    action: str
    method: str
    enctype: str
    fields: dict = field(default_factory=dict)  # by name
    buttons: list = field(default_factory=list)

    def __contains__(self, name):
        return name in self.fields

    def button(self, name):
        """Return the button of a name or with some words on it; None when there is none."""
        return next((one for one in self.buttons if name in (one.name, one.words)), None)

    def pairs(self, changes=(), button=None):
        """Return the (name, value) pairs that a browser sends, with some values changed.

        A change of None leaves the control out, as a box that is unticked; a list sends the name
        several times.
        """
        changes, sent = dict(changes), []
        for name, control in self.fields.items():
            values = _several(changes.pop(name, control.values))
            if control.type == "textarea":
                values = [re.sub(r"\r?\n", "\r\n", str(one)) for one in values]
            sent += [(name, one) for one in values]
        for name, values in changes.items():
            sent += [(name, one) for one in _several(values)]
        if button and button.name:
            sent.append((button.name, button.value))
        return sent


def _several(values):
    if values is None:
        return []
    return list(values) if isinstance(values, list | tuple) else [values]


class Page(HTMLParser):
    """One page of HTML, read once from top to bottom.

    Attributes
    ----------
    forms : list of `Form`
    links : list of str
        Addresses of its links, as they are written.
    told : list of str
        What it says of an act: messages, errors of forms.
    refused : bool
        Whether any of that says that something was not done.
    text : list of str
        Every run of words.
    faults : list of str
        What a validator would not let pass: unclosed tags, an id that stands twice.
    """

    def __init__(self, html):
        super().__init__(convert_charrefs=True)
        self.forms, self.links, self.told, self.text, self.faults = [], [], [], [], []
        self.refused = self._messages = False
        self._open, self._ids, self._telling = [], set(), 0
        self._form = self._choice = self._area = self._button = None
        self._option, self._words = None, []
        self.feed(html)
        self.close()
        self.faults += [f"<{tag}> is never closed" for tag, _ in self._open if _is_closed(tag)]

    def form(self, action=None, having=None):
        """Return the first form that goes to an address or has a control; None when none does."""
        for one in self.forms:
            fits = action is None or one.action.split("?")[0] == action
            if fits and (having is None or having in one):
                return one
        return None

    def main_form(self):
        """Return the form that the page is about: the first that posts to its own address."""
        posts = [one for one in self.forms if one.method == "post"]
        own = [one for one in posts if not one.action or one.action.startswith("?")]
        return next(iter(own or [one for one in posts if one.action != "/sign-out/"]), None)

    # What the parser meets

    def handle_starttag(self, tag, attrs):
        self._starts(tag, attrs)
        if tag not in VOID:
            classes = dict(attrs).get("class") or ""
            tells = bool(TELLING.search(classes))
            self._messages |= dict(attrs).get("id") == "messages"
            self.refused |= bool(REFUSING.search(classes))
            self.refused |= self._messages and "is-bad" in classes
            self._messages &= tag != "h1"  # what was told of an act stands above the title
            self._open.append((tag, tells))
            self._telling += tells

    def handle_startendtag(self, tag, attrs):
        self._starts(tag, attrs)

    def handle_endtag(self, tag):
        if tag in VOID:
            return
        self._ends(tag)
        while self._open:
            opened, tells = self._open.pop()
            self._telling -= tells
            if opened == tag:
                return
            if opened not in MAY_STAY_OPEN:
                self.faults.append(f"<{opened}> is not closed before </{tag}>")
        self.faults.append(f"</{tag}> closes nothing")

    def handle_data(self, data):
        if self._option is not None or self._area is not None or self._button is not None:
            self._words.append(data)
        if words := " ".join(data.split()):
            self.text.append(words)
            if self._telling:
                self.told.append(words)

    def _starts(self, tag, attrs):
        given = {name: value or "" for name, value in attrs}
        if "id" in given:
            if given["id"] in self._ids:
                self.faults.append(f"id “{given['id']}” stands twice")
            self._ids.add(given["id"])
        if tag == "a" and given.get("href"):
            self.links.append(given["href"])
        elif tag == "form":
            method = given.get("method", "get").lower()
            self._form = Form(given.get("action", ""), method, given.get("enctype", ""))
            self.forms.append(self._form)
        elif tag == "option" and self._choice is not None:
            self._ends("option")
            self._option, self._words = (given.get("value"), "selected" in given), []
        elif self._form is not None and "disabled" not in given:
            self._control(tag, given)

    def _control(self, tag, given):
        name, kind, fields = given.get("name", ""), given.get("type", ""), self._form.fields
        if tag == "button" and kind in ("", "submit"):
            self._button, self._words = (
                Button(name, given.get("value", ""), action=given.get("formaction", "")),
                [],
            )
            self._form.buttons.append(self._button)
        elif not name:
            return
        elif tag == "select":
            kind = "select-multiple" if "multiple" in given else "select"
            self._choice = fields[name] = Field(name, kind)
        elif tag == "textarea":
            self._area, self._words = Field(name, "textarea", most=_most(given)), []
            fields[name] = self._area
        elif tag == "input" and kind in ("checkbox", "radio"):
            one, value = fields.setdefault(name, Field(name, kind)), given.get("value", "on")
            one.options.append((value, value))
            if "checked" in given:
                one.values = [value] if kind == "radio" else [*one.values, value]
        elif tag == "input" and kind not in ("button", "reset", "submit", "image"):
            one = fields.setdefault(name, Field(name, kind or "text", most=_most(given)))
            if kind != "file":
                one.values.append(given.get("value", ""))

    def _ends(self, tag):
        words = "".join(self._words)
        if tag in ("option", "select") and self._option is not None:
            value, is_chosen = self._option
            words = " ".join(words.split())
            value = words if value is None else value
            self._choice.options.append((value, words))
            if is_chosen:
                self._choice.values.append(value)
            self._option = None
        if tag == "select" and self._choice is not None:
            one, self._choice = self._choice, None
            if not one.values and one.type == "select" and one.options:
                one.values = [one.options[0][0]]
        elif tag == "textarea" and self._area is not None:
            self._area.values, self._area = [words.removeprefix("\n")], None
        elif tag == "button" and self._button is not None:
            self._button.words, self._button = " ".join(words.split()), None
        elif tag == "form":
            self._form = None


def _is_closed(tag):
    return tag not in MAY_STAY_OPEN and tag not in ("html", "head", "body")


def _most(given):
    most = given.get("maxlength", "")
    return int(most) if most.isdecimal() else 0
