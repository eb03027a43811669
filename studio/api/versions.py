"""What a version of something is called, so that a change can say what it is a change of."""

import hashlib
import json
from typing import Any

from rest_framework.response import Response
from rest_framework.utils.encoders import JSONEncoder


def version(data: Any) -> str:
    """Return an entity tag (RFC 9110, 8.8.3) of what is written out, in whatever order it lies."""
    text = json.dumps(data, cls=JSONEncoder, sort_keys=True)
    return f'"{hashlib.sha256(text.encode()).hexdigest()[:32]}"'


def with_version(response: Response) -> Response:
    """Return an answer with its version, where it tells anything."""
    if response.data is not None:
        response["ETag"] = version(response.data)
    return response
