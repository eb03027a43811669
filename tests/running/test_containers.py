"""The image and what is composed around it, as far as they can be judged without an engine."""

import json
import re
import shlex
import shutil
import subprocess

import pytest
import yaml

from launch.environment import PANGO
from tests.running import page
from tests.running.machine import is_debian
from tests.running.page import CHECKOUT

DEPLOY = CHECKOUT / "deploy"
IMAGE = (DEPLOY / "Containerfile").read_text(encoding="utf-8").replace("\\\n", " ")
COMPOSED = yaml.safe_load((DEPLOY / "compose.yaml").read_text(encoding="utf-8"))
SERVICES = COMPOSED["services"]
UNIT = {"web": "pourwright.service", "worker": "pourwright-worker.service"}


def instructions(name):
    """Return what stands behind an instruction of the image, each time it is given."""
    return [
        line.removeprefix(f"{name} ").strip()
        for line in IMAGE.splitlines()
        if line.startswith(f"{name} ")
    ]


def command_of(unit):
    """Return what a unit starts, as words; the pages by any address, since a container has one."""
    text = (DEPLOY / unit).read_text(encoding="utf-8")
    words = shlex.split(re.search(r"^ExecStart=(.*)$", text, re.M)[1])
    words = [words[0].removeprefix("/srv/pourwright/"), *words[1:]]
    return [word.replace("--bind=127.0.0.1:", "--bind=0.0.0.0:") for word in words]


def test_the_image_has_what_papers_need():
    (installed,) = [line for line in instructions("RUN") if "apt-get install" in line]

    assert set(PANGO) < set(installed.split())
    assert any(word.startswith("fonts-") for word in installed.split())


def test_the_image_is_made_of_the_locked_requirements():
    (installed,) = [line for line in instructions("RUN") if "pip install" in line]

    assert "--require-hashes -r requirements.txt" in installed
    assert instructions("COPY")[0] == "requirements.txt ./"  # made anew only when these change


def test_the_image_runs_as_nobody_of_importance_and_says_how_it_is():
    assert instructions("USER") == ["pourwright"]
    (check,) = instructions("HEALTHCHECK")
    asked = json.loads(check.split("CMD ")[1])
    assert "/health/ready" in asked[-1]
    compile(asked[-1], "HEALTHCHECK", "exec")


@pytest.mark.parametrize("name", UNIT)
def test_a_container_starts_what_the_unit_starts(name):
    (own,) = instructions("CMD")

    assert SERVICES[name].get("command", json.loads(own)) == command_of(UNIT[name])


def test_no_secret_and_nothing_that_is_kept_comes_into_the_image():
    left_out = (CHECKOUT / ".dockerignore").read_text(encoding="utf-8").splitlines()

    assert {"**/.env", "**/*.sqlite3", ".git", "media", "backups"} <= set(left_out)


def test_all_is_composed_in_its_order():
    assert set(SERVICES) == {"database", "set-up", "web", "worker", "proxy"}
    assert SERVICES["set-up"]["entrypoint"] == [".venv/bin/python", "manage.py", "set_up"]
    assert SERVICES["set-up"]["depends_on"]["database"]["condition"] == "service_healthy"
    for name in ("web", "worker"):
        needs = SERVICES[name]["depends_on"]["set-up"]["condition"]
        assert needs == "service_completed_successfully"
    assert SERVICES["proxy"]["depends_on"]["web"]["condition"] == "service_healthy"
    assert "pg_isready" in SERVICES["database"]["healthcheck"]["test"]


def test_nothing_but_the_proxy_is_reached_from_outside():
    assert {name for name, service in SERVICES.items() if "ports" in service} == {"proxy"}
    subnet = COMPOSED["networks"]["default"]["ipam"]["config"][0]["subnet"]
    assert SERVICES["web"]["environment"]["TRUSTED_PROXIES"] == subnet


def test_what_is_kept_outlives_the_containers():
    mounted = {
        mount.split(":")[0] for service in SERVICES.values() for mount in service.get("volumes", ())
    }

    assert mounted == set(COMPOSED["volumes"])
    kept = re.findall(r"=(?:\S*?)(/var/lib/\S+)", (DEPLOY / "env.example").read_text())
    assert kept
    assert all(path.startswith("/var/lib/pourwright/") for path in kept)
    assert "data:/var/lib/pourwright" in SERVICES["web"]["volumes"]


@pytest.mark.skipif(not is_debian(), reason="the page is for Debian, with openssl")
def test_the_pages_first_command_writes_the_settings_that_are_composed(tmp_path):
    (tmp_path / "deploy").mkdir()
    shutil.copy(DEPLOY / "env.example", tmp_path / "deploy")

    subprocess.run(["bash", "-ec", page.commands("In containers")[0]], cwd=tmp_path, check=True)

    written = (tmp_path / "deploy/.env").read_text(encoding="utf-8")
    assert re.search(r"^SECRET_KEY=[0-9a-f]{64}$", written, re.M)
    assert re.search(r"^POSTGRES_PASSWORD=[0-9a-f]{32}$", written, re.M)
    wanted = set(
        re.findall(r"\$\{([A-Z_]+)", (DEPLOY / "compose.yaml").read_text(encoding="utf-8"))
    )
    assert wanted == {"POSTGRES_PASSWORD", "ALLOWED_HOSTS"}
    assert "\nALLOWED_HOSTS=" in written


def test_the_page_says_that_no_container_is_built():
    assert "no container is built" in page.parts()["What the check tries of this"]
    assert any("docker compose up" in line for line in page.commands("In containers"))
