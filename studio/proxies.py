"""Behind a proxy: who asks, and whether by HTTPS, as told by those proxies that are trusted.

A proxy stands between a visitor and the site, so that every request seems to come from it, and by
plain HTTP. It says the rest in headers, which anybody else can write too.
"""

from collections.abc import Callable, Iterable
from ipaddress import IPv4Address, IPv4Network, IPv6Address, IPv6Network, ip_address, ip_network

from django.conf import settings
from django.core.exceptions import ImproperlyConfigured
from django.http import HttpRequest, HttpResponse

FOR, PROTO = "HTTP_X_FORWARDED_FOR", "HTTP_X_FORWARDED_PROTO"
PROBLEM = "proxy_problem"  # the attribute of a request
FORWARDED = (FOR, PROTO, "HTTP_FORWARDED")
SAYS_NOTHING = (
    "The proxy in front of this site does not say whether you came by HTTPS, so you would be sent "
    "there again and again. Whoever runs the site lets the proxy set the header X-Forwarded-Proto; "
    "docs/running.md shows how."
)
NOT_TRUSTED = (
    "This request came through a proxy at {peer}, whose word is not taken. If that proxy is yours, "
    "write its address or network into TRUSTED_PROXIES and start the site again; docs/running.md "
    "says more."
)


def networks(names: Iterable[str]) -> list[IPv6Network]:
    """Return addresses and networks as they are written in `settings.TRUSTED_PROXIES`.

    Raises `ImproperlyConfigured` for what is neither.
    """
    found = []
    for name in filter(None, map(str.strip, names)):
        try:
            network = ip_network(name, strict=False)
        except ValueError:
            raise ImproperlyConfigured(
                f"TRUSTED_PROXIES has {name}, which is no address or network. Write such as "
                "127.0.0.1 or 10.0.0.0/8, several with commas between them."
            ) from None
        if isinstance(network, IPv4Network):
            base = network.network_address
            network = IPv6Network(f"::ffff:{base}/{network.prefixlen + 96}")
        found.append(network)
    return found


def problem_of(request: HttpRequest) -> str:
    """Return why the word of the proxy that a request came through was not taken, or ''."""
    return str(vars(request).get(PROBLEM, ""))


class ProxyMiddleware:
    """Put the visitor's own address and scheme on a request that a trusted proxy passed on."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response
        self.trusted = networks(settings.TRUSTED_PROXIES)

    def __call__(self, request: HttpRequest) -> HttpResponse:
        peer = request.META.get("REMOTE_ADDR", "")
        problem = ""
        if self._trusts(peer):
            self._believe(request)
        elif any(name in request.META for name in FORWARDED):
            problem = NOT_TRUSTED.format(peer=peer)
        vars(request)[PROBLEM] = problem
        if not problem and self._trusts(peer) and PROTO not in request.META:
            problem = SAYS_NOTHING
        if problem and self._is_sent_to_https(request):
            return HttpResponse(problem, status=400, content_type="text/plain; charset=utf-8")
        return self.get_response(request)

    def _is_sent_to_https(self, request: HttpRequest) -> bool:
        is_exempt = request.path.startswith(settings.NOT_REDIRECTED)
        return settings.SECURE_SSL_REDIRECT and not request.is_secure() and not is_exempt

    def _believe(self, request: HttpRequest) -> None:
        # Each proxy writes whom it spoke to at the end, so what a visitor forged stands before.
        for name in reversed(request.META.get(FOR, "").split(",")):
            if _address(name) is None:
                break
            request.META["REMOTE_ADDR"] = name.strip()
            if not self._trusts(name):
                break
        said = request.META.get(PROTO, "").split(",")[-1].strip()
        if said in ("http", "https"):
            request.META["wsgi.url_scheme"] = said

    def _trusts(self, name: str) -> bool:
        address = _address(name)
        return address is not None and any(address in network for network in self.trusted)


def _address(name: str) -> IPv6Address | None:
    """Return an address as IPv6 has it, so that both ways of writing one of IPv4 are the same."""
    try:
        address = ip_address(name.strip())
    except ValueError:
        return None
    return IPv6Address(f"::ffff:{address}") if isinstance(address, IPv4Address) else address
