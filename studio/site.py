"""Where the site is reached: the one home of addresses that leave it, in mails, codes and links."""

from enum import Enum
from ipaddress import ip_address
from urllib.parse import urlsplit

from django.conf import settings

# Of what the API answers with such an address in it.
BEGINS = (
    "Begins with the site's own address (SITE_URL), whatever address it was asked at. While that "
    "is of the machine the site runs on, it opens on no other device."
)


class Reach(Enum):
    """From where such addresses can be opened."""

    MACHINE = "only on the machine that serves the site"
    HOME = "on the network that this machine is in"
    EVERYWHERE = "wherever there is a way to the site"


def address(path: str) -> str:
    """Return the whole address of a page, to be opened on another device.

    Parameters
    ----------
    path : str
        Of the page, as `reverse` gives it
    """
    return f"{settings.SITE_URL}{path}"


def reach() -> Reach:
    """Tell from where such addresses open, by the name or number of the machine in them."""
    host = urlsplit(settings.SITE_URL).hostname or ""
    try:
        number = ip_address(host)
    except ValueError:
        if host == "localhost" or host.endswith(".localhost"):
            return Reach.MACHINE
        return Reach.HOME if "." not in host or host.endswith(".local") else Reach.EVERYWHERE
    if number.is_loopback or number.is_unspecified:
        return Reach.MACHINE
    return Reach.HOME if number.is_private or number.is_link_local else Reach.EVERYWHERE


def is_only_here() -> bool:
    """Tell whether such addresses open nothing but on the machine that serves the site."""
    return reach() is Reach.MACHINE
