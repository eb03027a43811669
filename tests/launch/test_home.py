"""Where data lie, by each system's own rules."""

import json
import os
import stat
from pathlib import Path

import pytest

from launch import home as homes
from launch.home import Home, data_folder, find_home, make_folders, see_that_it_is_whole
from launch.system import ROOT, SetUpError


@pytest.mark.parametrize(
    ("platform", "environ", "expected"),
    [
        ("linux", {"HOME": "/h/ana"}, "/h/ana/.local/share/pourwright"),
        ("linux", {"HOME": "/h/ana", "XDG_DATA_HOME": "/d"}, "/d/pourwright"),
        ("linux", {"HOME": "/h/ana", "XDG_DATA_HOME": "d"}, "/h/ana/.local/share/pourwright"),
        ("darwin", {"HOME": "/h/ana"}, "/h/ana/Library/Application Support/Pourwright"),
        ("win32", {"HOME": "/h/ana", "LOCALAPPDATA": "/l"}, "/l/Pourwright"),
        ("win32", {"HOME": "/h/ana"}, "/h/ana/AppData/Local/Pourwright"),
    ],
)
def test_each_system_says_where_data_lie(platform, environ, expected):
    """XDG Base Directory Specification 0.8; Apple's File System Guide; KNOWNFOLDERID of Windows."""
    assert data_folder(platform, environ) == Path(expected)


def test_a_checkout_keeps_its_data_beside_the_code():
    assert find_home(environ={}) == Home(ROOT, ROOT / ".venv")
    assert find_home(is_demo=True, environ={}).data == ROOT


def test_a_release_keeps_them_elsewhere_and_the_demo_apart(monkeypatch, tmp_path):
    monkeypatch.setattr(homes, "read_release", lambda: {"version": "1.2"})
    environ = {"DATA_DIR": str(tmp_path / "data")}

    real, demo = find_home(environ=environ), find_home(is_demo=True, environ=environ)

    assert real == Home(tmp_path / "data", tmp_path / "data" / ".venv", "1.2")
    assert (demo.data, demo.venv) == (tmp_path / "data" / "demo", real.venv)


@pytest.mark.skipif(os.name == "nt", reason="Windows has no such permissions")
def test_data_are_for_their_owner_only(tmp_path):
    home = Home(tmp_path / "data" / "demo", tmp_path / "data" / ".venv")

    make_folders(home)
    make_folders(home)

    for folder in (home.data, home.data.parent):
        assert stat.S_IMODE(folder.stat().st_mode) == 0o700


def test_settings_are_read_as_they_are_written(tmp_path):
    (tmp_path / ".env").write_text("# A=1\nSITE_URL='http://a.example/?b=c'\n\nDEBUG = False\nC\n")

    found = Home(tmp_path, tmp_path).settings()

    assert found == {"SITE_URL": "http://a.example/?b=c", "DEBUG": "False"}
    assert Home(tmp_path / "none", tmp_path).settings() == {}


@pytest.mark.parametrize("change", ["more", "less"])
def test_a_release_with_files_of_another_is_refused(change, tmp_path):
    (tmp_path / "studio").mkdir()
    (tmp_path / "studio" / "one.py").write_text("")
    (tmp_path / "RELEASE").write_text(json.dumps({"version": "1", "code": ["studio/one.py"]}))
    see_that_it_is_whole(tmp_path)

    if change == "more":
        (tmp_path / "studio" / "two.py").write_text("")
    else:
        (tmp_path / "studio" / "one.py").unlink()

    with pytest.raises(SetUpError, match="two versions"):
        see_that_it_is_whole(tmp_path)
