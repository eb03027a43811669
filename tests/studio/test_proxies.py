"""Behind a proxy: whose word is taken, and what is said where it is not."""

import pytest
from django.core.exceptions import ImproperlyConfigured
from django.test import Client

from studio import proxies

PASSWORD = "velvet kettle orchard"


def through(peer, **headers):
    """Return a browser whose requests come from a peer, with headers such as ``forwarded_for``."""
    sent = {f"HTTP_X_{name.upper()}": value for name, value in headers.items()}
    return Client(REMOTE_ADDR=peer, **sent)


def seen(client):
    """Return the address and scheme that the site takes a request to have come from."""
    request = client.get("/sign-in/").wsgi_request
    return request.META["REMOTE_ADDR"], request.scheme


@pytest.fixture(autouse=True)
def trusted(settings, db):
    settings.TRUSTED_PROXIES = ["127.0.0.1", "::1", "10.1.0.0/16"]


@pytest.mark.parametrize("peer", ["127.0.0.1", "::1", "::ffff:127.0.0.1", "10.1.200.3"])
def test_a_trusted_proxy_says_who_asks_and_how(peer):
    client = through(peer, forwarded_for="203.0.113.9", forwarded_proto="https")

    assert seen(client) == ("203.0.113.9", "https")


@pytest.mark.parametrize("peer", ["203.0.113.5", "10.2.0.1", "", "nonsense"])
def test_nobody_else_is_believed(peer):
    client = through(peer, forwarded_for="198.51.100.7", forwarded_proto="https")

    assert seen(client) == (peer, "http")


@pytest.mark.parametrize(
    ("said", "visitor"),
    [
        # What stands before the last one that no trusted proxy wrote may be forged.
        ("198.51.100.7, 203.0.113.9", "203.0.113.9"),
        ("198.51.100.7, 203.0.113.9, 10.1.0.4", "203.0.113.9"),
        ("10.1.0.4, 127.0.0.1", "10.1.0.4"),
        ("2001:db8::7", "2001:db8::7"),
        ("198.51.100.7, unknown", "127.0.0.1"),
        ("unknown, 203.0.113.9", "203.0.113.9"),
        ("", "127.0.0.1"),
        ("\x00,,", "127.0.0.1"),
    ],
)
def test_the_visitor_is_whom_the_last_trusted_proxy_spoke_to(said, visitor):
    assert seen(through("127.0.0.1", forwarded_for=said))[0] == visitor


@pytest.mark.parametrize(
    ("said", "scheme"),
    [("https", "https"), ("http", "http"), ("http, https", "https"), ("ftp", "http")],
)
def test_the_scheme_is_what_the_nearest_proxy_says(said, scheme):
    assert seen(through("127.0.0.1", forwarded_proto=said))[1] == scheme


def test_wrong_passwords_lock_out_only_the_address_they_came_from(maker):
    maker.user.set_password(PASSWORD)
    maker.user.save()
    somebody, stranger = (
        through("127.0.0.1", forwarded_for=address) for address in ("203.0.113.9", "198.51.100.7")
    )
    for _ in range(5):
        wrong = {"username": maker.user.username, "password": "wrong"}
        locked = stranger.post("/sign-in/", wrong)
    right = {"username": maker.user.username, "password": PASSWORD}

    assert locked.status_code == 429
    assert stranger.post("/sign-in/", right).status_code == 429
    assert somebody.post("/sign-in/", right).status_code == 302


def test_an_address_that_is_made_up_is_locked_out_all_the_same(maker):
    for number in range(5):
        forger = through("203.0.113.5", forwarded_for=f"198.51.100.{number}")
        wrong = {"username": maker.user.username, "password": "wrong"}
        locked = forger.post("/sign-in/", wrong)

    assert locked.status_code == 429


class TestBehindHttps:
    @pytest.fixture(autouse=True)
    def https(self, settings):
        settings.HTTPS = settings.SECURE_SSL_REDIRECT = True

    def test_who_came_by_https_is_answered(self):
        assert through("127.0.0.1", forwarded_proto="https").get("/sign-in/").status_code == 200

    def test_who_came_by_http_is_sent_to_https(self):
        answer = through("127.0.0.1", forwarded_proto="http").get("/sign-in/")

        assert (answer.status_code, answer.url) == (301, "https://testserver/sign-in/")
        assert through("203.0.113.5").get("/sign-in/").status_code == 301

    def test_a_proxy_that_does_not_say_is_told_of_instead_of_a_loop(self):
        answer = through("127.0.0.1", forwarded_for="203.0.113.9").get("/sign-in/")

        assert answer.status_code == 400
        assert "X-Forwarded-Proto" in answer.content.decode()

    def test_a_proxy_that_is_not_trusted_is_told_of_instead_of_a_loop(self):
        answer = through("10.2.0.1", forwarded_proto="https").get("/sign-in/")

        assert answer.status_code == 400
        assert "a proxy at 10.2.0.1" in answer.content.decode()
        assert "TRUSTED_PROXIES" in answer.content.decode()

    def test_programs_are_told_in_json(self):
        answer = through("127.0.0.1").get("/api/v1/studio/")

        assert (answer.status_code, answer.json()["code"]) == (400, "bad_request")


def test_without_https_nothing_is_refused():
    assert through("10.2.0.1", forwarded_proto="https").get("/sign-in/").status_code == 200


def test_what_is_no_address_is_refused_in_words():
    assert len(proxies.networks(["10.0.0.0/8", " ::1 ", ""])) == 2
    with pytest.raises(ImproperlyConfigured, match=r"has my-proxy, which is no address"):
        proxies.networks(["my-proxy"])
