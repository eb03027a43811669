"""Where things lie: the program, the data, and the environment; and which program this is."""

import json
import os
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from launch.system import ROOT, WINDOWS, SetUpError

# What tells a release from a checkout: its version, and which Python files belong to it.
RELEASE = "RELEASE"
CODE = ("studio", "inventory", "pricing", "launch")


@dataclass(frozen=True)
class Home:
    """The folders of this program; ``version`` is that of a release, empty for a checkout."""

    data: Path
    venv: Path
    version: str = ""

    def python(self, windows: bool = WINDOWS) -> Path:
        """Return the path of the environment's own Python."""
        return self.venv / ("Scripts/python.exe" if windows else "bin/python")

    @property
    def env_file(self) -> Path:
        """Return the file of settings."""
        return self.data / ".env"

    def settings(self) -> dict[str, str]:
        """Return what the file of settings sets; what the environment sets goes before it."""
        if not self.env_file.is_file():
            return {}
        lines = self.env_file.read_text(encoding="utf-8").splitlines()
        pairs = (line.partition("=") for line in lines if not line.lstrip().startswith("#"))
        return {name.strip(): value.strip().strip("'\"") for name, found, value in pairs if found}


def find_home(*, is_demo: bool = False, environ: Mapping[str, str] = os.environ) -> Home:
    """Return where things lie for this program.

    A checkout keeps its data beside the code, as developers expect it. A release keeps them, and
    its environment, in the person's own data folder, so that its folder can be replaced; and the
    demo in a folder within, so that nothing of it comes among what is real.
    """
    release = read_release()
    chosen = environ.get("DATA_DIR")
    if not release:
        return Home(Path(chosen).absolute() if chosen else ROOT, ROOT / ".venv")
    folder = Path(chosen).absolute() if chosen else data_folder(sys.platform, environ)
    data = folder / "demo" if is_demo else folder
    return Home(data, folder / ".venv", str(release["version"]))


def data_folder(platform: str, environ: Mapping[str, str]) -> Path:
    """Return the folder for a program's data that a platform's own rules name."""
    home = Path(environ.get("HOME") or Path.home())
    if platform == "win32":
        return Path(environ.get("LOCALAPPDATA") or home / "AppData" / "Local") / "Pourwright"
    if platform == "darwin":
        return home / "Library" / "Application Support" / "Pourwright"
    named = environ.get("XDG_DATA_HOME", "")
    # XDG Base Directory Specification 0.8: a path that is not absolute is ignored.
    base = Path(named) if named.startswith("/") else home / ".local" / "share"
    return base / "pourwright"


def make_folders(home: Home) -> None:
    """Make the folder of the data, which its owner alone opens."""
    for folder in (home.venv.parent, home.data):
        if not folder.is_dir():
            folder.mkdir(parents=True)
            folder.chmod(0o700)


def read_release(root: Path = ROOT) -> dict[str, object]:
    """Return what a release says of itself, nothing for a checkout."""
    file = root / RELEASE
    return dict(json.loads(file.read_text(encoding="utf-8"))) if file.is_file() else {}


def code_of(root: Path) -> list[str]:
    """Return the Python files of the program in a folder, by their paths in it."""
    found = (path for name in CODE for path in (root / name).rglob("*.py"))
    return sorted(path.relative_to(root).as_posix() for path in found)


def see_that_it_is_whole(root: Path = ROOT) -> None:
    """Refuse a release with files of another version in it, or without some of its own."""
    release = read_release(root)
    if release and code_of(root) != release["code"]:
        raise SetUpError(
            "This folder has files of two versions in it, or lacks some. Move the whole folder to "
            "the trash, unpack the archive anew, and start that. Your data lie elsewhere and stay."
        )
