"""Where the site is reached: the one home of addresses that leave it, in mails, codes and links."""

from ipaddress import ip_address
from urllib.parse import urlsplit

from django.conf import settings


def address(path: str) -> str:
    """Return the whole address of a page, to be opened on another device.

    Parameters
    ----------
    path : str
        Of the page, as `reverse` gives it
    """
    return f"{settings.SITE_URL}{path}"


def is_only_here() -> bool:
    """Tell whether such addresses open nothing but on the machine that serves the site."""
    host = urlsplit(settings.SITE_URL).hostname or ""
    try:
        return ip_address(host).is_loopback
    except ValueError:
        return host == "localhost" or host.endswith(".localhost")
