"""Setting up, as far as it can be judged without a network: what is decided, written and said."""

import os
import socket
import stat
import subprocess
import sys

import pytest

import run
from launch import environment, main, running, serving, system
from launch.home import Home

DEBIAN = 'PRETTY_NAME="Debian GNU/Linux 12"\nID=debian\n'
MINT = 'ID=linuxmint\nID_LIKE="ubuntu debian"\n'
FEDORA = 'ID=fedora\nNAME="Fedora Linux"\n\n'


@pytest.fixture
def root(tmp_path, monkeypatch):
    monkeypatch.setattr(environment, "ROOT", tmp_path)
    return tmp_path


@pytest.fixture
def home(root):
    return Home(root, root / ".venv")


@pytest.fixture
def calls(monkeypatch):
    """What would have been run, each succeeding."""
    made = []

    def call(*command, **_):
        made.append([str(part) for part in command])
        return 0

    for module in (system, environment, main):
        monkeypatch.setattr(module, "call", call)
    return made


@pytest.fixture
def no_terminal(monkeypatch):
    monkeypatch.setattr(sys.stdin, "isatty", lambda: False)


def test_an_old_python_is_told_what_to_do():
    said = run.old_python((3, 9, 2))

    assert "needs Python 3.11 or newer, and this is 3.9" in said
    assert "python3.11 run.py" in said


@pytest.mark.parametrize("version", [(3, 11, 0), (3, 14, 1), (4, 0, 0)])
def test_a_new_enough_python_is_told_nothing(version):
    assert run.old_python(version) == ""


@pytest.mark.parametrize(("text", "expected"), [(DEBIAN, True), (MINT, True), (FEDORA, False)])
def test_debian_and_its_children_are_known(text, expected):
    assert system.is_debian(text) is expected


def test_each_person_is_offered_what_they_may_run():
    command = ["apt-get", "install", "-y", "chromium"]

    assert system.as_root(command, is_root=True, has_sudo=False) == command
    assert system.as_root(command, is_root=False, has_sudo=True) == ["sudo", *command]
    assert system.as_root(command, is_root=False, has_sudo=False) is None


def test_each_system_has_its_own_environment_folder(home, root):
    assert home.python(windows=False) == root / ".venv" / "bin" / "python"
    assert home.python(windows=True) == root / ".venv" / "Scripts" / "python.exe"


def test_a_taken_port_gives_way_to_the_next():
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]

        assert serving.free_port(port) > port


def test_no_free_port_is_said():
    with pytest.raises(system.SetUpError, match=r"No port from 65536 on is free.*--port"):
        serving.free_port(65536)


def test_a_secret_is_written_once(home, root):
    environment.write_env(home)
    first = (root / ".env").read_text()
    environment.write_env(home)

    assert (root / ".env").read_text() == first
    secret, *rest = first.splitlines()
    assert len(secret.removeprefix("SECRET_KEY=")) >= 50
    assert rest == ["DEBUG=False"]


@pytest.mark.skipif(os.name == "nt", reason="Windows has no such permissions")
def test_a_secret_is_for_its_owner_only(home, root):
    environment.write_env(home)

    assert stat.S_IMODE((root / ".env").stat().st_mode) == 0o600


def test_two_installations_have_different_secrets(home, root):
    environment.write_env(home)
    first = (root / ".env").read_text()
    (root / ".env").unlink()
    environment.write_env(home)

    assert (root / ".env").read_text() != first


def test_an_installed_lock_is_not_installed_again(home, root, calls, monkeypatch):
    (root / ".venv").mkdir()
    (root / "requirements.txt").write_text("one==1\n")

    environment.install(home, "requirements.txt")
    environment.install(home, "requirements.txt")

    assert len(calls) == 1
    assert {"pip", "--require-hashes", "requirements.txt"} <= set(calls[0])


def test_a_changed_lock_is_installed_again(home, root, calls, monkeypatch):
    (root / ".venv").mkdir()
    (root / "requirements.txt").write_text("one==1\n")
    environment.install(home, "requirements.txt")
    (root / "requirements.txt").write_text("one==2\n")

    environment.install(home, "requirements.txt")

    assert len(calls) == 2


def test_nothing_but_the_environments_own_pip_installs(home, root, calls, monkeypatch):
    monkeypatch.setattr(system.shutil, "which", lambda name: f"/usr/bin/{name}")
    (root / ".venv").mkdir()
    (root / "requirements.txt").write_text("one==1\n")

    environment.install(home, "requirements.txt")

    assert [command[:3] for command in calls] == [[str(home.python()), "-m", "pip"]]


def test_a_failed_installation_is_tried_again(home, root, monkeypatch):
    monkeypatch.setattr(system, "call", lambda *command: 1)
    (root / ".venv").mkdir()
    (root / "requirements.txt").write_text("one==1\n")

    for _ in range(2):
        with pytest.raises(
            system.SetUpError, match=r"Installing requirements.txt, from the internet, did not work"
        ):
            environment.install(home, "requirements.txt")


def test_what_is_there_is_not_asked_for(capsys):
    system.needs(
        "Pango is missing.", environment.PANGO, "brew install pango", False, there=lambda: True
    )

    assert capsys.readouterr().out == ""


@pytest.mark.parametrize(
    ("debian", "command"),
    [
        (True, "sudo apt-get install libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0"),
        (False, "brew install pango"),
    ],
)
def test_what_is_missing_is_named_with_its_command(
    debian, command, calls, no_terminal, monkeypatch, capsys
):
    monkeypatch.setattr(system, "on_debian", lambda: debian)

    with pytest.raises(system.SetUpError, match=r"run this again"):
        system.needs(
            "Pango is missing.", environment.PANGO, "brew install pango", False, there=lambda: False
        )

    assert command in capsys.readouterr().out
    assert calls == []


@pytest.mark.parametrize(("answer", "agreed"), [("", True), ("y", True), ("n", False)])
def test_a_person_at_a_terminal_is_asked(answer, agreed, calls, monkeypatch):
    monkeypatch.setattr(system, "on_debian", lambda: True)
    monkeypatch.setattr(system, "as_root", lambda command, **_: command)
    monkeypatch.setattr(sys.stdin, "isatty", lambda: True)
    monkeypatch.setattr("builtins.input", lambda question: answer)

    assert system.offer_packages(["chromium"], yes=False) is agreed

    assert calls == (
        [["apt-get", "update"], ["apt-get", "install", "-y", "chromium"]] if agreed else []
    )


def test_yes_installs_without_asking(calls, no_terminal, monkeypatch):
    monkeypatch.setattr(system, "on_debian", lambda: True)
    monkeypatch.setattr(system, "as_root", lambda command, **_: ["sudo", *command])

    assert system.offer_packages(["chromium"], yes=True) is True

    assert calls == [
        ["sudo", "apt-get", "update"],
        ["sudo", "apt-get", "install", "-y", "chromium"],
    ]


def test_pytest_gets_all_that_follows_test():
    options, passed_on = main.read_arguments(["--yes", "test", "tests/pricing", "-q", "--port"])

    assert (options.yes, options.what) == (True, "test")
    assert passed_on == ["tests/pricing", "-q", "--port"]


def test_manage_gets_all_that_follows_manage():
    options, passed_on = main.read_arguments(["manage", "test", "--demo"])

    assert (options.what, options.demo) == ("manage", False)
    assert passed_on == ["test", "--demo"]


def test_without_a_word_the_site_is_run():
    options, passed_on = main.read_arguments(["--port", "9000"])

    assert (options.port, options.yes, options.what, passed_on) == (9000, False, None, [])


def test_a_command_is_run_on_the_persons_own_data(home, calls, monkeypatch):
    monkeypatch.setattr(main, "find_home", lambda is_demo: home)
    monkeypatch.setattr(os, "environ", {})
    monkeypatch.setattr(main, "make_environment", lambda home, yes: None)
    monkeypatch.setattr(main, "install", lambda home, lock: None)
    running.note_address(home.data, "http://127.0.0.1:8003/")

    main.main(["manage", "new_password", "ana@kelp.example"])

    assert calls == [[str(home.python()), "manage.py", "new_password", "ana@kelp.example"]]
    assert home.env_file.is_file()
    assert os.environ["DATA_DIR"] == str(home.data)
    assert os.environ["SITE_URL"] == "http://127.0.0.1:8003"  # as it is served now


def test_run_needs_nothing_but_the_standard_library():
    """An isolated Python without site packages can read the file and explain itself."""
    found = subprocess.run(
        [sys.executable, "-I", "-S", str(system.ROOT / "run.py"), "--help"],
        capture_output=True,
        text=True,
        check=True,
    )

    assert "python3 run.py [--port PORT]" in found.stdout


def test_all_tests_are_spread_and_chosen_ones_are_not(calls, monkeypatch):
    for step in (
        *("make_environment", "install", "see_that_papers_print", "see_that_browser_tests_run"),
    ):
        monkeypatch.setattr(main, step, lambda *_: None)

    main.run_tests([], yes=False)
    main.run_tests(["tests/pricing", "-q"], yes=False)

    everything, chosen = (call[call.index("pytest") + 1 :] for call in calls)
    assert everything == ["-n", "auto", "--dist", "loadfile", "--no-loadscope-reorder"]
    assert chosen == ["tests/pricing", "-q"]


def test_what_was_started_is_ended_with_the_site():
    """One that hears is told; one that does not is cut off."""
    deaf = (
        "import signal; signal.signal(signal.SIGTERM, signal.SIG_IGN);print(1, flush=True); input()"
    )
    hearing = serving.start([sys.executable, "-c", "input()"])
    stubborn = subprocess.Popen(
        [sys.executable, "-c", deaf], stdin=subprocess.PIPE, stdout=subprocess.PIPE
    )
    stubborn.stdout.readline()

    serving.end(hearing, stubborn, seconds=1)
    stubborn.communicate()

    assert hearing.poll() not in (None, 0)
    assert stubborn.poll() not in (None, 0)
