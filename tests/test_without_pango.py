"""A machine without Pango: every paper says in words what is missing, all else goes on."""

import sys
from importlib.abc import MetaPathFinder
from io import StringIO

import pytest
from django.core.management import call_command

from tests.addresses import addresses, pages
from tests.api.routes import address, operations
from tests.conftest import member
from tests.factories.everything import one_of_everything
from tests.factories.world import world

SAID = "PDFs need the Pango library, which this machine lacks. Install it with: "


class NoPango(MetaPathFinder):
    """Loads WeasyPrint as it loads where its libraries are missing."""

    def find_spec(self, name, path=None, target=None):
        if name == "weasyprint":
            raise OSError("cannot load library 'libpango-1.0-0'")


@pytest.fixture
def take_pango_away(monkeypatch):
    def take():
        for name in [name for name in sys.modules if name.split(".")[0] == "weasyprint"]:
            monkeypatch.delitem(sys.modules, name)
        monkeypatch.setattr(sys, "meta_path", [NoPango(), *sys.meta_path])

    return take


def is_pdf(answer):
    return answer.headers.get("Content-Type") == "application/pdf"


def read(client, address):
    """Return the answer at an address, read to its end; what is raised there fails the test."""
    answer = client.get(address)
    if answer.streaming:
        list(answer.streaming_content)
    return answer


def files_of(world):
    """Yield an address of each file that a page can be asked for."""
    for path, pattern in pages():
        if ".pdf" in path or ".csv" in path or "extension" in path:
            yield addresses(path, pattern, world)[0]


def test_every_paper_of_the_pages_says_so_and_other_files_come(client, db, take_pango_away):
    made = world()
    client.force_login(made.user)
    found = {address: read(client, address) for address in files_of(made)}
    papers = {address for address, answer in found.items() if is_pdf(answer)}
    take_pango_away()

    assert len(papers) > 15
    for path, before in found.items():
        answer = read(client, path)
        if path in papers:
            assert answer.status_code in (409, 422), path
            assert SAID in answer.content.decode(), path
        else:
            assert answer.status_code == before.status_code, path


def test_the_demo_is_told_all_the_same(db, take_pango_away, tmp_path):
    told = StringIO()
    take_pango_away()

    call_command("demo", no_serve=True, out=str(tmp_path), stage="quoted", stdout=told)

    assert SAID in told.getvalue()
    assert "Sign in as" in told.getvalue()
    assert list(tmp_path.iterdir()) == []


def test_every_paper_of_the_api_says_so(studio, take_pango_away):
    one, owner = one_of_everything(studio), member(studio, "owner")
    one.membership = owner.membership
    asked = [address(name, one) for method, name, _ in operations() if method == "get"]
    papers = [path for path in asked if is_pdf(owner.api.get(path))]
    take_pango_away()

    assert len(papers) > 10
    for path in papers:
        answer = owner.api.get(path)
        assert (answer.status_code, answer.json()["code"]) == (409, "pdf_unavailable"), path
        assert answer.json()["detail"].startswith(SAID), path
