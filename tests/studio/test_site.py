"""From where the site's own address opens."""

import pytest

from studio.site import Reach, address, is_only_here, reach


@pytest.mark.parametrize(
    ("url", "expected"),
    [
        ("http://127.0.0.1:8000", Reach.MACHINE),
        ("http://127.8.9.1", Reach.MACHINE),
        ("http://[::1]:8000", Reach.MACHINE),
        ("http://0.0.0.0:8000", Reach.MACHINE),
        ("http://localhost:8123", Reach.MACHINE),
        ("http://studio.localhost", Reach.MACHINE),
        ("http://192.168.1.20:8000", Reach.HOME),
        ("http://10.0.0.7", Reach.HOME),
        ("http://[fe80::1]:8000", Reach.HOME),
        ("http://kiln.local:8000", Reach.HOME),
        ("http://kiln", Reach.HOME),
        ("https://studio.example", Reach.EVERYWHERE),
        ("https://localhost.example", Reach.EVERYWHERE),
        ("https://8.8.8.8", Reach.EVERYWHERE),
    ],
)
def test_a_name_or_number_tells_from_where_it_opens(url, expected, settings):
    settings.SITE_URL = url

    assert reach() is expected
    assert is_only_here() is (expected is Reach.MACHINE)


def test_an_address_begins_with_the_sites_own(settings):
    settings.SITE_URL = "https://studio.example"

    assert address("/q/abc/") == "https://studio.example/q/abc/"
