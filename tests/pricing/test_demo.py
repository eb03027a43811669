"""The demo: one story through the services, told in a page, the same each time."""

from io import StringIO

import pytest
from django.apps import apps
from django.core.management import call_command
from pypdf import PdfReader

from inventory.books import check
from pricing.demo import shelves
from pricing.models import Quote


def run_demo(folder, **options):
    told = StringIO()
    call_command("demo", no_serve=True, out=str(folder), stdout=told, **options)
    return told.getvalue()


def rows():
    """Return how many rows each table of the product has."""
    models = [
        m
        for app in ("studio", "inventory", "pricing")
        for m in apps.get_app_config(app).get_models()
    ]
    return {model.__name__: model.objects.count() for model in models}


def text_of(path):
    return " ".join(" ".join(page.extract_text().split()) for page in PdfReader(path).pages)


@pytest.mark.django_db
def test_the_demo_tells_the_story_and_changes_nothing_when_run_again(tmp_path):
    first = run_demo(tmp_path / "one")
    stored = rows()
    second = run_demo(tmp_path / "two")

    assert rows() == stored
    assert second.replace("two", "one") == first
    names = {path.name for path in (tmp_path / "one").iterdir()}
    assert names == {"quote-1.pdf", "reorder-sheet.pdf"}
    for name in names:
        assert (tmp_path / "one" / name).read_bytes() == (tmp_path / "two" / name).read_bytes()
    assert check() == []


@pytest.mark.django_db
def test_the_story_has_every_part_within_a_page(tmp_path):
    told = run_demo(tmp_path)

    for part in (
        "How much paint",
        "Short when asked: 1 of Canvas",
        "Alerts before acceptance: 1",
        "Alerts after: 4",
        "Quote 1: $",
        "Reorder: $",
        "Profit in all: $",
        shelves.OWNER["email"],
    ):
        assert part in told
    assert len(told.splitlines()) <= 50
    quote = Quote.objects.get()
    assert f"${quote.gross:.2f}" in text_of(tmp_path / "quote-1.pdf")
    sheet = text_of(tmp_path / "reorder-sheet.pdf")
    assert all(supplier in sheet for supplier in shelves.SUPPLIERS)


@pytest.mark.django_db
def test_the_demo_stops_at_a_stage(tmp_path):
    run_demo(tmp_path, stage="quoted")

    assert Quote.objects.get().status == "sent"
    assert not (tmp_path / "reorder-sheet.pdf").exists()
