"""Somebody's computer: a home folder with data in it, and what is started on them."""

import os
import shutil
import signal
import socket
import sqlite3
import subprocess
import sys
import time
import urllib.error
import urllib.request
import zipfile
from contextlib import closing, contextmanager
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

from launch.system import ROOT
from tests.upgrades import stored


@cache
def older_database():
    """Return a file of the last released schema, for which a change of the schema waits."""
    with TemporaryDirectory() as folder:
        file = Path(folder, "studio.sqlite3")
        settings = {
            "DATABASE_URL": f"sqlite:///{file}",
            "DJANGO_SETTINGS_MODULE": "studio.settings",
        }
        command = [sys.executable, "-m", "tests.running.older", stored.released()[-1]]
        subprocess.run(command, cwd=ROOT, env=os.environ | settings, check=True)
        with closing(sqlite3.connect(file)) as read:
            # Where nothing came after that release yet, one waits that changes no table.
            read.execute("DELETE FROM django_migrations WHERE app = 'auth' AND name LIKE '0012%'")
            read.commit()
        return file.read_bytes()


class Computer:
    """A home folder, and a browser that notes what it shows.

    Where it ``is_new`` there are no data in it; else those of the last released schema.
    """

    def __init__(self, folder, *, is_new=False):
        self.folder, self.opened = folder, folder / "opened"
        self.data = folder / ".local" / "share" / "pourwright"
        self.data.mkdir(parents=True)
        (self.data / ".venv").symlink_to(sys.prefix)  # that of the tests, so that it takes seconds
        if not is_new:
            (self.data / "studio.sqlite3").write_bytes(older_database())
        browser = folder / "browser"
        browser.write_text(f'#!/bin/sh\necho "$1" >> "{self.opened}"\n')
        browser.chmod(0o755)
        no_pango = folder / "no pango"
        no_pango.mkdir()
        (no_pango / "weasyprint.py").write_text("raise OSError('cannot load libpango-1.0-0')\n")
        self.env = {
            "HOME": str(folder),
            "PATH": os.environ["PATH"],
            "LANG": "C.UTF-8",
            "DISPLAY": ":99",
            "BROWSER": f"{browser} %s",
        }
        self.without_pango = {"PYTHONPATH": str(no_pango)}
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            self.port = probe.getsockname()[1]
        self.url = f"http://127.0.0.1:{self.port}/"

    def unpack(self, archive):
        """Unpack an archive as the file manager does, and return the starter."""
        program = self.folder / "My programs"
        shutil.rmtree(program, ignore_errors=True)  # none is there the first time
        with zipfile.ZipFile(archive) as packed:
            for entry in packed.infolist():
                path = Path(packed.extract(entry, program))
                path.chmod(entry.external_attr >> 16)
        return program / "Pourwright" / "Start Pourwright on Linux.sh"

    def start(self, *command, **more):
        return subprocess.Popen(
            [*map(str, command), "--port", str(self.port)],
            cwd="/",
            env=self.env | more,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            start_new_session=True,
        )

    @contextmanager
    def running(self, *command, **more):
        """Let it run, as a window that is closed at the end; yields what it says at first."""
        process = self.process = self.start(*command, **more)
        said = ""
        while "is at http" not in said:
            line = process.stdout.readline()
            assert line, f"It ended: {said}"
            said += line
        try:
            yield said
        finally:
            os.killpg(process.pid, signal.SIGHUP)
            process.communicate(timeout=30)
        for _ in range(50):
            if self.ask("sign-in/") is None:
                return
            time.sleep(0.1)
        raise AssertionError("Something serves on after the window was closed.")

    def asked_of(self, question):
        """Return the first column of what the database answers."""
        with closing(sqlite3.connect(self.data / "studio.sqlite3")) as file:
            return [row[0] for row in file.execute(question)]

    def ask(self, path):
        """Return (status, text) of a page, None where nothing answers."""
        try:
            with urllib.request.urlopen(self.url + path) as answer:
                return answer.status, answer.read().decode(errors="replace")
        except urllib.error.HTTPError as error:
            return error.code, error.read().decode()
        except OSError:
            return None
