"""The archive of a release: what a maker unpacks and starts by a double click."""

import io
import json
import os
import shutil
import subprocess
import tarfile
import tempfile
import tomllib
import zipfile
from datetime import UTC, datetime
from pathlib import Path

from launch.home import CODE, RELEASE, Home, code_of
from launch.system import ROOT, SetUpError, say

FOLDER = "Pourwright"
# What of the project goes along: the program, and nothing that only its makers need.
FOLDERS = (*CODE, "templates")
FILES = ("run.py", "manage.py", "requirements.txt", "gunicorn.conf.py", "LICENSE")
STARTERS = Path("launch", "starters")
# What each starter is made of, and whether it lets the home network in.
STARTED = {
    "on Windows.bat": "windows.bat",
    "on macOS.command": "unix.sh",
    "on Linux.sh": "unix.sh",
    "on Linux.desktop": "linux.desktop",
}
ALONE, AT_HOME = "Start Pourwright", "Start for the home network"
RUNS = (".sh", ".command", ".desktop")


def build(home: Home, to: str) -> Path:
    """Write the archive of the commit that is checked out; the same commit gives the same bytes.

    Raises `SetUpError` where there is nothing to tell of what is new in this version.
    """
    if _git("status", "--porcelain"):
        say("What is not committed is not in it.")
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch, FOLDER)
        version = _unpack_commit(folder)
        _collect(home, folder)
        told = {
            "version": version,
            "commit": _git("rev-parse", "HEAD").decode().strip(),
            "code": code_of(folder),
        }
        (folder / RELEASE).write_text(json.dumps(told, indent=1) + "\n", encoding="utf-8")
        target = Path(to, f"pourwright-{version}.zip")
        target.parent.mkdir(parents=True, exist_ok=True)
        _zip(folder, target, datetime.fromtimestamp(int(_git("log", "-1", "--format=%ct")), UTC))
    return target


def _git(*command: str) -> bytes:
    try:
        return subprocess.run(["git", *command], cwd=ROOT, check=True, capture_output=True).stdout
    except (OSError, subprocess.CalledProcessError):
        raise SetUpError(
            "An archive is made of what is committed; git does not know this."
        ) from None


def _unpack_commit(folder: Path) -> str:
    """Write what goes along into a folder, with its starters; return the version."""
    with tarfile.open(fileobj=io.BytesIO(_git("archive", "HEAD"))) as committed:
        wanted = [one for one in committed if _goes_along(one.name)]
        committed.extractall(folder, members=wanted, filter="data")
        read = {name: committed.extractfile(name) for name in ("pyproject.toml", "docs/news.md")}
        texts = {name: file.read().decode() for name, file in read.items() if file}
    version = str(tomllib.loads(texts["pyproject.toml"])["project"]["version"])
    news = texts["docs/news.md"]
    if f"\n## {version}\n" not in news:
        raise SetUpError(f"docs/news.md does not say what is new in {version}. Write it there.")
    # From the first version on, without what is said to who makes releases.
    told = "WHAT IS NEW\n\n" + news[news.index("\n## ") + 1 :].replace("## ", "Pourwright ")
    (folder / "What is new.txt").write_text(told, encoding="utf-8")
    readme = (folder / STARTERS / "READ ME FIRST.txt").read_text(encoding="utf-8")
    (folder / "READ ME FIRST.txt").write_text(
        readme.replace("@VERSION@", version), encoding="utf-8", newline="\r\n"
    )
    for name, text in starters(folder / STARTERS).items():
        (folder / name).write_bytes(text)
    return version


def _goes_along(name: str) -> bool:
    return name in FILES or name.partition("/")[0] in FOLDERS


def starters(folder: Path) -> dict[str, bytes]:
    """Return {name: text} of what is double-clicked, made of the texts in a folder."""
    made = {}
    for name, source in STARTED.items():
        text = (folder / source).read_text(encoding="utf-8")
        both = {ALONE: ""} if name.endswith(".desktop") else {ALONE: "", AT_HOME: "--lan "}
        for what, options in both.items():
            lines = text.replace("@OPTIONS@", options)
            ends = "\r\n" if name.endswith(".bat") else "\n"
            made[f"{what} {name}"] = lines.replace("\n", ends).encode()
    return made


def _collect(home: Home, folder: Path) -> None:
    """Collect the program's files for browsers, once for all who unpack it."""
    with tempfile.TemporaryDirectory() as nowhere:
        settings = {
            "SECRET_KEY": "for-collecting-files-only-and-never-written-anywhere-else",
            "DATA_DIR": nowhere,
            "STATIC_FROM_SOURCE": "False",
            "STATIC_ROOT": str(folder / "staticfiles"),
            "PYTHONDONTWRITEBYTECODE": "1",
            "DJANGO_SETTINGS_MODULE": "studio.settings",
        }
        command = ["manage.py", "collectstatic", "--no-input", "--verbosity=0"]
        done = subprocess.run([str(home.python()), *command], cwd=folder, env=os.environ | settings)
    if done.returncode:
        raise SetUpError("Collecting the files did not work; the lines above say why.")
    for cached in folder.rglob("__pycache__"):
        shutil.rmtree(cached)


def _zip(folder: Path, target: Path, moment: datetime) -> None:
    """Write a folder as an archive that keeps which files run, and tells no machine or hour."""
    with zipfile.ZipFile(target, "w") as archive:
        for path in sorted(path for path in folder.rglob("*") if path.is_file()):
            name = path.relative_to(folder.parent).as_posix()
            entry = zipfile.ZipInfo(name, moment.timetuple()[:6])
            entry.create_system = 3  # Unix, so that the mode below is read
            runs = path.parent == folder and path.suffix in RUNS
            entry.external_attr = (0o755 if runs else 0o644) << 16
            entry.compress_type = zipfile.ZIP_DEFLATED
            archive.writestr(entry, path.read_bytes())
