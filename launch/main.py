"""What ``run.py`` does once it is sure of its Python."""

import argparse
import os
import sys

from launch import network, running, serving
from launch.archive import build
from launch.environment import (
    FOR_TESTS,
    RUNTIME,
    install,
    make_environment,
    see_that_browser_tests_run,
    see_that_papers_print,
    warn_where_papers_do_not_print,
    write_env,
)
from launch.home import Home, find_home, make_folders, see_that_it_is_whole
from launch.system import SetUpError, call, must, say

# All tests, on every processor; a file stays on one, so that Chromium starts once.
ALL_TESTS = ["-n", "auto", "--dist", "loadfile", "--no-loadscope-reorder"]
USAGE = """python3 run.py [--port PORT] [--lan] [--demo] [--no-browser] [--yes]
       python3 run.py [--yes] test [pytest arguments]
       python3 run.py [--demo] manage COMMAND [arguments]
       python3 run.py [--yes] archive [--to FOLDER]"""
# What follows one of these goes on as it is: to pytest, and to manage.py.
PASSED_ON = ("test", "manage")


def read_arguments(argv: list[str]) -> tuple[argparse.Namespace, list[str]]:
    """Return run.py's own options, ``what`` it is to do among them, and what is passed on."""
    at = min((argv.index(word) for word in PASSED_ON if word in argv), default=len(argv))
    own, passed_on = argv[: at + 1], argv[at + 1 :]
    parser = argparse.ArgumentParser(
        prog="run.py", usage=USAGE, description="Sets Pourwright up and runs it, or its tests."
    )
    parser.add_argument(
        "what",
        nargs="?",
        choices=[*PASSED_ON, "archive"],
        help="run the tests, or a command on the data; or make a release's archive",
    )
    parser.add_argument("--to", default="dist", help="where the archive goes (dist)")
    parser.add_argument("--port", type=int, default=8000, help="where to serve (8000)")
    parser.add_argument("--lan", action="store_true", help="let your home network in")
    parser.add_argument("--demo", action="store_true", help="a made-up studio, apart from yours")
    parser.add_argument("--no-browser", action="store_true", help="do not open the browser")
    parser.add_argument("--yes", action="store_true", help="install missing system packages")
    return parser.parse_args(own), passed_on


def main(argv: list[str]) -> int:
    """Do what the command line says; return the exit status."""
    os.environ["PYTHONUTF8"] = "1"  # fractions and × on any terminal
    options, passed_on = read_arguments(argv)
    try:
        if options.what == "test":
            return run_tests(passed_on, options.yes)
        if options.what == "manage":
            return run_command(find_home(is_demo=options.demo), passed_on, options.yes)
        if options.what:
            home = find_home()
            make_environment(home, options.yes)
            install(home, RUNTIME)
            say(f"Wrote {build(home, options.to)}")
            return 0
        return run_site(options)
    except SetUpError as error:
        print(error, file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        say("\nStopped.")
        return 130


def run_tests(arguments: list[str], yes: bool) -> int:
    """Set up what the tests need and run them."""
    home = find_home()
    make_environment(home, yes)
    install(home, RUNTIME)
    install(home, FOR_TESTS)
    see_that_papers_print(home, yes)
    see_that_browser_tests_run(home, yes)
    return call(home.python(), "-m", "pytest", *(arguments or ALL_TESTS))


def run_command(home: Home, command: list[str], yes: bool) -> int:
    """Run a command of manage.py on the data, with links to what is served now, if it is.

    Also before the first start, to bring a backup back on another computer.
    """
    _set_up(home, yes)
    url = running.noted_address(home.data).rstrip("/")
    if url and "SITE_URL" not in home.settings():
        os.environ.setdefault("SITE_URL", url)
    return call(home.python(), "manage.py", *command)


def run_site(options: argparse.Namespace) -> int:
    """Set the site up and serve it; a release once only, on data of the person's own."""
    see_that_it_is_whole()
    home = find_home(is_demo=options.demo)
    make_folders(home)
    if not home.version:
        return _run(home, options)
    try:
        with running.only_one(home.data):
            return _run(home, options)
    except running.RunsAlready as already:
        url = str(already)
        say(f"Pourwright runs already{f': {url}' if url else ', and is being started'}")
        if options.lan:
            say("To start it for the home network, close its window first.")
        if url and not options.no_browser:
            serving.open_browser(url)
        return 0


def _set_up(home: Home, yes: bool) -> None:
    """Make what every start needs: folders, environment and settings."""
    make_folders(home)
    os.environ["DATA_DIR"] = str(home.data)
    make_environment(home, yes)
    install(home, RUNTIME)
    os.umask(0o077)  # what is written from here on is for its owner only
    write_env(home)


def _run(home: Home, options: argparse.Namespace) -> int:
    _set_up(home, options.yes)
    (warn_where_papers_do_not_print if home.version else see_that_papers_print)(home, options.yes)
    if not home.version:  # a checkout is served from where its files lie; a release has its own
        os.environ.setdefault("STATIC_FROM_SOURCE", "True")
    must("Setting up the database", home.python(), "manage.py", "update")
    if options.demo or not home.version:
        papers = home.data / "papers"
        must("The demo studio", home.python(), "manage.py", "demo", "--no-serve", f"--out={papers}")
    return _serve(home, options)


def _serve(home: Home, options: argparse.Namespace) -> int:
    given = home.settings() | os.environ
    if options.lan:
        network.see_that_it_may(home)
        found = network.find_network()
        port, host = options.port, serving.EVERYWHERE
        if not serving.is_free(port, host):
            raise SetUpError(
                f"Port {port} is taken, and labels that were printed name it. End what is served "
                "there, or choose another for good with --port."
            )
        os.environ.update(network.settings_for(found, port, given))
        say(network.WHO)
    else:
        port, host = serving.free_port(options.port), serving.HERE
        os.environ.setdefault("SITE_URL", given.get("SITE_URL") or f"http://{host}:{port}")
    url = f"http://{serving.HERE}:{port}/"

    def ready() -> None:
        say(f"\nPourwright is at {url}  (Ctrl-C ends it)")
        if options.lan:
            network.tell(home, found, port)
        if home.version:
            running.note_address(home.data, url)
            if not options.no_browser:
                serving.open_browser(f"{url}start/")

    return serving.serve(home, port, host=host, ready=ready)
