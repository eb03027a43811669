"""The machine it is on: saying things, running commands, and what only a person can install."""

import os
import shutil
import subprocess
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent.parent
WINDOWS = os.name == "nt"


class SetUpError(Exception):
    """Something is missing that only the person at the keyboard can give; its text says what."""


def say(text: str) -> None:
    """Print at once, also where what is printed is kept in a file."""
    print(text, flush=True)


def call(*command: object, **options: Any) -> int:
    """Run a command in the project's folder and return its exit status."""
    return subprocess.run([str(part) for part in command], cwd=ROOT, **options).returncode


def must(what: str, *command: object) -> None:
    """Run a command; raise `SetUpError` where it fails, which has said why itself."""
    if call(*command) != 0:
        raise SetUpError(f"{what} did not work; the lines above say why.")


def is_debian(os_release: str) -> bool:
    """Tell from the text of os-release whether this is Debian, Ubuntu or a child of theirs."""
    facts = dict(line.split("=", 1) for line in os_release.splitlines() if "=" in line)
    names = (facts.get("ID", "") + " " + facts.get("ID_LIKE", "")).replace('"', "").split()
    return bool({"debian", "ubuntu"} & set(names))


def on_debian() -> bool:
    """Tell whether packages of Debian can be installed here."""
    release = Path("/etc/os-release")
    is_it = release.is_file() and is_debian(release.read_text(encoding="utf-8"))
    return is_it and shutil.which("apt-get") is not None


def as_root(command: Sequence[str], *, is_root: bool, has_sudo: bool) -> list[str] | None:
    """Return the command as this person may run it, or None if they may not."""
    if is_root:
        return list(command)
    return ["sudo", *command] if has_sudo else None


def offer_packages(packages: Sequence[str], yes: bool) -> bool:
    """Install Debian packages if the person agrees; return whether that was done."""
    install = ["apt-get", "install", "-y", *packages]
    is_root = hasattr(os, "geteuid") and os.geteuid() == 0
    allowed = as_root(install, is_root=is_root, has_sudo=shutil.which("sudo") is not None)
    if not on_debian() or allowed is None:
        return False
    if not yes:
        if not sys.stdin.isatty():
            return False
        if input(f"Run `{' '.join(allowed)}` now? [Y/n] ").strip().lower() not in ("", "y", "yes"):
            return False
    update = [*allowed[: allowed.index("apt-get")], "apt-get", "update"]
    must("`apt-get update`", *update)
    must("`apt-get install`", *allowed)
    return True


def needs(
    what: str, packages: Sequence[str], elsewhere: str, yes: bool, *, there: Callable[[], bool]
) -> None:
    """See that a part of the system is there: find it, offer to install it, or say how."""
    if there():
        return
    command = "sudo apt-get install " + " ".join(packages) if on_debian() else elsewhere
    say(f"{what} Install it with:\n\n    {command}\n")
    if not offer_packages(packages, yes) or not there():
        raise SetUpError(
            "Then run this again. (With --yes it is installed where that can be done.)"
        )
