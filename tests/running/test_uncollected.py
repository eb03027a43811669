"""A site whose files were never collected: pages, faults and what is not there, still in words."""

import pytest
from django.core.files.storage import storages
from django.test import Client

from studio.collecting import Collected
from studio.views import account


@pytest.fixture(autouse=True)
def uncollected(settings, tmp_path):
    settings.STATIC_ROOT = tmp_path / "nothing"
    settings.STORAGES = settings.STORAGES | {
        "staticfiles": {"BACKEND": "studio.collecting.Collected"}
    }
    assert isinstance(storages["staticfiles"], Collected)


def test_pages_are_answered(owner):
    for address in ("/", "/plan/", "/more/", "/settings/", "/api/v1/docs/"):
        answer = owner.client.get(address)
        assert answer.status_code == 200, address
        assert "<h1" in answer.content.decode() or "swagger" in answer.content.decode()


def test_what_is_not_there_and_what_is_refused_is_said_in_words(viewer, stranger):
    assert "leads nowhere" in viewer.client.get("/nowhere/").content.decode()
    assert "Only an owner" in viewer.client.get("/settings/").content.decode()
    assert stranger.client.get("/sign-in/").status_code == 200


def test_a_fault_is_said_in_words(monkeypatch, db):
    def fails(*arguments, **more):
        raise RuntimeError("a fault of ours")

    monkeypatch.setattr(account, "cautions_of", fails)
    answer = Client(raise_request_exception=False).get("/safety/")

    assert answer.status_code == 500
    assert "Something went wrong" in answer.content.decode()
