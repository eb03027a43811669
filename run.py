"""Set Pourwright up on this machine and run it: ``python3 run.py``, or ``python3 run.py test``.

Needs nothing but Python 3.11. What is there already is left alone, so running it again changes
nothing. Written so that an old Python can still read it, and say that it is too old.
"""

import argparse
import hashlib
import os
import secrets
import shutil
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parent
VENV = ROOT / ".venv"
OLDEST = (3, 11)
WINDOWS = os.name == "nt"
RUNTIME, FOR_TESTS = "requirements.txt", "requirements-dev.txt"
PAPERS = "papers"
# All tests, on every processor; a file stays on one, so that Chromium starts once.
ALL_TESTS = ["-n", "auto", "--dist", "loadfile", "--no-loadscope-reorder"]

PANGO = ["libpango-1.0-0", "libpangoft2-1.0-0", "libharfbuzz-subset0"]
PANGO_ELSEWHERE = {
    "darwin": "brew install pango",
    "win32": (
        "pacman -S mingw-w64-x86_64-pango   (in the MSYS2 shell, from msys2.org; then set\n"
        "    WEASYPRINT_DLL_DIRECTORIES to its folder, such as C:\\msys64\\mingw64\\bin)"
    ),
    "linux": "your system's package of Pango 1.44 or newer, such as `dnf install pango`",
}


class SetUpError(Exception):
    """Something is missing that only the person at the keyboard can give; its text says what."""


# What is where


def venv_python(windows=WINDOWS):
    """Return the path of the environment's own Python."""
    return VENV / ("Scripts/python.exe" if windows else "bin/python")


def is_debian(os_release):
    """Tell from the text of os-release whether this is Debian, Ubuntu or a child of theirs."""
    facts = dict(line.split("=", 1) for line in os_release.splitlines() if "=" in line)
    names = (facts.get("ID", "") + " " + facts.get("ID_LIKE", "")).replace('"', "").split()
    return bool({"debian", "ubuntu"} & set(names))


def on_debian():
    release = Path("/etc/os-release")
    is_it = release.is_file() and is_debian(release.read_text(encoding="utf-8"))
    return is_it and shutil.which("apt-get") is not None


def as_root(command, *, is_root, has_sudo):
    """Return the command as this person may run it, or None if they may not."""
    if is_root:
        return command
    return ["sudo", *command] if has_sudo else None


def old_python(version):
    """Return what to say to a Python that is too old, or an empty text."""
    if tuple(version[:2]) >= OLDEST:
        return ""
    oldest = ".".join(map(str, OLDEST))
    return (
        f"Pourwright needs Python {oldest} or newer, and this is {version[0]}.{version[1]}.\n"
        "Install a newer one (from python.org, or your system's packages) and start this file\n"
        f"with it, such as: python{oldest} run.py"
    )


def free_port(wanted, tries=50):
    """Return ``wanted`` or, where it is taken, the next port of this machine that is free."""
    for port in range(wanted, min(wanted + tries, 65536)):
        with socket.socket() as probe:
            if not WINDOWS:  # as the server does: a port just closed is free
                probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                probe.bind(("127.0.0.1", port))
            except OSError:
                continue
            return port
    raise SetUpError(f"No port from {wanted} on is free. Choose another with --port.")


# Doing things


def say(text):
    print(text, flush=True)


def call(*command, **options):
    """Run a command in the project's folder and return its exit status."""
    return subprocess.run([str(part) for part in command], cwd=ROOT, **options).returncode


def must(what, *command):
    if call(*command) != 0:
        raise SetUpError(f"{what} did not work; the lines above say why.")


def manage(what, *arguments):
    must(what, venv_python(), "manage.py", *arguments)


def offer_packages(packages, yes):
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


def needs(what, packages, elsewhere, yes, *, there):
    """See that a part of the system is there: find it, offer to install it, or say how."""
    if there():
        return
    command = "sudo apt-get install " + " ".join(packages) if on_debian() else elsewhere
    say(f"{what} Install it with:\n\n    {command}\n")
    if not offer_packages(packages, yes) or not there():
        raise SetUpError(
            "Then run this again. (With --yes it is installed where that can be done.)"
        )


# The steps


def make_environment(yes):
    """Make .venv, or make it anew when its Python is gone or too old."""
    newest_enough = f"import sys; sys.exit(sys.version_info < {OLDEST})"
    if venv_python().exists() and call(venv_python(), "-c", newest_enough) == 0:
        return

    def can_make():
        return call(sys.executable, "-c", "import ensurepip, venv", stderr=subprocess.DEVNULL) == 0

    needs(
        "This Python cannot make virtual environments.",
        [f"python3.{sys.version_info[1]}-venv"],
        "the venv module of your Python",
        yes,
        there=can_make,
    )
    say("Making a virtual environment in .venv ...")
    must("Making .venv", sys.executable, "-m", "venv", "--clear", VENV)


def checksum(lock, python_version):
    """Return what an installation is known by: the lock's text and the Python it is for."""
    return hashlib.sha256(lock + repr(tuple(python_version[:2])).encode()).hexdigest()


def install(lock):
    """Install a lock file with its hashes checked, unless just that is installed."""
    stamp = VENV / f"installed-{lock}"
    wanted = checksum((ROOT / lock).read_bytes(), sys.version_info)
    if stamp.is_file() and stamp.read_text(encoding="ascii") == wanted:
        return
    say(f"Installing {lock}: a few minutes the first time ...")
    # The pip that came with this Python and no faster tool, so that it goes the same everywhere.
    pip = [venv_python(), "-m", "pip", "--disable-pip-version-check", "install"]
    must(f"Installing {lock}", *pip, "--require-hashes", "--quiet", "-r", lock)
    stamp.write_text(wanted, encoding="ascii")


def write_env():
    """Write a .env with a secret of its own; one that is there is never touched."""
    try:
        target = os.open(ROOT / ".env", os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    except FileExistsError:
        return
    with os.fdopen(target, "w", encoding="ascii") as file:
        file.write(
            f"SECRET_KEY={secrets.token_urlsafe(50)}\nDEBUG=False\nSTATIC_FROM_SOURCE=True\n"
        )
    say("Wrote .env, with a secret key of this machine's own.")


def see_that_papers_print(yes):
    """See that WeasyPrint finds Pango, which Python's packages cannot bring along."""

    def loads():
        load = [venv_python(), "-c", "import weasyprint"]
        return call(*load, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL) == 0

    needs(
        "Quotes and reorder sheets are printed with Pango, which is not on this machine.",
        PANGO,
        PANGO_ELSEWHERE.get(sys.platform, PANGO_ELSEWHERE["linux"]),
        yes,
        there=loads,
    )


def see_that_browser_tests_run(yes):
    """Say how to get Chromium where it is missing; the tests that need it fail in words."""
    find = [venv_python(), "-m", "tests.browser.chromium"]
    if call(*find, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL) == 0:
        return
    command = (
        "sudo apt-get install chromium"
        if on_debian()
        else (f"{venv_python().relative_to(ROOT)} -m playwright install chromium")
    )
    say(f"The browser tests need Chromium, which is not on this machine:\n\n    {command}\n")
    offer_packages(["chromium"], yes)


def serve(port):
    """Serve the site on this machine only, with a worker beside it, until Ctrl-C."""
    chosen = free_port(port)
    if chosen != port:
        say(f"Port {port} is taken; using {chosen}.")
    address = f"127.0.0.1:{chosen}"
    server = [venv_python(), "-m"] + (
        ["waitress", f"--listen={address}", "studio.wsgi:application"]
        if WINDOWS
        else [
            "gunicorn",
            "studio.wsgi",
            f"--bind={address}",
            "--workers=2",
            "--threads=4",
            "--log-level=warning",
            "--no-control-socket",
        ]
    )
    process = start(server)
    worker = start([venv_python(), "manage.py", "work"])
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(0))
    try:
        wait_until_it_answers(process, chosen)
        say(f"\nPourwright is at http://{address}/  (Ctrl-C ends it)")
        return process.wait()
    except KeyboardInterrupt:
        say("\nStopped.")
        return 0
    finally:
        end(process, worker)


def start(command):
    return subprocess.Popen([str(part) for part in command], cwd=ROOT)


def end(*processes, seconds=20):
    """End processes; one that is busy for longer is cut off, and does its work anew next time."""
    for process in processes:
        process.terminate()
    for process in processes:
        try:
            process.wait(seconds)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()


def wait_until_it_answers(process, port, seconds=60):
    """Return once something listens on the port; refuse when the server has ended instead."""
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        if process.poll() is not None:
            raise SetUpError("The server ended at once; the lines above say why.")
        with socket.socket() as probe:
            probe.settimeout(1)
            if probe.connect_ex(("127.0.0.1", port)) == 0:
                return
        time.sleep(0.2)
    raise SetUpError("The server did not answer within a minute.")


def run_site(port, yes):
    make_environment(yes)
    install(RUNTIME)
    see_that_papers_print(yes)
    write_env()
    manage("Setting up the database", "migrate", "--no-input", "--verbosity=0")
    manage("The demo studio", "demo", "--no-serve", f"--out={PAPERS}")
    return serve(port)


def run_tests(arguments, yes):
    make_environment(yes)
    install(RUNTIME)
    install(FOR_TESTS)
    see_that_papers_print(yes)
    see_that_browser_tests_run(yes)
    return call(venv_python(), "-m", "pytest", *(arguments or ALL_TESTS))


def read_arguments(argv):
    """Return run.py's own options, and pytest's arguments (None without ``test``)."""
    own, tests = argv, None
    if "test" in argv:
        at = argv.index("test")
        own, tests = argv[:at], argv[at + 1 :]
    parser = argparse.ArgumentParser(
        prog="run.py",
        usage="python3 run.py [--port PORT] [--yes]\n"
        "       python3 run.py [--yes] test [pytest arguments]",
        description="Sets Pourwright up and runs it, or its tests.",
    )
    parser.add_argument("--port", type=int, default=8000, help="where to serve (8000)")
    parser.add_argument("--yes", action="store_true", help="install missing system packages")
    return parser.parse_args(own), tests


def main(argv):
    if old_python(sys.version_info):
        say(old_python(sys.version_info))
        return 1
    os.environ["PYTHONUTF8"] = "1"  # fractions and × on any terminal
    options, tests = read_arguments(argv)
    try:
        if tests is not None:
            return run_tests(tests, options.yes)
        return run_site(options.port, options.yes)
    except SetUpError as error:
        print(error, file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        say("\nStopped.")
        return 130


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
