"""The server and the worker beside it, until they are ended."""

import os
import signal
import socket
import subprocess
import sys
import time
import webbrowser
from collections.abc import Callable, Sequence
from pathlib import Path

from launch.home import Home
from launch.system import ROOT, WINDOWS, SetUpError, say

HERE, EVERYWHERE = "127.0.0.1", "0.0.0.0"


def is_free(port: int, host: str = HERE) -> bool:
    """Tell whether nothing serves at a port yet."""
    with socket.socket() as probe:
        if not WINDOWS:  # as the server does: a port just closed is free
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((host, port))
        except OSError:
            return False
        return True


def free_port(wanted: int, tries: int = 50) -> int:
    """Return ``wanted`` or, where it is taken, the next port of this machine that is free."""
    for port in range(wanted, min(wanted + tries, 65536)):
        if is_free(port):
            if port != wanted:
                say(f"Port {wanted} is taken; using {port}.")
            return port
    raise SetUpError(f"No port from {wanted} on is free. Choose another with --port.")


def serve(home: Home, port: int, *, host: str = HERE, ready: Callable[[], None]) -> int:
    """Serve the site, with a worker beside it, until Ctrl-C; ``ready`` is called once it answers.

    Ended as the window is closed, too, where the system tells.
    """
    for name in ("SIGTERM", "SIGHUP"):
        if hasattr(signal, name):
            signal.signal(getattr(signal, name), _leave)
    process = start(_server(home.python(), f"{host}:{port}"))
    worker = start([home.python(), "manage.py", "work"])
    try:
        wait_until_it_answers(process, port)
        ready()
        return process.wait()
    except KeyboardInterrupt:
        say("\nStopped.")
        return 0
    finally:
        end(process, worker)


def _leave(*_: object) -> None:
    sys.exit(0)


def _server(python: Path, address: str) -> list[object]:
    if WINDOWS:
        return [python, "-m", "waitress", f"--listen={address}", "studio.wsgi:application"]
    options = ["--workers=2", "--threads=4", "--log-level=warning", "--no-control-socket"]
    return [python, "-m", "gunicorn", "studio.wsgi", f"--bind={address}", *options]


def start(command: Sequence[object]) -> "subprocess.Popen[bytes]":
    """Start a program of this one's own beside it.

    It hears of Ctrl-C and of a window that is closed through this one only, which ends it in order:
    gunicorn takes what a closed window says for a wish to begin anew.
    """
    return subprocess.Popen([str(part) for part in command], cwd=ROOT, start_new_session=True)


def end(*processes: "subprocess.Popen[bytes]", seconds: float = 20) -> None:
    """End processes; one that is busy for longer is cut off, and does its work anew next time."""
    for process in processes:
        process.terminate()
    for process in processes:
        try:
            process.wait(seconds)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()


def wait_until_it_answers(
    process: "subprocess.Popen[bytes]", port: int, seconds: float = 60
) -> None:
    """Return once something listens on the port; refuse when the server has ended instead."""
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        if process.poll() is not None:
            raise SetUpError("The server ended at once; the lines above say why.")
        with socket.socket() as probe:
            probe.settimeout(1)
            if probe.connect_ex((HERE, port)) == 0:
                return
        time.sleep(0.2)
    raise SetUpError("The server did not answer within a minute.")


def open_browser(url: str) -> None:
    """Show a page in the person's browser, where there is a screen to show it on."""
    has_screen = WINDOWS or sys.platform == "darwin"
    if has_screen or os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"):
        webbrowser.open(url)
