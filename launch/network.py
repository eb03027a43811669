"""Serving the home network on purpose: under which name, and who can reach it."""

import os
import socket
import subprocess
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urlsplit

from launch.home import Home
from launch.system import ROOT, SetUpError, say

# Where Avahi, which answers to <name>.local on Linux, listens while it runs.
AVAHI = Path("/run/avahi-daemon/socket")
LOOPBACK = ("127.0.0.1", "localhost")
WHO = """
Before you go on: everybody in this network can now reach Pourwright's sign-in page. What they send
and read, passwords too, is not encrypted. Do this at home, among people you trust, and not in the
network of a café, a fair or a hotel. To end it, close this window or press Ctrl-C.
"""


@dataclass(frozen=True)
class Network:
    """How this machine is reached in its network: its number, and a name if it answers to one."""

    number: str
    name: str

    @property
    def host(self) -> str:
        """Return what stands in addresses: the name, which stays, before the number."""
        return self.name or self.number


def find_network() -> Network:
    """Return how this machine is reached; refuse one that is in no network."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(
                ("192.0.2.1", 9)
            )  # nothing is sent; the system says by which way it would
            number = str(probe.getsockname()[0])
        except OSError:
            number = ""
    if not number or number.startswith(("127.", "0.")):
        raise SetUpError("This computer is in no network. Join your home network, then try again.")
    return Network(number, name_of(socket.gethostname(), sys.platform, AVAHI.exists()))


def name_of(hostname: str, platform: str, has_avahi: bool) -> str:
    """Return the name by which a machine answers in its network by itself, or ''.

    By multicast DNS (RFC 6762): macOS and Windows 10 and later do so, Linux where Avahi runs.
    """
    label = hostname.partition(".")[0].lower()
    answers = platform in ("darwin", "win32") or has_avahi
    return f"{label}.local" if label and label != "localhost" and answers else ""


def settings_for(network: Network, port: int, given: Mapping[str, str]) -> dict[str, str]:
    """Return the settings that let the network in, beside those that were ``given`` already.

    Strangers open no studio, whatever is set for this computer alone. An address that was set on
    purpose stays the site's own.
    """
    url = given.get("SITE_URL", "")
    named = urlsplit(url).hostname or ""
    if named in ("", *LOOPBACK):
        url = f"http://{network.host}:{port}"
    hosts = [*given.get("ALLOWED_HOSTS", "").split(","), *LOOPBACK, network.number, network.name]
    allowed = dict.fromkeys(filter(None, [*hosts, urlsplit(url).hostname]))
    return {
        "SITE_URL": url,
        "ALLOWED_HOSTS": ",".join(allowed),
        "OPEN_SIGN_UP": "False",
        "OPEN_TO_FIRST": "False",
    }


def see_that_it_may(home: Home) -> None:
    """Refuse what had better not be reached by others, in the words of the program itself."""
    asked = subprocess.run(
        [str(home.python()), "manage.py", "may_be_reached"],
        cwd=ROOT,
        stderr=subprocess.PIPE,
        encoding="utf-8",
    )
    if asked.returncode:
        raise SetUpError(asked.stderr.strip())


def tell(home: Home, network: Network, port: int) -> None:
    """Print the address, a code to scan, and what to do where the name is not found."""
    url = os.environ["SITE_URL"]
    say(f"\nOn a phone or another computer in this network, open {url}/ or scan:\n")
    draw = "import segno, sys; segno.make(sys.argv[1]).terminal(compact=True)"
    subprocess.run([str(home.python()), "-c", draw, f"{url}/"], cwd=ROOT)
    if network.host == network.number:
        say(
            "This number may change when the router hands out others, and labels you printed then\n"
            "open nothing. Have the router always give this computer the same one."
        )
    else:
        say(f"Where that name is not found: http://{network.number}:{port}/")
