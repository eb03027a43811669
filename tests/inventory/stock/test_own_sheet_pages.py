"""The page of a sheet of one's own, and the same by a program: looked at, answered, brought in."""

import base64
from html.parser import HTMLParser

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from inventory.stock import books
from studio.jobs import MOST_TRIES
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
