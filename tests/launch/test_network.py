"""Letting the home network in: under which name, with which settings, and when it is refused."""

import os
from argparse import Namespace

import pytest
from django.core.management import CommandError, call_command

from launch import main, network, serving
from launch.home import Home
from launch.network import Network, name_of, settings_for
from launch.system import SetUpError
from pricing.demo import shelves, shop
from studio import people
from tests.factories.studio import MembershipFactory

NAMED, NUMBERED = Network("192.168.1.20", "kiln.local"), Network("192.168.1.20", "")


@pytest.mark.parametrize(
    ("hostname", "platform", "has_avahi", "expected"),
    [
        ("kiln", "linux", True, "kiln.local"),
        ("kiln", "linux", False, ""),
        ("Kiln.fritz.box", "linux", True, "kiln.local"),
        ("Anas-Laptop.local", "darwin", False, "anas-laptop.local"),
        ("KILN", "win32", False, "kiln.local"),
        ("localhost", "linux", True, ""),
    ],
)
def test_a_machine_has_a_name_where_it_answers_to_one(hostname, platform, has_avahi, expected):
    assert name_of(hostname, platform, has_avahi) == expected


@pytest.mark.parametrize(
    ("found", "given", "url", "allowed"),
    [
        (NAMED, {}, "http://kiln.local:8000", {"192.168.1.20", "kiln.local"}),
        (NUMBERED, {}, "http://192.168.1.20:8000", {"192.168.1.20"}),
        # An address of this machine alone gives way, whoever set it.
        (NAMED, {"SITE_URL": "http://127.0.0.1:8000"}, "http://kiln.local:8000", {"kiln.local"}),
        # One that was set on purpose stays, and so does what was let in before.
        (
            NAMED,
            {"SITE_URL": "http://studio.home:8000", "ALLOWED_HOSTS": "pour.example"},
            "http://studio.home:8000",
            {"studio.home", "pour.example", "kiln.local", "192.168.1.20"},
        ),
    ],
)
def test_the_network_is_let_in_by_its_names_and_no_other(found, given, url, allowed):
    settings = settings_for(found, 8000, given)

    assert settings["SITE_URL"] == url
    hosts = set(settings["ALLOWED_HOSTS"].split(","))
    assert allowed | {"127.0.0.1", "localhost"} <= hosts
    assert "*" not in hosts and "" not in hosts


def test_strangers_in_the_network_open_no_studio():
    settings = settings_for(NAMED, 8000, {"OPEN_SIGN_UP": "True", "OPEN_TO_FIRST": "True"})

    assert (settings["OPEN_SIGN_UP"], settings["OPEN_TO_FIRST"]) == ("False", "False")


# Who is not let in


def refusal():
    with pytest.raises(CommandError) as refused:
        call_command("may_be_reached")
    return str(refused.value)


def test_a_computer_without_a_studio_is_not_opened(db):
    assert "There is no studio here yet" in refusal()


@pytest.mark.django_db
@pytest.mark.parametrize("person", [shelves.OWNER, shelves.MAKER, shelves.VIEWER])
def test_the_demos_password_is_not_let_out_whoever_has_it(person):
    shop._open()
    for other in {shelves.OWNER["email"], shelves.MAKER["email"], shelves.VIEWER["email"]}:
        if other != person["email"]:
            people.get_user_model().objects.filter(username=other).update(is_active=False)

    assert person["email"] in refusal()
    people.get_user_model().objects.update(is_active=False)
    call_command("may_be_reached")


def test_a_studio_with_passwords_of_its_own_is_let_out(db):
    MembershipFactory()

    call_command("may_be_reached")


# What is served, and where


@pytest.fixture
def served(monkeypatch, tmp_path):
    """Return a function from options to (settings, port, host) that would have been served."""
    home = Home(tmp_path, tmp_path / ".venv")
    monkeypatch.setattr(os, "environ", {"PATH": os.environ["PATH"]})
    monkeypatch.setattr(network, "find_network", lambda: NAMED)
    monkeypatch.setattr(network, "see_that_it_may", lambda home: None)
    calls = []
    monkeypatch.setattr(serving, "serve", lambda home, port, **more: calls.append((port, more)))

    def serve(env="", **options):
        (tmp_path / ".env").write_text(env)
        main._serve(home, Namespace(no_browser=True, **options))
        port, more = calls.pop()
        return dict(os.environ), port, more["host"]

    return serve


def test_alone_only_this_machine_is_served_and_addresses_name_the_port(served):
    port = serving.free_port(8700)

    settings, chosen, host = served(port=port, lan=False)

    assert (host, chosen, settings["SITE_URL"]) == ("127.0.0.1", port, f"http://127.0.0.1:{port}")
    assert "ALLOWED_HOSTS" not in settings


def test_an_address_of_its_own_stays(served):
    settings, *_ = served('SITE_URL="https://pour.example"\n', port=8000, lan=False)

    assert settings["SITE_URL"] == "https://pour.example"


def test_asked_to_it_serves_the_network(served, capsys):
    port = serving.free_port(8700)

    settings, chosen, host = served("ALLOWED_HOSTS=pour.example\n", port=port, lan=True)

    assert (host, chosen) == ("0.0.0.0", port)
    assert settings["SITE_URL"] == f"http://kiln.local:{port}"
    assert settings["ALLOWED_HOSTS"].split(",")[0] == "pour.example"
    told = capsys.readouterr().out
    assert "everybody in this network" in told and "not encrypted" in told


def test_labels_name_the_port_so_another_is_not_taken_in_its_place(served, monkeypatch):
    monkeypatch.setattr(serving, "is_free", lambda port, host: False)

    with pytest.raises(SetUpError, match="Port 8000 is taken, and labels"):
        served(port=8000, lan=True)


def test_a_machine_in_no_network_is_told(monkeypatch):
    class NoWay:
        def __enter__(self):
            return self

        def __exit__(self, *_):
            pass

        def connect(self, address):
            raise OSError("Network is unreachable")

    monkeypatch.setattr(network.socket, "socket", lambda *_: NoWay())

    with pytest.raises(SetUpError, match="in no network"):
        network.find_network()
