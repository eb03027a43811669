"""The forms of a served page, and what a browser sends when one is submitted as it stands."""

from dataclasses import dataclass, field
from html.parser import HTMLParser
from urllib.parse import urljoin, urlsplit

UNSENT = {"submit", "button", "image", "reset", "file"}
NO_CONTENT = {"area", "br", "col", "hr", "img", "input", "link", "meta", "source", "wbr"}


@dataclass
class Form:
    """One form: where it goes and the (name, value) pairs that a browser sends.

    ``fields`` stand in it untouched; ``buttons`` are the (name, value, action) of each button that
    submits it, of which a browser sends the one that is pressed. ``files`` names its file inputs.
    """

    action: str
    method: str
    id: str = ""
    label: str = ""
    fields: list[tuple[str, str]] = field(default_factory=list)
    buttons: list[tuple[str, str, str]] = field(default_factory=list)
    files: list[str] = field(default_factory=list)
    required: set[str] = field(default_factory=set)

    def data(self, button=None):
        """Return {name: values} as sent, with the button that is pressed, if it says anything."""
        sent = {}
        for name, value in self.fields + ([button[:2]] if button and button[0] else []):
            sent.setdefault(name, []).append(value)
        return sent

    @property
    def offered(self):
        """The names whose value the page filled in."""
        return {name for name, value in self.fields if value.strip()}

    @property
    def left_blank(self):
        """The names that the page asks a person to fill in: required, and empty or not chosen."""
        return (self.required | set(self.files)) - self.offered


class _Reader(HTMLParser):
    def __init__(self, address):
        super().__init__()
        self.address = address
        self.forms, self.links, self.loose = [], [], []
        self.form = self.area = self.select = None
        self.disabled = []  # of each fieldset around here
        self.open = []

    def handle_starttag(self, tag, pairs):
        told = {name: value or "" for name, value in pairs}
        if tag == "form":
            action = urljoin(self.address, told.get("action") or self.address)
            self.form = Form(action, told.get("method", "get").lower(), told.get("id", ""))
            self.forms.append(self.form)
        elif tag == "a" and "href" in told:
            self.links.append(urljoin(self.address, told["href"]))
        elif tag == "fieldset":
            self.disabled.append("disabled" in told)
        elif tag == "input":
            self._input(told)
        elif tag == "button":
            if told.get("type", "submit") == "submit" and self._sends(told):
                action = urljoin(self.address, told["formaction"]) if "formaction" in told else ""
                self._form_of(told).buttons.append(
                    (told.get("name", ""), told.get("value", ""), action)
                )
        elif tag == "textarea":
            self.area = (told, [])
        elif tag == "select":
            self.select = (told, [])
        elif tag == "option" and self.select:
            self.select[1].append([told, ""])

    def handle_endtag(self, tag):
        if tag == "form":
            self.form = None
        elif tag == "fieldset":
            self.disabled.pop()
        elif tag == "textarea":
            told, text = self.area
            self.area = None
            # A browser leaves out the first line break and sends the others as two characters.
            value = "".join(text).removeprefix("\n").replace("\r\n", "\n").replace("\n", "\r\n")
            self._keep(told, value)
        elif tag == "select":
            self._selected()

    def handle_data(self, text):
        if self.area:
            self.area[1].append(text)
        elif self.select and self.select[1]:
            self.select[1][-1][1] += text

    def _input(self, told):
        kind = told.get("type", "text").lower()
        if kind in ("checkbox", "radio"):
            if "checked" in told:
                self._keep(told, told.get("value", "on"))
            elif "required" in told and self._sends(told):
                self._form_of(told).required.add(told.get("name", ""))
        elif kind == "file" and self._sends(told):
            self._form_of(told).files.append(told.get("name", ""))
        elif kind not in UNSENT:
            self._keep(told, told.get("value", ""))

    def _selected(self):
        told, options = self.select
        self.select = None
        chosen = [one for one in options if "selected" in one[0]]
        if not chosen and "multiple" not in told:
            chosen = [one for one in options if "disabled" not in one[0]][:1]
        for option, text in chosen:
            self._keep(told, option.get("value", " ".join(text.split())))

    def _sends(self, told):
        return "disabled" not in told and not any(self.disabled) and self._form_of(told) is not None

    def _form_of(self, told):
        if "form" in told:
            return next((one for one in self.forms if one.id == told["form"]), None)
        return self.form

    def _keep(self, told, value):
        if told.get("name") and self._sends(told):
            form = self._form_of(told)
            form.fields.append((told["name"], value))
            if "required" in told:
                form.required.add(told["name"])


def read_page(html, address):
    """Return the forms of a page and the addresses it links to, read at ``address``."""
    reader = _Reader(address)
    reader.feed(html)
    reader.close()
    return reader.forms, [link for link in reader.links if not urlsplit(link).netloc]
