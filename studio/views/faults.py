"""Faults told in words, to people and programs: no answer from the database, a full disk."""

import errno
import sys

from django.db import InterfaceError, OperationalError, connection
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.csrf import requires_csrf_token

from studio.logs import number_of_request

NO_DATABASE, DISK_FULL, FAULT = 503, 507, 500
SQL_DISK_FULL = "53100"  # of PostgreSQL, Appendix A: disk_full
TEMPLATES = {NO_DATABASE: "503.html", DISK_FULL: "507.html", FAULT: "500.html"}
WAIT = 30  # [s]


@requires_csrf_token
def server_error(request: HttpRequest) -> HttpResponse:
    """Answer what nobody foresaw; it asks neither the database nor who is signed in."""
    status = status_of(sys.exception())
    context = {"number": number_of_request()}
    response = render(None, TEMPLATES[status], context, status=status)
    if status == NO_DATABASE:
        response["Retry-After"] = str(WAIT)
    return response


def status_of(error: BaseException | None) -> int:
    """Return the HTTP status that says what an error comes of."""
    while error is not None:
        if isinstance(error, OSError) and error.errno in (errno.ENOSPC, errno.EDQUOT):
            return DISK_FULL
        if getattr(error, "sqlstate", None) == SQL_DISK_FULL or "disk is full" in str(error):
            return DISK_FULL
        if isinstance(error, OperationalError | InterfaceError) and _is_gone(error):
            return NO_DATABASE
        error = error.__cause__
    return FAULT


def _is_gone(error: OperationalError | InterfaceError) -> bool:
    """Tell a database that cannot be reached from a fault in what was asked of it."""
    if connection.vendor == "sqlite":
        return any(word in str(error) for word in ("unable to open", "is locked", "disk I/O"))
    # Of PostgreSQL: connection exceptions, operator intervention, too many connections; a server
    # that was never reached has no state.
    state = getattr(error.__cause__, "sqlstate", None)
    return state is None or state[:2] in ("08", "57") or state == "53300"
