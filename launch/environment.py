"""The environment that the program runs in: Python's packages, its settings, and Pango."""

import hashlib
import os
import secrets
import subprocess
import sys
from collections.abc import Sequence

from launch import OLDEST
from launch.home import Home
from launch.system import ROOT, SetUpError, call, must, needs, offer_packages, on_debian, say

RUNTIME, FOR_TESTS = "requirements.txt", "requirements-dev.txt"
PANGO = ["libpango-1.0-0", "libpangoft2-1.0-0", "libharfbuzz-subset0"]
PANGO_ELSEWHERE = {
    "darwin": "brew install pango",
    "win32": (
        "pacman -S mingw-w64-x86_64-pango   (in the MSYS2 shell, from msys2.org; then set\n"
        "    WEASYPRINT_DLL_DIRECTORIES to its folder, such as C:\\msys64\\mingw64\\bin)"
    ),
    "linux": "your system's package of Pango 1.44 or newer, such as `dnf install pango`",
}


def make_environment(home: Home, yes: bool) -> None:
    """Make the environment, or make it anew when its Python is gone or too old."""
    newest_enough = f"import sys; sys.exit(sys.version_info < {OLDEST})"
    if home.python().exists() and call(home.python(), "-c", newest_enough) == 0:
        return

    def can_make() -> bool:
        return call(sys.executable, "-c", "import ensurepip, venv", stderr=subprocess.DEVNULL) == 0

    needs(
        "This Python cannot make virtual environments.",
        [f"python3.{sys.version_info[1]}-venv"],
        "the venv module of your Python",
        yes,
        there=can_make,
    )
    say(f"Making a virtual environment in {home.venv} ...")
    must("Making it", sys.executable, "-m", "venv", "--clear", home.venv)


def checksum(lock: bytes, python_version: Sequence[object]) -> str:
    """Return what an installation is known by: the lock's text and the Python it is for."""
    return hashlib.sha256(lock + repr(tuple(python_version[:2])).encode()).hexdigest()


def install(home: Home, lock: str) -> None:
    """Install a lock file with its hashes checked, unless just that is installed."""
    stamp = home.venv / f"installed-{lock}"
    wanted = checksum((ROOT / lock).read_bytes(), sys.version_info)
    if stamp.is_file() and stamp.read_text(encoding="ascii") == wanted:
        return
    say(f"Installing {lock}: a few minutes the first time ...")
    # The pip that came with this Python and no faster tool, so that it goes the same everywhere.
    pip = [home.python(), "-m", "pip", "--disable-pip-version-check", "install"]
    must(f"Installing {lock}, from the internet,", *pip, "--require-hashes", "--quiet", "-r", lock)
    stamp.write_text(wanted, encoding="ascii")


def write_env(home: Home) -> None:
    """Write a .env with a secret of its own; one that is there is never touched.

    On a maker's own computer, a release, the first to come opens a studio and no one after.
    """
    try:
        target = os.open(home.env_file, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    except FileExistsError:
        return
    lines = [f"SECRET_KEY={secrets.token_urlsafe(50)}", "DEBUG=False"]
    if home.version:
        lines += ["OPEN_SIGN_UP=False", "OPEN_TO_FIRST=True"]
    with os.fdopen(target, "w", encoding="ascii") as file:
        file.write("".join(f"{line}\n" for line in lines))
    say("Wrote .env, with a secret key of this machine's own.")


def papers_print(home: Home) -> bool:
    """Tell whether WeasyPrint finds Pango, which Python's packages cannot bring along."""
    load = [home.python(), "-c", "import weasyprint"]
    return call(*load, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL) == 0


def see_that_papers_print(home: Home, yes: bool) -> None:
    """See that there is Pango; refuse to go on without."""
    needs(
        "Quotes and reorder sheets are printed with Pango, which is not on this machine.",
        PANGO,
        pango_elsewhere(),
        yes,
        there=lambda: papers_print(home),
    )


def warn_where_papers_do_not_print(home: Home, yes: bool) -> None:
    """Say what is missing where there is no Pango, and go on: all but papers works."""
    try:
        see_that_papers_print(home, yes)
    except SetUpError:
        say("Until then no papers are printed, such as quotes and labels. All else works.\n")


def pango_elsewhere() -> str:
    """Return how Pango comes to a machine that is no Debian."""
    return PANGO_ELSEWHERE.get(sys.platform, PANGO_ELSEWHERE["linux"])


def see_that_browser_tests_run(home: Home, yes: bool) -> None:
    """Say how to get Chromium where it is missing; the tests that need it fail in words."""
    find = [home.python(), "-m", "tests.browser.chromium"]
    if call(*find, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL) == 0:
        return
    command = (
        "sudo apt-get install chromium"
        if on_debian()
        else f"{home.python().relative_to(ROOT)} -m playwright install chromium"
    )
    say(f"The browser tests need Chromium, which is not on this machine:\n\n    {command}\n")
    offer_packages(["chromium"], yes)
