"""The page of a sheet of one's own, and the same by a program: looked at, answered, brought in."""

import base64
from html.parser import HTMLParser

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from inventory.stock import books
from studio import background
from studio.models import BackgroundTask
from studio.tables import read_grid
from tests.inventory.stock.other_sheets import SHEETS
from tests.inventory.stock.sheets.five_hundred import sheet as five_hundred

pytestmark = pytest.mark.django_db

PAGE = "/in-and-out/sheet/"


class Fields(HTMLParser):
    """What a browser would send of the one form with a sheet in it."""

    def __init__(self, html):
        super().__init__()
        self.sent, self.chosen = {}, ""
        self.feed(html)

    def handle_starttag(self, tag, attrs):
        attrs = dict(attrs)
        if tag == "input" and attrs.get("type") != "radio" and "name" in attrs:
            self.sent[attrs["name"]] = attrs.get("value", "")
        elif tag == "input" and "checked" in attrs:
            self.sent[attrs["name"]] = attrs["value"]
        elif tag == "select":
            self.chosen = attrs["name"]
        elif tag == "option" and "selected" in attrs and self.chosen:
            self.sent[self.chosen] = attrs["value"]


def chosen(client, name, body):
    return client.post(PAGE, {"file": SimpleUploadedFile(name, body)})


def fields_of(answer):
    return Fields(answer.content.decode()).sent


def test_a_sheet_is_shown_answered_brought_in_and_mended(owner):
    body = (SHEETS / "border_road.csv").read_bytes()
    shown = chosen(owner.client, "border_road.csv", body)
    fields = fields_of(shown)
    assert (fields["column_1"], fields["column_5"]) == ("supplier", "received")
    assert b"waits for your answer above" in shown.content
    assert not owner.studio.materials.exists()

    answered = {**fields, "answer_ounces": "volume", "answer_days": "month"}
    again = owner.client.post(PAGE, {**answered, "look": "1"})
    fields = fields_of(again)
    assert (fields["answer_days"], fields["answer_ounces"]) == ("month", "volume")
    sent = owner.client.post(PAGE, {**fields, "bring": "1"})
    twice = owner.client.post(PAGE, {**fields, "bring": "1"})

    assert (sent.status_code, twice.url) == (302, sent.url)
    assert owner.studio.materials.count() == 5
    assert owner.studio.bottles.count() == 8
    assert "2 left out" in owner.client.get(sent.url).content.decode()
    to_mend = b"".join(owner.client.get(f"{sent.url}file/").streaming_content)
    (_, headings), *rows = read_grid(to_mend).lines
    assert [cells[0] for _, cells in rows] == ["Zinc white", "Copper"]
    assert headings[-2] == "To mend"
    assert books.check(owner.studio) == []


def test_other_answers_than_were_shown_are_shown_first(owner):
    fields = fields_of(chosen(owner.client, "s.csv", (SHEETS / "border_road.csv").read_bytes()))

    sent = owner.client.post(PAGE, {**fields, "answer_ounces": "weight", "bring": "1"})

    assert (sent.status_code, owner.studio.materials.count()) == (422, 0)
    assert b"has changed since" in sent.content


def test_a_long_sheet_is_brought_in_by_the_worker(owner, django_capture_on_commit_callbacks):
    body, truths = five_hundred()
    fields = fields_of(chosen(owner.client, "barn.csv", body))
    fields = fields_of(owner.client.post(PAGE, {**fields, "answer_ounces": "volume", "look": "1"}))
    sent = owner.client.post(PAGE, {**fields, "bring": "1"})
    task = BackgroundTask.objects.get()
    assert sent.url.endswith(f"/{task.pk}/") and not owner.studio.materials.exists()

    background.do.call(task.pk)

    task.refresh_from_db()
    assert (task.problem, task.file_name) == ("", "barn to mend.xlsx")
    assert owner.studio.materials.count() == sum(one.outcome == "good" for one in truths)


def test_a_picture_is_refused_beside_the_file(owner):
    answer = chosen(owner.client, "paints.csv", b"\x89PNG\r\n\x1a\n" + bytes(50))

    assert answer.status_code == 422
    assert b"This is a picture or a PDF, not a table." in answer.content


def test_a_program_brings_a_sheet_in_the_same_way(owner):
    body = (SHEETS / "phone_list.txt").read_bytes()

    def sent(**more):
        file = SimpleUploadedFile("phone.txt", body)
        return owner.api.post(
            "/api/v1/imports/own-sheet/", {"file": file, **more}, format="multipart"
        )

    shown = sent().json()
    assert [one["key"] for one in shown["questions"]] == ["ounces"]
    assert [one["role"] for one in shown["columns"]] == ["name", "pack", "on_hand", "price"]
    said = {"ounces": "weight", "columns": "name,pack,on_hand,skip", "unpriced": "nothing"}
    applied = sent(apply=True, **said).json()

    assert (applied["counts"]["good"], applied["applied"]) == (8, True)
    assert sum(row.value for row in owner.studio.materials.all()) == 0
    assert len(read_grid(base64.b64decode(applied["to_mend"])).lines) == 2
    assert sent(columns="name,name").status_code == 400
