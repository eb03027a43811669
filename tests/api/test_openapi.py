"""The API's description is a checked-in file.

After a change of the API, refresh it and read the difference:

    python manage.py spectacular --validate --fail-on-warn --file studio/api/openapi.yml
"""

from io import StringIO
from pathlib import Path

from django.core.management import call_command

ROOT = Path(__file__).parents[2]
CHECKED_IN = ROOT / "studio" / "api" / "openapi.yml"


def test_the_description_is_valid_and_the_one_checked_in():
    written = StringIO()

    call_command("spectacular", "--validate", "--fail-on-warn", stdout=written)

    assert written.getvalue().strip() == CHECKED_IN.read_text().strip(), __doc__
