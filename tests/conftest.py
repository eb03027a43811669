"""Who asks: an owner, two makers and a viewer of a studio, an owner of another, and a stranger."""

from dataclasses import dataclass
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.db import connection
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder
from django.test import Client

from studio.models import Studio
from studio.tokens import create_token
from tests.api.described import DescribedClient
from tests.exactness import only_exact_queries
from tests.factories.studio import MembershipFactory, StudioFactory

# Years lived at random, every page in a browser, every address: where the longest tests are.
LONG = {"living", "browser", "journeys", "running", "test_doors.py", "test_hidden_ways.py"}
LONG |= {"test_submit_as_offered.py", "test_readers.py", "test_sight.py"}
DATABASE_FIXTURES = {"db", "transactional_db", "live_server"}


@dataclass(frozen=True)
class Person:
    """Somebody with a browser and an API client; both signed in, unless it is a stranger."""

    user: User | None
    studio: Studio | None
    client: Client
    api: Any

    @property
    def membership(self):
        return self.studio.memberships.get(user=self.user)


def member(studio, role, **more):
    """Return a new member of the studio, signed in, with a token."""
    user = MembershipFactory(studio=studio, role=role, **more).user
    client = Client()
    client.force_login(user)
    _, secret = create_token(studio=studio, user=user, label=f"Token of {user}")
    api = DescribedClient()
    api.credentials(HTTP_AUTHORIZATION=f"Token {secret}")
    return Person(user, studio, client, api)


@pytest.fixture(scope="session", autouse=True)
def exact_queries():
    """Nothing is worked out of amounts by the database but in whole steps, in any test."""
    with only_exact_queries():
        yield


@pytest.fixture(scope="session")
def django_db_setup(django_db_setup, django_db_blocker):
    """A database that knows its migrations as done, though they were not run to make it."""
    with django_db_blocker.unblock():
        recorder = MigrationRecorder(connection)
        recorder.ensure_schema()
        rows = MigrationLoader(connection).disk_migrations
        recorder.migration_qs.all().delete()
        recorder.migration_qs.bulk_create(
            [recorder.Migration(app=app, name=name) for app, name in rows]
        )
    yield
    if connection.vendor == "postgresql":
        # A thread or a program that a test ended may still be on its way out, and PostgreSQL drops
        # no database that somebody is connected to.
        with django_db_blocker.unblock(), connection.cursor() as cursor:
            cursor.execute(
                "SELECT pg_terminate_backend(pid) FROM pg_stat_activity"
                " WHERE datname = current_database() AND pid <> pg_backend_pid()"
            )


@pytest.fixture
def studio(db):
    return StudioFactory()


@pytest.fixture
def owner(studio):
    return member(studio, "owner")


@pytest.fixture
def maker(studio):
    """A maker whom the owner trusts with costs; see `hand`."""
    return member(studio, "maker", sees_costs=True)


@pytest.fixture
def hand(studio):
    """A maker who is not trusted with costs."""
    return member(studio, "maker")


@pytest.fixture
def viewer(studio):
    return member(studio, "viewer")


@pytest.fixture
def other_owner(db):
    """An owner of another studio, who must not find anything of the first."""
    return member(StudioFactory(), "owner")


@pytest.fixture
def stranger(db):
    """Somebody who has not signed in and has no token."""
    return Person(None, None, Client(), DescribedClient())


def pytest_addoption(parser):
    told = "years to live at random, such as 1-20 or 7,9 (tests/living)"
    parser.addoption("--seeds", default="", metavar="NUMBERS", help=told)
    told = "print every answer of each year that is lived, with why what was refused was refused"
    parser.addoption("--diary", action="store_true", help=told)


def pytest_collection_modifyitems(items):
    """Mark what uses the database, skip what this database lacks, put what is long first."""
    # The few files with long tests come first, so that no worker waits for another at the end.
    items.sort(key=lambda item: not set(item.path.parts) & LONG)
    # SQLite has one writer at a time, so there is nothing to wait for in a ring.
    wants_row_locks = pytest.mark.skip(reason="needs PostgreSQL's row locks; set DATABASE_URL")
    for item in items:
        fixtures = set(getattr(item, "fixturenames", ()))
        if fixtures & DATABASE_FIXTURES or item.get_closest_marker("django_db"):
            item.add_marker(pytest.mark.database)
        if item.get_closest_marker("postgres") and connection.vendor != "postgresql":
            item.add_marker(wants_row_locks)
