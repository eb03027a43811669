"""Bodies as they come in: what is no text is taken out before any endpoint looks at them."""

from rest_framework.exceptions import ParseError
from rest_framework.parsers import JSONParser, MultiPartParser

from studio.door import cleaned
from studio.text import clean_json, one_line


class CleanJSONParser(JSONParser):
    """JSON in UTF-8."""

    def parse(self, stream, media_type=None, parser_context=None):
        try:
            return clean_json(super().parse(stream, media_type, parser_context))
        except ValueError as error:
            raise ParseError(f"This JSON cannot be read. {error}") from None
        except RecursionError:
            raise ParseError("This JSON is nested too deep.") from None


class CleanMultiPartParser(MultiPartParser):
    """A form with files."""

    def parse(self, stream, media_type=None, parser_context=None):
        parsed = super().parse(stream, media_type, parser_context)
        parsed.data = cleaned(parsed.data)
        for _, files in parsed.files.lists():
            for file in files:
                file.name = one_line(file.name)
        return parsed
