"""The one judge of every answer: what no page, paper, file or endpoint may ever say or fail to say.

No answer is a server error, no refusal is without a sentence, nobody sees another studio's rows,
and a page's HTML is whole. What is wrong is collected with all that is needed to see it again, and
the story goes on.
"""

import json
import re
import traceback
from dataclasses import dataclass

from tests.living.pages import Page

SENTENCE = re.compile(r"\w+\W+\w+")  # at least two words
CSRF = b"nothing was saved. Go back, reload the page"  # templates/403_csrf.html
MOST_FAULTS = 40  # of one story; it ends there


@dataclass(frozen=True)
class Fault:
    """Something wrong with one answer, and how it came about."""

    seed: int
    act: str  # its number and name
    method: str
    address: str
    sent: str
    what: str
    where: str = ""  # the line of the product that raised

    @property
    def kind(self):
        """What makes two faults the same: the line that raised, or the words without numbers."""
        return self.where or re.sub(r"\d+", "#", f"{self.method} {self.address} {self.what[:80]}")

    def __str__(self):
        return (
            f"seed {self.seed}, act {self.act}: {self.method} {self.address}\n"
            f"  sent: {self.sent or 'nothing'}\n"
            f"  {self.what}\n"
            f"  live it again: python3 run.py test tests/living --seeds {self.seed}"
        )


class TooManyFaults(Exception):
    """So much is wrong that the story is not worth living on."""


class Judge:
    """Looks at each answer of one story.

    Parameters
    ----------
    seed : int
    marks : dict
        For each studio, by its name, the word that stands in the names of its rows and in no
        other studio's.
    """

    def __init__(self, seed):
        self.seed, self.act, self.marks = seed, "0 beginning", {}
        self.faults, self.answers, self._kinds, self.diary = [], 0, set(), []
        self.reached = set()  # routes that answered with a row, whatever they said
        self._whole = set()  # pages whose HTML was looked at, by route and status

    def find(self, what, method="", address="", sent="", where=""):
        """Note a fault; one of a kind is enough."""
        fault = Fault(self.seed, self.act, method, address, _short(sent), what, where)
        if fault.kind not in self._kinds:
            self._kinds.add(fault.kind)
            self.faults.append(fault)
        if len(self.faults) >= MOST_FAULTS:
            raise TooManyFaults

    def look(self, answer, method, address, sent, mark):
        """Judge an answer to somebody whose studio has a mark; None for a stranger."""
        self.answers += 1
        self.diary.append((self.act, method, address, answer.status_code, sent, answer))
        match = getattr(answer, "resolver_match", None)
        if match and answer.status_code not in (404, 405):
            self.reached.add(match.url_name)

        def find(what, where=""):
            self.find(what, method, address, sent, where)

        if getattr(answer, "exc_info", None):
            lines = traceback.format_exception(*answer.exc_info)
            find("".join(lines), _raised_at(answer.exc_info))
            return
        if answer.status_code >= 500:
            find(f"status {answer.status_code}: {answer.body[:300]!r}")
            return
        kind = answer.headers.get("Content-Type", "")
        if answer.status_code >= 400:
            self._refusal(answer, kind, find)
        if "html" in kind:
            self._page(answer, find)
        if mark is not None and ("html" in kind or "json" in kind):
            self._only_own(answer, mark, find)

    def _refusal(self, answer, kind, find):
        """See that a refusal says in words what is the matter."""
        if answer.status_code == 403 and CSRF in answer.body:
            find("a form is refused though it was sent as a browser sends it (CSRF)")
        elif "json" in kind:
            words = list(_words_of(json.loads(answer.body)))
            if not any(SENTENCE.search(one) for one in words):
                find(f"refused ({answer.status_code}) without a sentence: {answer.body[:200]!r}")
        else:
            words = read(answer).told if answer.status_code == 422 else read(answer).text
            if not any(SENTENCE.search(one) for one in words):
                find(f"refused ({answer.status_code}) without a sentence")

    def _page(self, answer, find):
        match = getattr(answer, "resolver_match", None)
        key = match and match.url_name, answer.status_code
        if key in self._whole:
            return
        self._whole.add(key)
        for fault in read(answer).faults[:3]:
            find(f"HTML: {fault}")

    def _only_own(self, answer, mark, find):
        text = answer.body.decode(errors="replace")
        for other in sorted(set(self.marks.values()) - {mark}):
            if other in text:
                find(f"a member of the studio “{mark}” reads “{other}”, of another studio")


def read(answer):
    """Return the page that an answer is, read once."""
    if not hasattr(answer, "page_read"):
        kind = answer.headers.get("Content-Type", "")
        is_text = "html" in kind or kind.startswith("text/plain")
        answer.page_read = Page(answer.body.decode() if is_text else "")
    return answer.page_read


def diary_lines(diary):
    """Write a diary out, a line for each answer, with what was told of a refusal."""
    for act, method, address, status, sent, answer in diary:
        html = "html" in answer.headers.get("Content-Type", "")
        told = read(answer).told if html and read(answer).refused else ""
        if not html and status >= 400:
            told = answer.body[:200]
        yield f"{act}: {method} {address[:90]} {status} {_short(sent)[:300] if told else ''} {told}"


def _words_of(told):
    if isinstance(told, dict):
        told = list(told.values())
    if isinstance(told, list):
        for one in told:
            yield from _words_of(one)
    else:
        yield str(told)


def _raised_at(exc_info):
    """Return the last line of the product's own code on the way to an error."""
    error, last = exc_info[1], ""
    for frame in traceback.extract_tb(exc_info[2]):
        if re.search(r"/(studio|inventory|pricing)/", frame.filename) and ".venv" not in (
            frame.filename
        ):
            last = f"{frame.filename.rsplit('/', 3)[-2:]}:{frame.name}"
    return f"{type(error).__name__} at {last}"


def _short(sent):
    text = sent if isinstance(sent, str) else repr(sent)
    return text if len(text) <= 1500 else f"{text[:1500]}… ({len(text):,} characters)"
