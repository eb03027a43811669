"""What is written into the log: one line a request, faults, and who was locked out.

Addresses stand in it as patterns, such as ``q/<str:secret>/``, people as their number, and what
faults say without values of rows: whoever reads a log learns no secret and, but for lock-outs, no
name. Each line has the number of its request, which pages of faults show.
"""

import logging
import re
from collections.abc import Callable
from contextvars import ContextVar
from datetime import timedelta
from secrets import token_hex
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.urls import Resolver404, resolve
from django.utils import timezone
from django.utils.functional import LazyObject
from pythonjsonlogger.json import JsonFormatter

NUMBER = "X-Request-ID"
# The first part of an address whose next part opens something to whoever knows it.
SECRET = re.compile(r"/(q|join|calendar|password/new)/[^\s\"'<>]+")
EMAIL = re.compile(r"(?<![\w.+-])[\w.+-]+@[\w-]+(?:\.[\w-]+)*")
# The values of the row at fault, as PostgreSQL tells them.
VALUES = re.compile(r"^(?:DETAIL|CONTEXT):.*\n?", re.MULTILINE)

requests = logging.getLogger("studio.requests")
doors = logging.getLogger("studio.doors")
_number: ContextVar[str] = ContextVar("number", default="")


def number_of_request() -> str:
    """Return the number of the request, or of the job, that is being answered; else nothing."""
    return _number.get()


def without_secrets(text: str) -> str:
    """Return a text without secrets of links, e-mail addresses and values of rows.

    >>> without_secrets("Not Found: /q/Zk3x/tiles/4/ for ada@lanternfish.example")
    'Not Found: /q/… for …'
    """
    text = SECRET.sub(r"/\1/…", VALUES.sub("", text))
    return EMAIL.sub("…", text)


class LogMiddleware:
    """Give each request a number, and write one line when it was answered."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        _number.set(token_hex(8))
        began = timezone.now()
        response = self.get_response(request)
        response[NUMBER] = number_of_request()
        studio = getattr(request, "studio", None)
        facts = {
            "method": request.method,
            "address": _pattern_of(request),
            "status": response.status_code,
            "ms": (timezone.now() - began) // timedelta(milliseconds=1),
            "user": _user_of(request),
            "studio": getattr(studio, "pk", None),
        }
        requests.info("%(method)s %(address)s %(status)s in %(ms)s ms", facts, extra=facts)
        return response


def _user_of(request: HttpRequest) -> int | None:
    """Return the number of who asked, as far as that was looked up; nothing is asked for it."""
    user = vars(request).get("user")
    if isinstance(user, LazyObject):
        user = getattr(request, "_cached_user", None)
    return getattr(user, "pk", None)


def _pattern_of(request: HttpRequest) -> str:
    match = request.resolver_match
    if match is None:
        try:
            match = resolve(request.path_info)
        except Resolver404:
            return "(no page)"
    return f"/{match.route}"


class Clean(logging.Filter):
    """Put the request's number on each record, and take out what does not belong into a log."""

    def filter(self, record: logging.LogRecord) -> bool:
        record.number = number_of_request()
        if not hasattr(record, "name_tried"):
            record.msg, record.args = without_secrets(record.getMessage()), None
        return True


class _Cleanly(logging.Formatter):
    """Tell a fault by where it was and what it says, as clean as the rest."""

    def formatException(self, ei: Any) -> str:
        return without_secrets(super().formatException(ei))


class Plain(_Cleanly):
    """Lines for people."""


class Json(_Cleanly, JsonFormatter):
    """Lines for programs: one JSON object each."""


def tell_lock_out(sender: Any, username: str | None, ip_address: str | None, **more: Any) -> None:
    """Name who was locked out, so that whoever runs the site can tell a guesser from a maker."""
    facts = {"name_tried": username, "from_address": ip_address}
    doors.warning("Locked out: %(name_tried)s from %(from_address)s", facts, extra=facts)


def begin_job(sender: Any, task_result: Any, **more: Any) -> None:
    """Give what a job writes its number."""
    _number.set(f"job-{task_result.id}")


def end_job(sender: Any, task_result: Any, **more: Any) -> None:
    """Have what comes after it written without."""
    _number.set("")
