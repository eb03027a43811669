"""The lock files install the same everywhere, and from nowhere in particular."""

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
SOURCES = ("requirements.in", "requirements-dev.in")
LOCKS = ("requirements.txt", "requirements-dev.txt")


def pins(name):
    """Return what a requirements file pins, as (name, version, marker)."""
    lines = (ROOT / name).read_text(encoding="utf-8").splitlines()
    pinned = [
        re.match(r"([\w.-]+)(?:\[[\w,]+\])?==([^\s;]+)\s*(?:;\s*([^\\]+))?", line) for line in lines
    ]
    return {
        (re.sub(r"[-_.]+", "-", pin[1]).lower(), pin[2], (pin[3] or "").strip().replace('"', "'"))
        for pin in pinned
        if pin
    }


@pytest.mark.parametrize(("source", "lock"), list(zip(SOURCES, LOCKS, strict=True)))
def test_everything_asked_for_is_locked_as_asked(source, lock):
    assert pins(source) - pins(lock) == set()


@pytest.mark.parametrize("source", SOURCES)
def test_everything_asked_for_has_a_version(source):
    lines = [line for line in (ROOT / source).read_text(encoding="utf-8").splitlines() if line]

    assert [line for line in lines if "==" not in line] in ([], ["-c requirements.txt"])


def test_both_locks_agree():
    versions = {}
    for lock in LOCKS:
        for name, version, marker in pins(lock):
            versions.setdefault((name, marker), set()).add(version)

    assert {key: found for key, found in versions.items() if len(found) > 1} == {}


@pytest.mark.parametrize("lock", LOCKS)
def test_every_locked_version_has_its_hashes(lock):
    text = (ROOT / lock).read_text(encoding="utf-8")

    entries = re.split(r"\n(?=[a-zA-Z])", text)[1:]

    assert [entry.split()[0] for entry in entries if "--hash=sha256:" not in entry] == []
    assert len(entries) == len(re.findall(r"^[\w.-]+(?:\[[\w,]+\])?==", text, re.M))


@pytest.mark.parametrize("lock", LOCKS)
def test_locks_name_no_place_to_fetch_from(lock):
    lines = (ROOT / lock).read_text(encoding="utf-8").splitlines()

    assert [line for line in lines if "://" in line or line.startswith("-")] == []
