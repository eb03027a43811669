"""The WSGI application, for gunicorn and waitress."""

import os
import re
from collections.abc import Callable, Iterable
from typing import Any

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "studio.settings")
django = get_wsgi_application()
CHARSET = re.compile(r";[ \t]*charset[^;]*", re.IGNORECASE)


def application(environ: dict[str, Any], start_response: Callable[..., Any]) -> Iterable[bytes]:
    """Answer a request, whose texts are UTF-8 whatever it calls them.

    Any name that Python has a codec for would be tried, those that are none of text too.
    """
    environ["CONTENT_TYPE"] = CHARSET.sub("", environ.get("CONTENT_TYPE", ""))
    return django(environ, start_response)
