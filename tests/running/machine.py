"""A machine of the tests: folders in the place of /srv, /etc and /var, and commands for them."""

import os
import re
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

from tests.letters import free_port
from tests.running.stand_ins import CHECKOUT, STAND_INS, end

PATH = "/usr/sbin:/usr/bin:/sbin:/bin"
PLACES = re.compile(r"/(srv|etc|var)/(?=pourwright|systemd/|caddy/|lib/pourwright)")
PORT = "127.0.0.1:8000"


@dataclass
class Machine:
    """Where it is; ``port`` is where its site listens, in the place of 8000."""

    root: Path
    port: int
    answers: str = "{}"  # what a person writes into settings, as JSON

    @classmethod
    def made(cls, root, answers="{}"):
        """Make one in an empty folder."""
        for name in ("srv", "etc/systemd/system", "etc/caddy", "var/lib", "bin", "running", "logs"):
            (root / name).mkdir(parents=True)
        (root / "port").write_text(str(free_port()))
        for name in STAND_INS:
            command = root / "bin" / name
            command.write_text(
                f"#!/bin/sh\nexport PYTHONPATH={CHECKOUT}\n"
                f'exec {sys.executable} -m tests.running.stand_ins {name} "$@"\n'
            )
            command.chmod(0o755)
        return cls.at(root, answers)

    @classmethod
    def at(cls, root, answers="{}"):
        """Return the one that was made there."""
        return cls(root, int((root / "port").read_text()), answers)

    @property
    def app(self):
        return self.root / "srv/pourwright"

    @property
    def data(self):
        return self.root / "var/lib/pourwright"

    @property
    def running(self):
        return self.root / "running"

    @property
    def logs(self):
        return self.root / "logs"

    @property
    def environment(self):
        """What a command finds: nothing of the settings of the tests."""
        return {
            "PATH": f"{self.root / 'bin'}:{PATH}",
            "HOME": str(self.root),
            "LANG": "C.UTF-8",
            "PIP_DISABLE_PIP_VERSION_CHECK": "1",
            "MACHINE": str(self.root),
            "ANSWERS": self.answers,
        }

    def inside(self, text):
        """Return a text with the folders and the port of this machine in it."""
        once = text.replace(str(self.root), "")  # what was brought inside already
        return PLACES.sub(rf"{self.root}/\1/", once).replace(PORT, f"127.0.0.1:{self.port}")

    def type(self, *lines, words=()):
        """Type lines of the page, one after the other; return what they said.

        ``words`` is {word: what a person writes for it}, such as ``FILE``.
        """
        text = self.inside("\n".join(lines))
        for word, meant in dict(words).items():
            text = text.replace(word, str(meant))
        done = subprocess.run(
            ["bash", "-e", "-o", "pipefail", "-c", text],
            cwd=self.app if self.app.is_dir() else self.root,
            env=self.environment,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
        )
        assert done.returncode == 0, done.stdout
        return done.stdout

    def unit(self, name):
        """Return what an installed unit says, by name."""
        name = name if "." in name else f"{name}.service"
        text = (self.root / "etc/systemd/system" / name).read_text(encoding="utf-8")
        return dict(
            line.split("=", 1) for line in text.splitlines() if re.match(r"[A-Z]\w+=", line)
        )

    def log(self, name):
        return (self.logs / name).read_text(encoding="utf-8")

    def stop(self):
        """End all that still runs."""
        for one in sorted(self.running.iterdir()):
            end(self, one.name)


def is_debian():
    return sys.platform == "linux" and all(
        os.access(f"/usr/bin/{name}", os.X_OK) for name in ("bash", "sed", "install", "openssl")
    )
