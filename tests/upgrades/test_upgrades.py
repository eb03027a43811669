"""A database of every released version comes up to today whole, and its books agree."""

import os
import re
from pathlib import Path

import pytest
from django.apps import apps
from django.contrib.auth.models import User
from django.core.management import call_command
from django.db import connection
from django.db.migrations.loader import MigrationLoader
from django.test import Client
from django.urls import reverse

from inventory.models import Entry
from inventory.stock import books
from pricing.demo import shelves
from pricing.techniques import TECHNIQUES
from studio.models import Studio
from tests.schema import schema_of
from tests.upgrades import stored

ROOT = Path(__file__).parent.parent.parent
CHANGES = (ROOT / "CHANGELOG.md").read_text(encoding="utf-8")
VERSIONS = re.findall(r"^## ([0-9.]+)$", CHANGES, re.MULTILINE)
# The first passes through every migration there is, and the last has every table that one may find;
# those between take minutes, and are asked by `.ci/long upgrades` on both databases.
EVERY = os.environ.get("EVERY_VERSION") == "yes"
BROUGHT_UP = stored.released()[:: 1 if EVERY else len(VERSIONS) - 1]
LARGEST = 300_000  # [B]
# What a migration gives to the studios that are there, when it is new, or works out of their rows.
GIVEN = ("pricing.Technique", "pricing.LabourStep", "pricing.Posting", "pricing.FinishedChange")
GIVEN += ("pricing.Judgement",)
# What somebody opens who comes back after an upgrade.
PAGES = [
    "home", "materials", "bottles", "entries", "suppliers", "reorder", "orders", "recipes",
    "planner", "commissions", "pours", "schedule", "work", "batches", "sets", "sales", "profit",
    "valuation", "payments", "invoices", "consignments", "alerts", "customers", "surfaces",
    "products", "in-and-out",
]  # fmt: skip  # a table of pages


@pytest.fixture
def empty_database(django_db_setup, django_db_blocker, tmp_path):
    """An empty database in the place of that of the tests, whose schema it comes with."""
    settings = connection.settings_dict
    of_the_tests = settings["NAME"]
    is_file = connection.vendor == "sqlite"
    name = str(tmp_path / "old.sqlite3") if is_file else f"{of_the_tests}_old"
    drop = f"DROP DATABASE IF EXISTS {connection.ops.quote_name(name)}"
    with django_db_blocker.unblock():
        with connection.cursor() as cursor:
            todays = schema_of(cursor, connection.vendor)
        connection.close()
        if not is_file:
            with connection._nodb_cursor() as cursor:
                cursor.execute(drop)
                cursor.execute(f"CREATE DATABASE {connection.ops.quote_name(name)}")
        settings["NAME"] = name
        try:
            yield todays
        finally:
            connection.close()
            settings["NAME"] = of_the_tests
            if not is_file:
                with connection._nodb_cursor() as cursor:
                    cursor.execute(drop)


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("version", BROUGHT_UP)
def test_a_database_of_a_released_version_comes_up_to_today(empty_database, version):
    stored.load(version)
    kept = {name: len(table["rows"]) for name, table in stored.read(version)["tables"].items()}

    call_command("migrate", verbosity=0)

    call_command("migrate", check=True, verbosity=0)
    with connection.cursor() as cursor:
        assert schema_of(cursor, connection.vendor) == empty_database
    if "booked_on" not in stored.read(version)["tables"]["inventory.Entry"]["columns"]:
        for entry in Entry.objects.select_related("studio"):
            assert entry.booked_on == entry.happened_at.astimezone(entry.studio.zone).date()
    assert [str(found) for found in books.check(None)] == []
    models = (User, Studio, *apps.get_app_config("pricing").get_models())
    counted = {model._meta.label: model._base_manager.count() for model in models}
    kept |= {name: max(kept.get(name, 0), counted[name]) for name in GIVEN}
    assert counted == {name: kept.get(name, 0) for name in counted}
    person = User.objects.get(username=shelves.OWNER["email"])
    techniques = person.memberships.get().studio.techniques.values_list("slug", flat=True)
    assert {facts.slug for facts in TECHNIQUES} - set(
        techniques
    ) == set()  # not to new studios only
    client = Client()
    client.force_login(person)
    opened = {page: client.get(reverse(page)).status_code for page in PAGES}
    assert opened == dict.fromkeys(PAGES, 200)
    # New rows are numbered after those that were there.
    sent = {"name": "Ana", "email": "", "phone": "", "address": "", "notes": ""}
    assert client.post(reverse("customer-new"), sent).status_code == 302


def test_every_version_named_has_its_database_and_no_other_has():
    assert VERSIONS
    assert stored.released() == VERSIONS[::-1]


@pytest.mark.parametrize("version", stored.released())
def test_a_database_is_small_and_knows_no_machine(version):
    assert stored.path_of(version).stat().st_size < LARGEST
    text = str(stored.read(version)["tables"])
    assert not re.search(r"/(?:home|root|Users|tmp|var|mnt)/", text)


@pytest.mark.parametrize("version", stored.released())
def test_a_database_is_filled_in_every_table(version):
    tables = stored.read(version)["tables"]

    assert [name for name, table in tables.items() if not table["rows"]] == [], (
        "Give a new table a row in tests/factories/everything.py, and make the database again."
    )


@pytest.mark.parametrize("app", stored.OURS)
def test_the_migrations_of_an_app_are_one_line(app):
    names = sorted(name for owner, name in MigrationLoader(None).disk_migrations if owner == app)
    migrations = MigrationLoader(None).disk_migrations

    assert [int(name[:4]) for name in names] == list(range(1, len(names) + 1))
    for before, name in zip([None, *names], names, strict=False):
        own = [key for owner, key in migrations[app, name].dependencies if owner == app]
        assert own == ([before] if before else [])
        assert not migrations[app, name].replaces


def test_the_newest_version_is_the_schema_of_today():
    leaves = dict(
        node for node in MigrationLoader(None).graph.leaf_nodes() if node[0] in stored.OURS
    )

    assert stored.read(VERSIONS[0])["migrations"] == leaves, (
        "The schema has changed: name a version in CHANGELOG.md, and write its database with "
        "`python -m tests.upgrades.make VERSION`."
    )


@pytest.mark.django_db
def test_no_model_has_changed_without_a_migration(capsys):
    try:
        call_command("makemigrations", check=True, dry_run=True)
    except SystemExit:
        pytest.fail(f"Run `manage.py makemigrations`:\n{capsys.readouterr().out}")
