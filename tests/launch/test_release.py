"""The archive of a release: what is in it, and what a double click does with it on Linux.

Windows and macOS cannot be tried here; their starters are read as texts. By hand only: a first
start that fetches every package.
"""

import configparser
import json
import os
import re
import shutil
import stat
import subprocess
import sys
import urllib.error
import urllib.request
import zipfile
from urllib.parse import urlencode
from urllib.request import HTTPCookieProcessor, build_opener

import pytest
import zxingcpp
from PIL import Image

from launch.archive import starters
from launch.network import find_network
from launch.system import ROOT, SetUpError
from tests.launch.computer import Computer

TEXTS = starters(ROOT / "launch" / "starters")
LEFT_OUT = {"tests", ".ci", "docs", "deploy", ".git", ".venv"}
WHEN = {"GIT_AUTHOR_DATE": "2026-05-01T12:00:00Z", "GIT_COMMITTER_DATE": "2026-05-01T12:00:00Z"}


def git(folder, *command):
    who = ["-c", "user.name=Ana", "-c", "user.email=ana@kelp.example", "-c", "safe.directory=*"]
    asked = ["git", *who, *command]
    return subprocess.run(asked, cwd=folder, env=os.environ | WHEN, check=True, capture_output=True)


@pytest.fixture(scope="module")
def build(tmp_path_factory):
    """Return a function that makes an archive of what is in the folder now, in a new repository."""

    def build():
        folder = tmp_path_factory.mktemp("checkout")
        for name in git(ROOT, "ls-files", "-co", "--exclude-standard").stdout.decode().splitlines():
            if name.split("/")[0] not in {"tests", ".ci"} and (ROOT / name).is_file():
                (folder / name).parent.mkdir(parents=True, exist_ok=True)
                shutil.copy(ROOT / name, folder / name)
        (folder / ".venv").symlink_to(sys.prefix)
        git(folder, "init", "-q")
        git(folder, "add", ".")
        git(folder, "commit", "-q", "-m", "All of it")
        made = subprocess.run(
            [sys.executable, "run.py", "archive", "--to", folder / "dist"],
            cwd=folder,
            capture_output=True,
            text=True,
        )
        assert made.returncode == 0, made.stderr
        (archive,) = (folder / "dist").iterdir()
        assert f"Wrote {archive}" in made.stdout
        return archive

    return build


@pytest.fixture(scope="module")
def archive(build):
    return build()


def test_the_same_commit_gives_the_same_bytes(archive, build):
    assert build().read_bytes() == archive.read_bytes()


def test_it_holds_the_program_its_version_and_what_is_new(archive):
    with zipfile.ZipFile(archive) as read:
        entries = {entry.filename.partition("/")[2]: entry for entry in read.infolist()}
        release = json.loads(read.read("Pourwright/RELEASE"))
        readme = read.read("Pourwright/READ ME FIRST.txt").decode()
        news = read.read("Pourwright/What is new.txt").decode()
        static = json.loads(read.read("Pourwright/staticfiles/staticfiles.json"))["paths"]

    version = release["version"]
    assert archive.name == f"pourwright-{version}.zip"
    assert readme.startswith(f"POURWRIGHT {version}\r\n")
    assert f"Pourwright {version}\n" in news
    assert {name.split("/")[0] for name in entries} & LEFT_OUT == set()
    assert not [name for name in entries if "__pycache__" in name or name.endswith(".sqlite3")]
    assert f"staticfiles/{static['studio/icons.svg']}" in entries
    runs = {name for name, entry in entries.items() if entry.external_attr >> 16 & stat.S_IXUSR}
    assert runs == {name for name in TEXTS if not name.endswith(".bat")}
    assert set(TEXTS) <= set(entries)


@pytest.mark.parametrize("name", [name for name in TEXTS if name.endswith(".bat")])
def test_the_starter_of_windows_reads_as_its_shell_wants_it(name):
    text = TEXTS[name].decode("ascii")  # so that it is the same in every code page
    options = "--lan " if "home network" in name else ""

    assert text.count("\r\n") == text.count("\n") == len(text.splitlines())
    lines = text.splitlines()
    assert lines[0] == "@echo off"
    assert 'cd /d "%~dp0"' in lines  # folders with spaces in their names
    assert f"py -3 run.py {options}%*" in lines
    assert f"python run.py {options}%*" in lines
    labels = {line[1:] for line in lines if line.startswith(":")}
    assert {line.split("goto ")[1] for line in lines if "goto " in line} == labels
    assert "https://www.python.org/downloads/" in text
    # Where something is wrong the window stays, so that it can be read.
    assert lines.count("if errorlevel 1 pause") == 2 and lines.count("pause") == 2


@pytest.mark.parametrize("name", [name for name in TEXTS if name.endswith((".sh", ".command"))])
def test_the_starters_of_linux_and_macos_are_good_shell(name, tmp_path):
    file = tmp_path / name
    file.write_bytes(TEXTS[name])
    options = "--lan " if "home network" in name else ""

    assert subprocess.run(["sh", "-n", file]).returncode == 0
    assert f'"$found" run.py {options}"$@"' in TEXTS[name].decode()
    assert b"\r" not in TEXTS[name]


def started(tmp_path, command, python="print('started', *sys.argv[1:])"):
    """Run a starter in a folder whose ``run.py`` only tells how it was started."""
    folder = tmp_path / "My things, new"
    folder.mkdir()
    (folder / "run.py").write_text(f"import sys\n{python}\n")
    for name, text in TEXTS.items():
        (folder / name).write_bytes(text)
    return subprocess.run(
        command(folder), cwd="/", input="\n", capture_output=True, text=True, timeout=20
    )


@pytest.mark.parametrize("name", [name for name in TEXTS if name.endswith((".sh", ".command"))])
def test_a_double_click_starts_the_program_wherever_it_lies(name, tmp_path):
    done = started(tmp_path, lambda folder: ["sh", folder / name, "--port", "8123"])

    expected = "started --lan --port 8123" if "home network" in name else "started --port 8123"
    assert (done.returncode, done.stdout.strip()) == (0, expected)


def test_a_double_click_on_a_linux_desktop_does_so_too(tmp_path):
    """As the Desktop Entry Specification 1.5 reads it: text first, then quotes, then %k."""

    def command(folder):
        entry = configparser.RawConfigParser()
        entry.read(folder / "Start Pourwright on Linux.desktop")
        asked = entry["Desktop Entry"]["Exec"].replace("\\\\", "\\")
        file = str(folder / "Start Pourwright on Linux.desktop")
        words = re.findall(r'"((?:\\.|[^"\\])*)"|(\S+)', asked)
        named = (re.sub(r"\\(.)", r"\1", quoted) or plain for quoted, plain in words)
        return [file if word == "%k" else word for word in named]

    assert started(tmp_path, command).stdout.strip() == "started"


def test_the_window_stays_where_it_fails(tmp_path):
    name = "Start Pourwright on Linux.sh"
    done = started(tmp_path, lambda folder: ["sh", folder / name], "sys.exit(3)")

    assert done.returncode == 3
    assert "Press Enter to close this window." in done.stdout


# What a person does with it


@pytest.mark.skipif(sys.platform != "linux", reason="the starter of Linux")
def test_whoever_starts_it_first_opens_a_studio_and_nobody_after_them(archive, tmp_path):
    computer = Computer(tmp_path, is_new=True)
    starter = computer.unpack(archive)
    network = computer.start(starter.with_name("Start for the home network on Linux.sh"))
    assert "There is no studio here yet" in network.communicate(timeout=60)[0]

    with computer.running(starter) as said:
        assert "brought up" not in said
        browser = build_opener(HTTPCookieProcessor())
        page = browser.open(f"{computer.url}start/").read().decode()
        token = re.search(r'name="csrfmiddlewaretoken" value="(\w+)"', page)[1]
        answers = {
            "csrfmiddlewaretoken": token,
            "studio_name": "Kelp Yard",
            "person": "Ana",
            "email": "ana@kelp.example",
            "password": "velvet kettle orchard",
        }
        home = browser.open(f"{computer.url}start/", urlencode(answers).encode())
        first = f"{computer.url}starting/"
        assert (home.url, "Kelp Yard" in home.read().decode()) == (first, True)
        assert "Open a studio" not in computer.ask("start/")[1]
    assert stat.S_IMODE((computer.data / "studio.sqlite3").stat().st_mode) == 0o600


def newer(archive, folder):
    """Return an archive of the same program under a later version."""
    later = folder / "later.zip"
    with zipfile.ZipFile(archive) as old, zipfile.ZipFile(later, "w") as new:
        for entry in old.infolist():
            text = old.read(entry)
            if entry.filename == "Pourwright/RELEASE":
                text = json.dumps(json.loads(text) | {"version": "99.0"}).encode()
            new.writestr(entry, text)
    return later


@pytest.fixture
def computer(tmp_path):
    return Computer(tmp_path)


@pytest.mark.skipif(sys.platform != "linux", reason="the starter of Linux")
def test_a_maker_starts_it_twice_closes_it_and_updates_it(computer, archive, tmp_path):
    starter = computer.unpack(archive)
    with computer.running(starter, **computer.without_pango) as said:
        assert "Until then no papers are printed" in said
        (backup,) = (computer.data / "backups").iterdir()
        assert str(backup) in said
        second = computer.start(starter)
        assert f"Pourwright runs already: {computer.url}" in second.communicate(timeout=20)[0]
        assert computer.opened.read_text().split() == [f"{computer.url}start/", computer.url]
        status, page = computer.ask("sign-in/")
        assert (status, "Open a studio" in page) == (200, False)
        style = re.search(r'href="/(static/studio/[^"]+\.css)"', page)[1]
        assert computer.ask(style)[0] == 200
        assert re.search(r"\.[0-9a-f]{12}\.css$", style)  # collected, not from source
    settings = (computer.data / ".env").read_text()
    assert "OPEN_TO_FIRST=True" in settings and "STATIC_FROM_SOURCE" not in settings
    for private in (".env", "backups"):
        assert not (computer.data / private).stat().st_mode & 0o077, private

    starter = computer.unpack(newer(archive, tmp_path))
    with computer.running(starter) as said:
        assert "Until then" not in said and "brought up" not in said
        assert computer.ask("sign-in/")[0] == 200
    assert (computer.data / ".env").read_text() == settings
    assert computer.asked_of("SELECT count(*) FROM pricing_quote")[0] > 1


def scanned(printed):
    """Return what the code says that was printed in blocks, read by another's reader.

    Each character is two modules, one above the other; a full block is light.
    """
    rows = [line for line in printed.splitlines() if set(line) & set("▀▄█")]
    light = [[c in "█▀" for c in row] for row in rows], [[c in "█▄" for c in row] for row in rows]
    lines = [line for both in zip(*light, strict=True) for line in both]
    picture = Image.new("L", (len(lines[0]), len(lines)))
    picture.putdata([255 * one for line in lines for one in line])
    large = picture.resize((picture.width * 6, picture.height * 6), Image.Resampling.NEAREST)
    return [found.text for found in zxingcpp.read_barcodes(large)]


@pytest.mark.skipif(sys.platform != "linux", reason="the starter of Linux")
def test_the_home_network_is_let_in_by_another_double_click(computer, archive):
    try:
        found = find_network()
    except SetUpError:
        pytest.skip("this machine is in no network")
    starter = computer.unpack(archive).with_name("Start for the home network on Linux.sh")
    url = f"http://{found.host}:{computer.port}/"

    with computer.running(starter) as said:
        while "\n▀▀▀" not in said and "Where that name" not in said:
            said += computer.process.stdout.readline()
        assert said.index("not encrypted") < said.index("is at http")
        assert f"open {url} or scan" in said
        assert scanned(said) == [url]
        for host, status in (
            (found.host, 200),
            (found.number, 200),
            ("127.0.0.1", 200),
            ("elsewhere.example", 400),
        ):
            asked = urllib.request.Request(
                f"http://{found.number}:{computer.port}/sign-in/",
                headers={"Host": f"{host}:{computer.port}"},
            )
            assert answered(asked) == status, host


def answered(asked):
    try:
        with urllib.request.urlopen(asked) as answer:
            return answer.status
    except urllib.error.HTTPError as error:
        return error.code


def test_a_folder_unpacked_over_an_older_one_is_refused_in_words(computer, archive):
    starter = computer.unpack(archive)
    (starter.parent / "studio" / "migrations" / "0099_of_another.py").write_text("")

    said, _ = computer.start(starter).communicate(timeout=20)

    assert "files of two versions" in said and "Your data lie elsewhere" in said
    assert not (computer.data / ".env").exists()
