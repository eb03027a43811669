"""docs/running.md, typed as it stands: a site served, mailing, backed up, upgraded, brought back.

One story, in the order of its tests; each goes on where the one before left the machine.
"""

import json
import re
import shutil
import sqlite3
import subprocess
import sys
import time
import urllib.error
import urllib.request
from contextlib import ExitStack

import pytest
from django.db.migrations.loader import MigrationLoader

from tests.letters import mail_server
from tests.running import page
from tests.running.machine import Machine, is_debian
from tests.running.proxies import PROXIES, find
from tests.running.stand_ins import CHECKOUT
from tests.running.visitor import SITE, files_of
from tests.upgrades import stored

pytestmark = pytest.mark.skipif(not is_debian(), reason="the page is for Debian, with openssl")

OWNER, PASSWORD = "ana@pour.example", "velvet kettle orchard"
YOURS = {"YOUR.NAME": SITE, "ADDRESS": "https://elsewhere.example/pourwright.git"}
PATIENCE = 120  # [s], for what takes seconds on a quiet machine
LINK = re.compile(rf"https://{re.escape(SITE)}/password/\S+")
BROTLI = {"Accept-Encoding": "br"}
THEIRS = "ada@lanternfish.example"  # who owns the studio in it


def eventually(what):
    """Return what a function returns as soon as that is something."""
    until = time.monotonic() + PATIENCE
    while not (found := what()):
        assert time.monotonic() < until, "It did not come to be in time."
        time.sleep(0.2)
    return found


def health(machine, name="ready"):
    """Return the status and words of the site's own account of itself, 0 while it is silent."""
    try:
        with urllib.request.urlopen(f"http://127.0.0.1:{machine.port}/health/{name}") as answer:
            return answer.status, json.load(answer)
    except urllib.error.HTTPError as error:
        return error.code, json.load(error)
    except OSError:
        return 0, {}


def is_up(machine):
    return health(machine, "live")[0] == 200


@pytest.fixture(scope="module")
def post():
    """A mail server: its port, and the mails it took."""
    with mail_server() as served:
        yield served


@pytest.fixture(scope="module")
def machine(tmp_path_factory, post):
    """A machine on which the first commands of the page were typed."""
    answers = {"EMAIL_URL": f"smtp://127.0.0.1:{post[0]}", "DEFAULT_FROM_EMAIL": OWNER}
    machine = Machine.made(tmp_path_factory.mktemp("machine"), json.dumps(answers))
    with ExitStack() as over:
        over.callback(machine.stop)
        machine.said = machine.type(*page.commands(page.FIRST), words=YOURS)
        eventually(lambda: is_up(machine))
        yield machine


@pytest.fixture(scope="module")
def visitor(machine):
    """Somebody's browser, behind the proxy that the page sets up, or else nginx."""
    name = next((name for name in PROXIES if find(name)), None)
    if name is None:
        pytest.skip("neither caddy nor nginx is installed")
    with PROXIES[name](machine) as visitor:
        yield visitor


@pytest.fixture(scope="module", params=PROXIES)
def behind(request, machine):
    """Somebody's browser behind each proxy in turn."""
    if not find(request.param):
        pytest.skip(f"{request.param} is not installed")
    with PROXIES[request.param](machine) as visitor:
        yield visitor


def test_the_site_says_that_it_is_ready(machine):
    status, told = health(machine)

    assert (status, told["ready"]) == (200, True), told
    assert "proxy" not in told
    assert f"Ready to be served at https://{SITE}/" in machine.said


def test_secrets_and_data_are_the_accounts_own(machine):
    settings = (machine.app / ".env").read_text()

    assert re.search(r"^SECRET_KEY=[0-9a-f]{64}$", settings, re.M)
    assert "OPEN_SIGN_UP=False" in settings
    assert (machine.app / ".env").stat().st_mode & 0o777 == 0o640
    assert (machine.data / "studio.sqlite3").exists()
    made = {path.name for path in machine.app.iterdir()}
    assert made - {path.name for path in CHECKOUT.iterdir()} <= {".env", ".venv", "__pycache__"}


def test_pages_come_with_their_files_behind_each_proxy(behind):
    pages = [behind.open(address) for address in ("/sign-in/", "/api/v1/docs/")]
    files = [files_of(text) for _, text in pages]
    answers = [behind.ask("GET", one, **BROTLI) for found in files for one in found]

    assert [status for status, _ in pages] == [200, 200]
    assert behind.open("/nowhere/")[0] == 404
    assert "Open a studio" not in pages[0][1]
    assert min(map(len, files)) >= 4
    assert {status for status, _, _ in answers} == {200}
    assert all("immutable" in headers["Cache-Control"] for _, headers, _ in answers)
    assert any(headers["Content-Encoding"] == "br" for _, headers, _ in answers)


def test_what_a_visitor_says_of_their_address_counts_for_nothing(behind, machine):
    """So that five wrong passwords lock them out, whatever they say."""
    name = f"{behind.port}@pour.example"
    token = re.search(r'csrfmiddlewaretoken" value="(\w+)"', behind.open("/sign-in/")[1])[1]
    body = f"csrfmiddlewaretoken={token}&username={name}&password=wrong"

    statuses = [
        behind.ask("POST", "/sign-in/", body, **{"X-Forwarded-For": f"203.0.113.{number}"})[0]
        for number in range(5)
    ]

    assert statuses == [200, 200, 200, 200, 429]
    with sqlite3.connect(machine.data / "studio.sqlite3") as rows:
        asked = "SELECT DISTINCT ip_address FROM axes_accessattempt WHERE username = ?"
        assert rows.execute(asked, [name]).fetchall() == [("127.0.0.1",)]


def test_the_owner_chooses_a_password_and_signs_in(machine, visitor):
    link = LINK.findall(machine.said)[-1]

    assert visitor.choose_password(link, PASSWORD) == (302, "/sign-in/")
    assert visitor.sign_in(OWNER, PASSWORD) == (302, "/")
    status, text = visitor.open("/")
    assert status == 200
    assert "Blue Heron" in text
    assert "1 use" not in text
    assert visitor.ask("GET", link.removeprefix(f"https://{SITE}"))[0] == 200  # no longer leads on


def test_a_forgotten_password_comes_by_mail(post, visitor):
    visitor.send("/password/forgotten/", email=OWNER)

    mail = eventually(lambda: post[1] and post[1][0])

    assert mail["To"] == OWNER
    assert mail["From"] == OWNER
    link = LINK.search(mail.get_content())[0]
    assert visitor.choose_password(link, PASSWORD) == (302, "/sign-in/")


def test_the_worker_makes_the_backup_of_the_night(machine):
    backups = machine.data / "backups"

    eventually(lambda: list(backups.glob("*.backup")))

    told = eventually(lambda: (told := health(machine)[1])["work"] == "No job waits." and told)
    assert told["well"], machine.log("pourwright-worker")


def test_the_books_are_proved_by_what_their_unit_starts(machine):
    unit = machine.unit("pourwright-books")
    said = machine.type(f"cd {unit['WorkingDirectory']}", unit["ExecStart"])

    assert "The books agree" in said
    assert machine.unit("pourwright-books.timer")["WantedBy"] == "timers.target"


def customers(visitor):
    visitor.sign_in(OWNER, PASSWORD)
    return set(re.findall(r"Before Ltd|After Ltd", visitor.open("/customers/")[1]))


def add_customer(visitor, name):
    sent = {"name": name, "email": "", "phone": "", "address": "", "notes": ""}
    assert visitor.send("/customers/new/", **sent)[0] == 302


def test_a_backup_comes_back_by_the_pages_own_words(machine, visitor):
    visitor.sign_in(OWNER, PASSWORD)
    add_customer(visitor, "Before Ltd")
    file = machine.type(page.commands("Upgrading")[0]).split()[-1]
    add_customer(visitor, "After Ltd")
    assert customers(visitor) == {"Before Ltd", "After Ltd"}

    said = machine.type(*page.commands("Bringing a backup back"), words={"FILE": file})

    assert "The books agree" in said
    eventually(lambda: is_up(machine))
    assert customers(visitor) == {"Before Ltd"}


def older_version():
    """Return the newest released version whose schema is not today's."""
    leaves = MigrationLoader(None).graph.leaf_nodes()
    todays = {app: name for app, name in leaves if app in stored.OURS}
    return next(
        version
        for version in reversed(stored.released())
        if stored.read(version)["migrations"] != todays
    )


def put_in(machine, version):
    """Put a filled database of a released version in the place of the machine's."""
    file = machine.data / "studio.sqlite3"
    for suffix in ("", "-wal", "-shm"):
        file.with_name(file.name + suffix).unlink(missing_ok=True)
    subprocess.run(
        [sys.executable, "-m", "tests.running.older", version],
        cwd=CHECKOUT,
        env=machine.environment
        | {"DATABASE_URL": f"sqlite:///{file}", "DJANGO_SETTINGS_MODULE": "tests.settings"},
        check=True,
    )


def test_an_older_filled_database_is_upgraded_by_the_pages_own_words(machine, visitor):
    """The first command, a backup by the program as it was, is what the test before this types."""
    _, stop, *rest = page.commands("Upgrading")
    machine.type(stop)
    assert health(machine)[0] == 0
    put_in(machine, older_version())

    machine.type(*rest)

    eventually(lambda: is_up(machine))
    assert health(machine)[0] == 200
    (link,) = LINK.findall(
        machine.type(*page.commands("A forgotten password"), words={OWNER: THEIRS})
    )
    visitor.choose_password(link, PASSWORD)
    assert visitor.sign_in(THEIRS, PASSWORD) == (302, "/")
    assert "Lanternfish" in visitor.open("/")[1]
    unit = machine.unit("pourwright-books")
    assert "The books agree" in machine.type(f"cd {unit['WorkingDirectory']}", unit["ExecStart"])


def test_a_database_of_an_older_program_is_told_while_it_is_served(machine):
    file = machine.data / "studio.sqlite3"
    with sqlite3.connect(file) as rows:
        rows.execute("DELETE FROM django_migrations WHERE app = 'studio' AND name LIKE '0011%'")
    status, told = health(machine)

    assert (status, told["ready"]) == (503, False)


def test_a_machine_that_lacks_its_database_says_so(machine):
    shutil.move(machine.data, machine.data.with_name("elsewhere"))
    _, told = eventually(lambda: (answer := health(machine))[0] == 503 and answer)

    assert "does not answer" in told["database"] or "older program" in told["database"]
    assert is_up(machine)
