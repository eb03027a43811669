"""Bodies as they come in: what is no text is taken out before any endpoint looks at them."""

from collections.abc import Mapping
from typing import IO, Any

from rest_framework.exceptions import ParseError
from rest_framework.parsers import DataAndFiles, JSONParser, MultiPartParser

from studio.door import cleaned
from studio.text import clean_json, one_line

# The deepest body that any endpoint takes has 4.
MOST_LEVELS = 20
TOO_DEEP = f"Nest lists and objects at most {MOST_LEVELS} deep."


class CleanJSONParser(JSONParser):
    """JSON in UTF-8, nested at most `MOST_LEVELS` deep."""

    def parse(
        self,
        stream: IO[bytes],
        media_type: str | None = None,
        parser_context: Mapping[str, Any] | None = None,
    ) -> Any:
        try:
            sent = super().parse(stream, media_type, parser_context)
            if _is_deeper(sent, MOST_LEVELS):
                raise ParseError(TOO_DEEP)
            return clean_json(sent)
        except ValueError as error:
            raise ParseError(f"This JSON cannot be read. {error}") from None
        except RecursionError:
            raise ParseError(TOO_DEEP) from None


def _is_deeper(value: Any, levels: int) -> bool:
    if not isinstance(value, dict | list):
        return False
    inner = value.values() if isinstance(value, dict) else value
    return levels == 0 or any(_is_deeper(one, levels - 1) for one in inner)


class CleanMultiPartParser(MultiPartParser):
    """A form with files."""

    def parse(
        self,
        stream: IO[bytes],
        media_type: str | None = None,
        parser_context: Mapping[str, Any] | None = None,
    ) -> DataAndFiles:
        parsed = super().parse(stream, media_type, parser_context)
        parsed.data = cleaned(parsed.data)
        for _, files in parsed.files.lists():
            for file in files:
                file.name = one_line(file.name)
        return parsed
