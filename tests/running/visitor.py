"""Somebody's browser, as far as the tests need one: cookies, forms, HTTPS to a proxy."""

import http.client
import re
import socket
import ssl
from dataclasses import dataclass, field
from http.cookies import SimpleCookie
from urllib.parse import urlencode, urlsplit

SITE = "pour.example"


class Connection(http.client.HTTPSConnection):
    """A connection that asks for the site by its name at a port of this machine."""

    def connect(self):
        plain = socket.create_connection(("127.0.0.1", self.port), timeout=60)
        self.sock = self._context.wrap_socket(plain, server_hostname=SITE)


@dataclass
class Visitor:
    """What asks at a port; ``authority`` is the certificate of who signed that of the proxy."""

    port: int
    authority: str
    cookies: SimpleCookie = field(default_factory=SimpleCookie)

    def ask(self, method, path, body=None, **headers):
        context = ssl.create_default_context(cafile=self.authority)
        connection = Connection(SITE, self.port, context=context)
        sent = {"Host": SITE, "Referer": f"https://{SITE}/"} | headers
        sent["Cookie"] = "; ".join(f"{name}={one.value}" for name, one in self.cookies.items())
        if body is not None:
            sent["Content-Type"] = "application/x-www-form-urlencoded"
        try:
            connection.request(method, path, body, sent)
            answer = connection.getresponse()
            text = answer.read().decode("utf-8", "replace")
        finally:
            connection.close()
        for one in answer.headers.get_all("Set-Cookie") or ():
            self.cookies.load(one)
        return answer.status, answer.headers, text

    def open(self, address):
        """Return (status, text) of an address, wherever it leads."""
        status, headers, text = self.ask("GET", path_of(address))
        while status in (301, 302):
            address = headers["Location"]
            status, headers, text = self.ask("GET", path_of(address))
        return status, text

    def send(self, page, /, **answers):
        """Fill in the form of a page, and return (status, where it leads)."""
        token = re.search(r'name="csrfmiddlewaretoken" value="(\w+)"', self.open(page)[1])[1]
        body = urlencode({"csrfmiddlewaretoken": token} | answers)
        status, headers, _ = self.ask("POST", path_of(page), body)
        return status, headers["Location"]

    def choose_password(self, link, password):
        """Follow the link to a new password, as far as it leads."""
        status, headers, _ = self.ask("GET", path_of(link))
        assert status == 302, link
        return self.send(headers["Location"], new_password1=password, new_password2=password)

    def sign_in(self, name, password, **more):
        return self.send("/sign-in/", username=name, password=password, **more)


def path_of(address):
    url = urlsplit(address)
    assert url.netloc in ("", SITE), address
    return url.path + (f"?{url.query}" if url.query else "")


def files_of(page):
    """Return the addresses of the style sheets, scripts and pictures that a page names."""
    return sorted(set(re.findall(r'(?:href|src)="(/static/[^"#]+)', page)))
