"""The people of a story: each with a browser, some with a token for the API."""

import json
import re
from urllib.parse import urlencode, urljoin, urlsplit

from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from tests.api.described import faults
from tests.factories.going_on import REASON
from tests.living.judge import read

HOST = "http://testserver"
SIGN_IN = "/sign-in/"
# What stands before each sentence where an act asks why it goes on, and what is answered.
ASKING = "Reason to go on:"

SENT_ON_LOAD = re.compile(r'hx-post="([^"]+)" hx-trigger="load"')


class Answer:
    """What came back: its status, where it was in the end, and the page that it is."""

    def __init__(self, response, address):
        self.response, self.address = response, address
        self.status = response.status_code

    @property
    def page(self):
        return read(self.response)

    @property
    def is_done(self):
        """Whether what was asked was done: no error of a form and no message of a refusal."""
        return self.status < 400 and not self.page.refused

    def json(self):
        is_json = "json" in self.response.headers.get("Content-Type", "")
        return json.loads(self.response.body) if is_json and self.response.body else None


class Browser:
    """A browser as people use it: opens pages, follows redirects, submits forms it was shown.

    Parameters
    ----------
    judge : `tests.living.judge.Judge`
    mark : str or None
        The mark of the studio this person works in; None for somebody who may see what they hold
        a link to.
    """

    def __init__(self, judge, mark=None):
        self.judge, self.mark = judge, mark
        self.account = self.password = None
        self.client = Client(enforce_csrf_checks=True, raise_request_exception=False)

    def open(self, address, partly=False):
        """Open a page, or with ``partly`` have a page fetch it into itself; returns an `Answer`."""
        headers = {"Accept": "text/html"} | ({"HX-Request": "true"} if partly else {})
        return self._ask("GET", address, headers=headers)

    def submit(self, shown, form, changes=(), button=None):
        """Submit a form of a page that was shown, some of its values changed."""
        pairs = form.pairs(changes, button)
        address = urljoin(shown.address, (button and button.action) or form.action or "")
        if form.method == "get":
            sent = urlencode([(name, value) for name, value in pairs if _is_text(value)])
            return self.open(f"{address.split('?')[0]}?{sent}")
        headers = {"Accept": "text/html"}
        if shown.response.headers.get("Referrer-Policy") == "no-referrer":
            headers["Origin"] = "null"  # Fetch Standard, 3.2: serializing a request origin
        else:
            headers |= {"Origin": HOST, "Referer": HOST + shown.address}
        if "multipart" in form.enctype:
            data = {}
            for name, value in pairs:
                data.setdefault(name, []).append(value)
            return self._ask("POST", address, pairs, data=data, headers=headers)
        return self._ask(
            "POST",
            address,
            pairs,
            data=urlencode(pairs),
            content_type="application/x-www-form-urlencoded",
            headers=headers,
        )

    def load(self, shown):
        """Send what a page sends by itself as it loads, as a browser with scripts does."""
        for address in SENT_ON_LOAD.findall(shown.response.body.decode()):
            self._ask("POST", address)

    def fill_in(self, address, changes=(), button=None):
        """Open a page and submit its form; None where the page has no form to submit.

        ``changes`` may be a function that takes the `Form` and returns what to change.
        """
        shown = self.open(address)
        form = shown.page.main_form()
        if shown.status != 200 or form is None:
            return None
        changes = changes(form) if callable(changes) else changes
        if changes is None:
            return None
        answer = self.submit(shown, form, changes, button and form.button(button))
        return self._with_reason(answer, button) or answer

    def _with_reason(self, answer, button):
        """Write down why it goes on, on the form as it came back, where that is asked for."""
        if answer.status != 422 or not any(ASKING in words for words in answer.page.told):
            return None
        form = answer.page.main_form()
        return self.submit(answer, form, {"reason": REASON}, button and form.button(button))

    def press(self, address, action, changes=()):
        """Open a page and press the button of a small form that posts to ``action``."""
        shown = self.open(address)
        form = shown.page.form(action)
        if form is None:
            return None
        answer = self.submit(shown, form, changes, _only(form.buttons))
        return self._with_reason(answer, None) or answer

    def _ask(self, method, address, sent="", hops=0, **how):
        split = urlsplit(address)
        path = split.path + (f"?{split.query}" if split.query else "")
        response = whole(getattr(self.client, method.lower())(path, **how))
        self.judge.look(response, method, path, sent, self.mark)
        if response.status_code in (301, 302, 303) and hops < 6:
            target = urljoin(path, response.headers["Location"])
            return self._ask("GET", target, hops=hops + 1, headers={"Accept": "text/html"})
        answer = Answer(response, path)
        return self._signed_in(answer) if self.account and path.startswith(SIGN_IN) else answer

    def _signed_in(self, shown):
        """Sign in again where a session has run out, and go on to the page that was asked for."""
        form = shown.page.main_form()
        if shown.response.status_code != 200 or form is None:
            return shown
        return self.submit(shown, form, {"username": self.account, "password": self.password})


class Api:
    """A program with a token; writes bear an Idempotency-Key, and some are sent twice."""

    def __init__(self, judge, token, mark, dice):
        self.judge, self.token, self.mark, self.dice = judge, token, mark, dice
        self.client = Client(raise_request_exception=False)
        self._sent = 0

    def get(self, path, **asked):
        return self._ask("get", path, asked)

    def send(self, path, body=None, method="post", twice=None):
        """Send a write, now and then twice under one key; the second answer must be the first."""
        self._sent += 1
        key = f"{self.token[:6]}-{self._sent}"
        answer = self._ask(method, path, body, key)
        if answer.status == 409 and answer.json()["code"] == "reason_needed":
            return self.send(path, {**(body or {}), "reason": REASON}, method, twice)
        if self.dice.random() < 0.15 if twice is None else twice:
            again = self._ask(method, path, body, key)
            first, then = ((one.status, _not_secret(one.json())) for one in (answer, again))
            if answer.status < 300 and first != then:
                self.judge.find(
                    f"sent twice under one key: first {first}, then {then}",
                    method.upper(),
                    answer.address,
                    body,
                )
        return answer

    def _ask(self, method, path, body, key=None):
        address = path if path.startswith("/") else f"/api/v1/{path}"
        headers = {"Authorization": f"Token {self.token}"} if self.token else {}
        if key:
            headers["Idempotency-Key"] = key
        if method in ("patch", "put", "delete"):
            headers["If-Match"] = "*"
        if method == "get":
            response = self.client.get(address, body, headers=headers)
        else:
            text = "" if body is None else json.dumps(body)
            ask = getattr(self.client, method)
            response = ask(address, text, content_type="application/json", headers=headers)
        whole(response)
        self.judge.look(response, method.upper(), address, body, self.mark)
        if response.status_code < 500:
            path = address.partition("?")[0]
            for fault in faults(method.upper(), path, response):
                self.judge.find(f"not as described: {fault}", method.upper(), address, body)
        return Answer(response, address)


def _not_secret(told):
    """Leave out an address that is told once and not kept: a second sending makes another one."""
    if "url" not in (told or ()):
        return told
    return {key: one for key, one in told.items() if key not in ("url", "id")}


def whole(response):
    """Put all of an answer, streamed or not, on it as ``body``; returns it."""
    if response.streaming:
        response.body = b"".join(response.streaming_content)
        response.close()
    else:
        response.body = response.content
    return response


def file_of(name, body, kind="application/octet-stream"):
    """Return a file as a person chooses one."""
    return SimpleUploadedFile(name, body, kind)


def _is_text(value):
    return isinstance(value, str | int)


def _only(buttons):
    return buttons[0] if len(buttons) == 1 else None
