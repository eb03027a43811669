"""Write down what the API says of itself."""

from typing import Any

import yaml
from django.core.management.base import BaseCommand
from drf_spectacular.generators import SchemaGenerator
from drf_spectacular.validation import validate_schema

from studio.api.docs import FILE


def description() -> str:
    """Return the API's description as YAML, small things on one line each."""
    schema = SchemaGenerator().get_schema(request=None, public=True)
    validate_schema(schema)
    return yaml.dump(
        schema, default_flow_style=None, sort_keys=False, allow_unicode=True, width=110
    )


class Command(BaseCommand):
    """Write the API's description to the file that is served; run it after a change of the API."""

    help = __doc__

    def handle(self, *args: Any, **options: Any) -> None:
        FILE.write_text(description(), encoding="utf-8")
