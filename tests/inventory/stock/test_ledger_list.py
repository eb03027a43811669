"""The list of the ledger is read by an index that its studio leads, and nothing is sorted."""

import re
from datetime import UTC, date, datetime

import pytest
from django.db import connection
from django.urls import reverse

from tests.factories.inventory import EntryFactory, MaterialFactory
from tests.factories.studio import MembershipFactory, StudioFactory
from tests.inventory.stock.shelves import receive

pytestmark = pytest.mark.django_db


def test_the_list_of_the_ledger_begins_with_its_own_studio():
    studio = StudioFactory()
    EntryFactory.create_batch(3, studio=studio)
    EntryFactory.create_batch(3)
    if connection.vendor == "postgresql":  # of so few rows it would read all
        with connection.cursor() as cursor:
            cursor.execute("SET LOCAL enable_seqscan = off")
            cursor.execute("SET LOCAL enable_sort = off")

    plan = studio.entries.all()[:50].explain()

    # SQLite's index of the studio alone is in the order of the entries too.
    assert re.search(
        r"USING INDEX inventory_e\w*_studio_|Index Scan using inventory_e\w*_studio_", plan
    )
    assert "TEMP B-TREE" not in plan
    assert " Sort " not in plan


def test_an_entry_is_booked_on_its_day_where_the_studio_stands(client):
    """At 23:30 UTC on 31 May it is June in Auckland (UTC+12) and still May in Chicago (UTC-5)."""
    moment = datetime(2026, 5, 31, 23, 30, tzinfo=UTC)
    for zone, booked, month in (
        ("Pacific/Auckland", date(2026, 6, 1), "?from=2026-06-01"),
        ("America/Chicago", date(2026, 5, 31), "?from=2026-05-01&to=2026-05-31"),
    ):
        studio = StudioFactory(time_zone=zone)
        white = MaterialFactory(studio=studio)

        receive(white, (100, 2), happened_at=moment)

        assert studio.entries.get().booked_on == booked
        client.force_login(MembershipFactory(studio=studio).user)
        page = client.get(reverse("entries") + month)
        assert len(page.context["page"].object_list) == 1
