"""The API's description is a file that lies beside its code.

After a change of the API, refresh it and read the difference:

    python manage.py describe_api
"""

from drf_spectacular.drainage import GENERATOR_STATS

from studio.api.docs import FILE
from studio.management.commands.describe_api import description


def test_the_description_is_valid_and_the_one_checked_in():
    written = description()

    assert list(GENERATOR_STATS._warn_cache) == list(GENERATOR_STATS._error_cache) == []
    assert written == FILE.read_text(encoding="utf-8"), __doc__
