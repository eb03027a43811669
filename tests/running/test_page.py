"""What docs/running.md, the units and the settings of proxies say of one another is true."""

import re
import shutil
import subprocess
from itertools import pairwise

import pytest

from launch.environment import PANGO
from tests.running import page
from tests.running.page import CHECKOUT
from tests.running.stand_ins import STAND_INS

DEPLOY = CHECKOUT / "deploy"
UNITS = sorted(path.name for path in DEPLOY.iterdir() if path.suffix in {".service", ".timer"})
SERVICES = [name for name in UNITS if name.endswith(".service")]
MOST_COMMANDS = 10
LONGEST_COMMAND = 150  # [characters]
# What `systemd-analyze security` calls well kept in is at most 2.
MOST_EXPOSED = 2.0
WITH_SYSTEMD = pytest.mark.skipif(
    shutil.which("systemd-analyze") is None, reason="systemd-analyze is not installed"
)


def test_ten_commands_or_fewer_lead_to_a_site():
    typed = page.commands(page.FIRST)

    assert 5 < len(typed) <= MOST_COMMANDS
    assert [line for line in typed if len(line) > LONGEST_COMMAND or line.count("&&") > 1] == []


def test_the_page_installs_what_run_py_would():
    install, *_ = page.commands(page.FIRST)

    assert set(PANGO) < set(install.split())
    assert "python3-venv" in install


def test_the_page_names_what_the_check_does_not_run():
    told = page.parts()["What the check tries of this"]

    assert [name for name in STAND_INS if f"`{name}`" not in told and f"`{name} " not in told] == []


def test_every_unit_is_named_by_the_page():
    started = next(line for line in page.commands(page.FIRST) if "enable --now" in line)
    named = set(started.split("--now ")[1].split())

    assert {name.removesuffix(".service") for name in UNITS} - named == {"pourwright-books"}


@WITH_SYSTEMD
def test_systemd_reads_the_units(tmp_path):
    """With the program at a place that is there, since whether it can be started is looked at."""
    program = tmp_path / "srv/pourwright/.venv/bin"
    program.mkdir(parents=True)
    for name in ("python", "gunicorn"):
        (program / name).write_text("#!/bin/sh\n")
        (program / name).chmod(0o755)
    for name in UNITS:
        text = (DEPLOY / name).read_text(encoding="utf-8")
        (tmp_path / name).write_text(text.replace("/srv/", f"{tmp_path}/srv/"))

    read = ["systemd-analyze", "verify", "--man=no", *(str(tmp_path / name) for name in UNITS)]
    done = subprocess.run(read, capture_output=True, text=True)

    assert (done.returncode, done.stderr) == (0, "")


@WITH_SYSTEMD
def test_a_fault_in_a_unit_would_be_found(tmp_path):
    text = (DEPLOY / "pourwright.service").read_text(encoding="utf-8")
    unit = tmp_path / "pourwright.service"
    unit.write_text(text.replace("Restart=always", "Restart=sometimes"))

    done = subprocess.run(
        ["systemd-analyze", "verify", "--man=no", str(unit)], capture_output=True, text=True
    )

    assert "sometimes" in done.stderr


@WITH_SYSTEMD
@pytest.mark.parametrize("name", SERVICES)
def test_a_service_may_touch_little(name):
    done = subprocess.run(
        ["systemd-analyze", "security", "--offline=true", str(DEPLOY / name)],
        capture_output=True,
        text=True,
    )

    assert float(re.search(r"exposure level for \S+ (\d+\.\d)", done.stdout)[1]) <= MOST_EXPOSED


@pytest.mark.parametrize("name", SERVICES)
def test_a_service_has_an_account_and_a_folder_of_its_own(name):
    text = (DEPLOY / name).read_text(encoding="utf-8")

    for line in (
        "User=pourwright",
        "StateDirectory=pourwright",
        "UMask=0077",
        "ProtectSystem=strict",
    ):
        assert f"\n{line}\n" in text


def settings_read():
    """Return the names that the program's settings are read by."""
    text = (CHECKOUT / "studio/settings.py").read_text(encoding="utf-8")
    return set(re.findall(r'env\.\w+\(\s*"([A-Z_]+)"', text))


def test_every_setting_is_explained_in_one_line():
    lines = (DEPLOY / "env.example").read_text(encoding="utf-8").splitlines()
    told = {}
    for before, line in pairwise(lines):
        if found := re.match(r"#?([A-Z_]+)=", line):
            told[found[1]] = before

    # These are for trying things out, and for a maker's own computer; no site that is served has
    # them.
    unsaid = {"DEBUG", "STATIC_FROM_SOURCE", "DATA_DIR", "OPEN_TO_FIRST"}
    assert settings_read() - told.keys() == unsaid
    assert told.keys() - settings_read() == set()
    assert [name for name, words in told.items() if not re.match(r"# [A-Z].*\.$", words)] == []


def test_what_is_off_in_the_settings_shows_what_counts_without_it(settings):
    text = (DEPLOY / "env.example").read_text(encoding="utf-8")
    off = dict(re.findall(r"^#([A-Z_]+)=(.*)$", text, re.M))

    assert off["TRUSTED_PROXIES"].split(",") == ["127.0.0.1", "::1"] == settings.TRUSTED_PROXIES
    assert off["EMAIL_TIMEOUT"] == str(settings.EMAIL_TIMEOUT)
    assert off["BACKUP_KEY"] == settings.BACKUP_KEY == ""


@pytest.mark.parametrize("header", ["Host", "X-Forwarded-For", "X-Forwarded-Proto"])
def test_nginx_says_what_the_page_asks_of_a_proxy(header):
    settings = (DEPLOY / "nginx.conf").read_text(encoding="utf-8")

    assert f"proxy_set_header {header} " in settings
    assert f"`{header}`" in page.parts()["Another proxy, or one elsewhere"]
