"""What the description says once for all: refusals, headers, pages."""

from typing import Any

from studio.periods import NAMES

PROBLEM = {
    "type": "object",
    "description": "A refusal: problem details as RFC 9457 has them.",
    "properties": {
        "type": {"type": "string"},
        "title": {"type": "string"},
        "status": {"type": "integer"},
        "code": {"type": "string", "description": "A word for programs."},
        "detail": {"type": "string", "description": "A sentence that says what to do."},
        "fields": {
            "type": "object",
            "description": "Each field at fault, such as lines.0.count, with its sentences.",
            "additionalProperties": {"type": "array", "items": {"type": "string"}},
        },
    },
    "required": ["type", "title", "status", "code", "detail"],
    "additionalProperties": False,
}
REFUSALS = """A refusal.

- 400: what was sent cannot be read; each field at fault with its sentences.
- 401: no token, or one that no longer works.
- 403: the token's owner may not do this.
- 404: there is nothing at this address in the token's studio.
- 409: the studio's own rules refuse, in words; nothing was changed.
- 412: it was changed since it was read; nothing was changed.
- 413: more was sent than is taken at once.
- 428: the header If-Match is needed, which says what version is changed.
"""
CHANGED_SINCE = """\
Only rows changed at this moment or later, such as 2026-03-01T09:30:00Z.

A row is changed when anything stored of it is written, or of what stands in it as its own: lines,
parts, colours, steps, layers, events, bottles, pieces; or when it is undone or sold. What it tells
of other rows does not count (their names, what is held or on order, costs, prices and sums, what
depends on the day): those rows have lists of their own.

To copy a list, read all of it once. From then on ask with the header Date of the first answer of
the reading before, less ten minutes: a change bears the moment at which it was written, and shows
once all of its act is done. So a row may come again that has not changed.

Of what was deleted or is not in the list any more, such as a set taken apart, nothing is told; what
was archived comes with archived=true, where the list has that. Rows that leave a list while its
pages are read let those behind them move up. So read all of it again now and then, and after the
studio was brought in from an archive.
"""
HEADERS: dict[str, dict[str, Any]] = {
    "IdempotencyKey": {
        "name": "Idempotency-Key",
        "in": "header",
        "description": "Any text of up to 80 characters. A write sent again with it acts once.",
        "schema": {"type": "string", "maxLength": 80},
    },
    "IfMatch": {
        "name": "If-Match",
        "in": "header",
        "description": "The ETag of the version that is changed, or *.",
        "schema": {"type": "string"},
    },
    "IfMatchNeeded": {
        "name": "If-Match",
        "in": "header",
        "required": True,
        "description": "The ETag of the version that is changed, or *.",
        "schema": {"type": "string"},
    },
    "Page": {
        "name": "page",
        "in": "query",
        "description": "Which page, from 1 on.",
        "schema": {"type": "integer", "minimum": 1},
    },
    "PageSize": {
        "name": "page_size",
        "in": "query",
        "description": "How many rows a page has, at most 200.",
        "schema": {"type": "integer", "minimum": 1, "maximum": 200, "default": 50},
    },
    "ChangedSince": {
        "name": "changed_since",
        "in": "query",
        "description": CHANGED_SINCE,
        "schema": {"type": "string", "format": "date-time"},
    },
    "From": {
        "name": "from",
        "in": "query",
        "description": "The first day of a period; without it, from the beginning.",
        "schema": {"type": "string", "format": "date"},
    },
    "To": {
        "name": "to",
        "in": "query",
        "description": "The last day of a period, itself in it; without it, to the end.",
        "schema": {"type": "string", "format": "date"},
    },
    "AsOf": {
        "name": "as_of",
        "in": "query",
        "description": "A past day, such as 2026-03-31, at whose end this is told, on the studio's "
        "own calendar; without it, now.",
        "schema": {"type": "string", "format": "date"},
    },
    "Period": {
        "name": "period",
        "in": "query",
        "description": "A period by its name, on the day it is asked for and by the month that the "
        "studio's year begins in; from and to go before it.",
        "schema": {"type": "string", "enum": list(NAMES)},
    },
}
PAGE = {
    "type": "object",
    "description": "One page of a list; Link in the header says the same of those beside it.",
    "properties": {
        "count": {"type": "integer"},
        "next": {"type": ["string", "null"], "format": "uri"},
        "previous": {"type": ["string", "null"], "format": "uri"},
    },
    "required": ["count", "next", "previous"],
}
