"""The lock files install the same everywhere, and from nowhere in particular."""

import re
from importlib import metadata
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

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


def asked(text):
    """Return what the lines of a requirements file ask for, as `Requirement`s."""
    lines = re.sub(r"\\\n.*", "", text).splitlines()
    return [Requirement(line) for line in lines if re.match(r"\w", line)]


def wanted_with_extras(pinned):
    """Yield (who, `Requirement`) for all that installed packages of a lock want with an extra."""
    for pin in pinned:
        try:
            needs = metadata.requires(pin.name) or []
        except metadata.PackageNotFoundError:  # of another system
            continue
        for need in map(Requirement, needs):
            cases = [{"extra": extra} for extra in ("", *pin.extras)]
            if need.extras and (not need.marker or any(map(need.marker.evaluate, cases))):
                yield pin.name, need


def missing_extras(source, lock):
    """Return what is asked for with an extra and pinned without it, which pip then refuses."""
    pinned = asked(lock)
    extras = {canonicalize_name(pin.name): pin.extras for pin in pinned}
    wants = [("the source", one) for one in asked(source) if one.extras]
    return {
        f"{who} wants {need.name}[{extra}]"
        for who, need in [*wants, *wanted_with_extras(pinned)]
        for extra in need.extras - extras.get(canonicalize_name(need.name), set())
    }


@pytest.mark.parametrize(("source", "lock"), list(zip(SOURCES, LOCKS, strict=True)))
def test_what_is_wanted_with_an_extra_is_locked_with_it(source, lock):
    texts = [(ROOT / name).read_text(encoding="utf-8") for name in (source, lock)]

    assert missing_extras(*texts) == set()


@pytest.mark.parametrize(
    ("at", "locked", "refused"),
    [
        (1, "coverage[toml]", "pytest-cov wants coverage[toml]"),
        (0, "fonttools[woff]", "weasyprint wants fonttools[woff]"),
        (0, "psycopg[binary]", "the source wants psycopg[binary]"),
    ],
)
def test_a_lock_without_an_extra_is_refused(at, locked, refused):
    source, lock = ((ROOT / names[at]).read_text(encoding="utf-8") for names in (SOURCES, LOCKS))
    assert f"\n{locked}==" in lock

    assert missing_extras(source, lock.replace(locked, locked.split("[")[0])) == {refused}


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
