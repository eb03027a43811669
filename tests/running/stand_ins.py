"""What stands in the place of commands that the tests cannot run, and does as much as they can.

Each is named in docs/running.md. ``python -m tests.running.stand_ins NAME ARGUMENTS`` in a machine
of the tests (`tests.running.machine`), which it finds in ``MACHINE``.
"""

import json
import os
import shutil
import signal
import socket
import subprocess
import sys
import time
from contextlib import contextmanager
from pathlib import Path

CHECKOUT = Path(__file__).parent.parent.parent
LEFT_OUT = {".git", ".venv", ".env", "staticfiles", "media", "backups", "papers", "tests"}
GONE = "Z"  # of /proc: ended, and not yet asked how


def machine():
    from tests.running.machine import Machine

    return Machine.at(Path(os.environ["MACHINE"]))


def apt_get(*arguments):
    """Install nothing: what is missing fails where it is wanted."""


def adduser(*arguments):
    """Make the home of the account, and no account."""
    Path(arguments[arguments.index("--home") + 1]).mkdir(parents=True)


def git(act, *arguments):
    """Bring this checkout, with the machine's folders in its files; there is never anything new."""
    if act == "clone":
        target = Path(arguments[1])
        shutil.copytree(CHECKOUT, target, ignore=left_out)
        for file in (target / "deploy").iterdir():
            file.write_text(machine().inside(file.read_text(encoding="utf-8")), encoding="utf-8")


def left_out(folder, names):
    """Return what of a folder of the checkout is no part of the program."""
    at_top = LEFT_OUT if Path(folder) == CHECKOUT else set()
    return [one for one in names if one in at_top or one == "__pycache__" or ".sqlite3" in one]


def python3(*arguments):
    """Be the tests' own Python, whose environment is what the lock asks for already."""
    if arguments[:2] == ("-m", "venv"):
        Path(arguments[2]).symlink_to(sys.prefix)
        return
    os.execv(sys.executable, [sys.executable, *arguments])


def install(*arguments):
    """Leave out the group, which is not there."""
    at = arguments.index("-g")
    os.execv("/usr/bin/install", ["install", *arguments[:at], *arguments[at + 2 :]])


def nano(name):
    """Write what a person would write into lines that are theirs."""
    answers = json.loads(os.environ["ANSWERS"])
    lines = Path(name).read_text(encoding="utf-8").splitlines()
    told = [
        f"{key}={answers[key]}" if (key := line.split("=")[0]) in answers else line
        for line in lines
    ]
    Path(name).write_text("\n".join(told) + "\n", encoding="utf-8")


def runuser(*arguments):
    """Run it as whoever runs the tests."""
    del os.environ["PYTHONPATH"]  # the stand-in's own
    command = arguments[arguments.index("--") + 1 :]
    os.execvp(command[0], command)


def systemctl(act, *names):
    """Start and end what a unit starts, and nothing else that systemd does."""
    here = machine()
    for name in names:
        if name.startswith("pourwright") and not name.endswith(".timer"):
            if act in ("enable", "start"):
                start(here, name)
            elif act == "stop":
                end(here, name)


def start(here, name):
    """Start a unit, and wait for it to say that it is ready where it is of a type that does."""
    unit = here.unit(name)
    with (here.logs / name).open("a") as log, notified(here, unit["Type"]) as told:
        process = subprocess.Popen(
            unit["ExecStart"].split(),
            cwd=unit["WorkingDirectory"],
            env=here.environment | told,
            stdin=subprocess.DEVNULL,
            stdout=log,
            stderr=log,
            umask=int(unit["UMask"], 8),
            start_new_session=True,
        )
        (here.running / name).write_text(str(process.pid))


@contextmanager
def notified(here, kind, seconds=60):
    """Yield what a service is told of where to say that it is ready, and wait until it does."""
    if kind != "notify":
        yield {}
        return
    address = here.root / "notify"
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as ear:
        ear.bind(str(address))
        ear.settimeout(seconds)
        yield {"NOTIFY_SOCKET": str(address)}
        while b"READY=1" not in ear.recv(4096):
            pass
    address.unlink()


def end(here, name, seconds=30):
    pid = int((here.running / name).read_text())
    os.kill(pid, signal.SIGTERM)
    until = time.monotonic() + seconds
    while is_there(pid):
        if time.monotonic() > until:
            os.killpg(pid, signal.SIGKILL)  # its own group, see `start`
            sys.exit(f"{name} did not end.")
        time.sleep(0.1)
    (here.running / name).unlink()


def is_there(pid):
    try:
        state = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0]
    except OSError:
        return False
    return state != GONE


STAND_INS = {
    "apt-get": apt_get,
    "adduser": adduser,
    "git": git,
    "python3": python3,
    "install": install,
    "nano": nano,
    "runuser": runuser,
    "systemctl": systemctl,
}

if __name__ == "__main__":
    STAND_INS[sys.argv[1]](*sys.argv[2:])
