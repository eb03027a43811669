"""Put random small faults into the code, one at a time, and tell which of them no test notices.

    .venv/bin/python -m tests.mutants --count 600 --seed 1

First every test is run once under coverage, to learn which lines it reaches and how long it takes.
Then one process a core, with the database ready, is copied (`fork`) for each fault, with its
database: the copy gets the faulty function in place of the sound one and runs the tests that reach
the line until one fails. Needs a system that can fork. Exits with 1 when a fault survives that
`judged.md` does not judge.
"""

import argparse
import gc
import json
import os
import random
import resource
import shutil
import subprocess
import sys
import tempfile
from collections import Counter
from itertools import pairwise
from pathlib import Path

import pytest
from coverage import CoverageData

from tests.mutants.mutations import Mutant, mutants, mutated_code
from tests.mutants.order import in_turn

ROOT = Path(__file__).parents[2]
JUDGED = Path(__file__).with_name("judged.md")
# Stock, costing, quoting, progress, sales and payments.
SUBJECTS = [
    "inventory/stock/ledger", "inventory/stock/shelf", "inventory/stock/costing",
    "pricing/costing/price",
    "pricing/costing/costs.py", "pricing/costing/piece_costs.py", "pricing/costing/keeping.py",
    "pricing/costing/worth.py",
    "pricing/quoting/quotes.py", "pricing/quoting/freezing.py", "pricing/quoting/invoicing.py",
    "pricing/commissions/progress.py", "pricing/commissions/owing.py",
    "pricing/commissions/payments.py", "pricing/selling/sales.py", "pricing/selling/booking.py",
    "pricing/selling/ready.py", "pricing/selling/reversals.py",
]  # fmt: skip  # a table: the parts by their wing
# Left out: the browser, which runs in another process, and the years lived at random, which reach
# everything and take minutes.
TESTS = ["-q", "-p", "no:cacheprovider", "-m", "not browser", "--ignore=tests/living"]
MOST_TESTS = 240  # for one fault; a fault that these do not notice counts as unnoticed
MOST_SECONDS = 10  # of one test; what takes longer reaches everything, and is left out
MOST_CPU_SECONDS = 40  # of one test under a fault; one that never ends is ended, and was noticed
SURVIVED, KILLED, BROKEN = 0, 1, 2


def files() -> list[str]:
    found: list[Path] = []
    for subject in SUBJECTS:
        path = ROOT / subject
        found += sorted(path.rglob("*.py")) if path.is_dir() else [path]
    return [file.relative_to(ROOT).as_posix() for file in found]


class Durations:
    """Notes how long each test took."""

    def __init__(self):
        self.seconds: Counter[str] = Counter()
        self.failed: set[str] = set()

    def pytest_runtest_logreport(self, report):
        self.seconds[report.nodeid] += report.duration
        if report.failed:
            self.failed.add(report.nodeid)


def measure(record: Path) -> None:
    """Run every test once, and keep which lines it reached and how long it took.

    A test that fails as things are notices nothing, and is left out.
    """
    durations = Durations()
    settings = record / "settings.ini"
    settings.write_text("[run]\ninclude =\n    " + "\n    ".join(files()), encoding="utf-8")
    arguments = [*TESTS, "--cov", f"--cov-config={settings}", "--cov-context=test", "--cov-report="]
    os.environ["COVERAGE_FILE"] = str(record / "coverage")
    pytest.main([*arguments, "-n", "auto", "--dist", "loadfile"], plugins=[durations])
    print(f"{len(durations.failed)} tests fail as things are.", *sorted(durations.failed), sep="\n")
    sound = {test: took for test, took in durations.seconds.items() if test not in durations.failed}
    (record / "durations.json").write_text(json.dumps(sound), encoding="utf-8")


class Reached:
    """Which tests reach a line."""

    def __init__(self, record: Path):
        text = (record / "durations.json").read_text(encoding="utf-8")
        self.seconds: dict[str, float] = json.loads(text)
        self.data = CoverageData(str(record / "coverage"))
        self.data.read()

    def by(self, mutant: Mutant) -> list[str]:
        lines = self.data.contexts_by_lineno(str(ROOT / mutant.path))
        contexts = {
            context
            for line in range(mutant.line, mutant.end_line + 1)
            for context in lines.get(line, ())
        }
        tests = {context.rpartition("|")[0] for context in contexts}
        tests = {test for test in tests if self.seconds.get(test, MOST_SECONDS) < MOST_SECONDS}
        quick_first = sorted(tests, key=lambda test: self.seconds[test])
        return in_turn(quick_first, mutant)[:MOST_TESTS]


class Trial:
    """In place of running the collected tests: each fault in a copy of this process."""

    def __init__(self, chosen: list[Mutant], reached: Reached, say):
        self.chosen, self.reached, self.say = chosen, reached, say

    @pytest.hookimpl(tryfirst=True)
    def pytest_runtestloop(self, session):
        from django.db import connection, connections

        items = {item.nodeid: item for item in session.items}
        first = next(item for item in session.items if item.get_closest_marker("database"))
        # The session's database is made by the first test and kept, since another test comes next.
        run(first, session.items[-1])
        connections.close_all()
        functions = live_functions()
        database = Path(connection.settings_dict["NAME"])
        for mutant in self.chosen:
            tests = [items[test] for test in self.reached.by(mutant) if test in items]
            # Of its own, since a test that is ended or empties tables would leave it to the next.
            own = database.with_stem(f"{database.stem}-fault")
            shutil.copy(database, own)
            child = os.fork()
            if child == 0:
                connection.settings_dict["NAME"] = str(own)
                try:
                    outcome = notices(mutant, tests, functions, last=first)
                except BaseException as error:
                    self.say(mutant, BROKEN, repr(error))
                    os._exit(BROKEN)
                os._exit(outcome)
            _, status = os.waitpid(child, 0)
            for file in own.parent.glob(f"{own.name}*"):  # with its journals
                file.unlink()
            code = os.waitstatus_to_exitcode(status)
            if code < 0:
                self.say(mutant, KILLED, "ended by the system")
            elif code != BROKEN:  # of which the copy has told itself
                self.say(mutant, code, f"{len(tests)} tests")
        return True


def live_functions() -> dict[tuple[str, str], list]:
    """Return the functions of this process by their file and name."""
    found: dict[tuple[str, str], list] = {}
    for thing in gc.get_objects():
        if type(thing).__name__ == "function":
            code = thing.__code__
            found.setdefault((code.co_filename, code.co_qualname), []).append(thing)
    return found


def notices(mutant: Mutant, tests: list, functions: dict, last) -> int:
    """Put the fault in and run the tests until one fails."""
    silence = os.open(os.devnull, os.O_WRONLY)
    os.dup2(silence, 1)
    os.dup2(silence, 2)
    code = mutated_code(ROOT, mutant)
    for function in functions[str(ROOT / mutant.path), mutant.function]:
        function.__code__ = code
    for test, after in pairwise([*tests, last]):
        end_this_process_in(MOST_CPU_SECONDS)
        if not run(test, after):
            return KILLED
    return SURVIVED


def end_this_process_in(seconds: int) -> None:
    """Let this process be ended once it has worked for so many seconds more."""
    used = resource.getrusage(resource.RUSAGE_SELF)
    until = int(used.ru_utime + used.ru_stime) + seconds
    resource.setrlimit(resource.RLIMIT_CPU, (until, resource.RLIM_INFINITY))


def run(item, following) -> bool:
    from _pytest.runner import runtestprotocol

    return not any(report.failed for report in runtestprotocol(item, log=False, nextitem=following))


def choose(count: int, seed: int) -> list[Mutant]:
    everything = [mutant for path in files() for mutant in mutants(ROOT, path)]
    chosen = random.Random(seed).sample(everything, min(count, len(everything)))
    print(f"{len(chosen)} of {len(everything)} faults in {len(files())} files, seed {seed}.")
    return chosen


def work(record: Path, chosen: list[Mutant], output: Path) -> None:
    """Try the chosen faults one after another and write a line for each."""

    def say(mutant, outcome, note):
        with output.open("a", encoding="utf-8") as file:
            file.write(json.dumps([mutant.name, mutant.line, outcome, note]) + "\n")

    pytest.main([*TESTS, "-p", "no:xdist"], plugins=[Trial(chosen, Reached(record), say)])


def summary(lines: list) -> int:
    """Print how it went, and return how many survivors nobody has judged."""
    judged = JUDGED.read_text(encoding="utf-8")
    counts = Counter(outcome for _, _, outcome, _ in lines)
    survivors = sorted(line for line in lines if line[2] == SURVIVED)
    open_ones = [line for line in survivors if f"`{line[0]}`" not in judged]
    for name, line, outcome, note in sorted(lines):
        if outcome == BROKEN:
            print(f"COULD NOT BE TRIED  {name} (line {line}): {note}")
    for name, line, _, note in open_ones:
        print(f"SURVIVED  {name} (line {line}; {note})")
    print(
        f"{counts[KILLED]} killed, {counts[SURVIVED]} survived, of which {len(open_ones)} are not "
        f"judged, {counts[BROKEN]} could not be tried."
    )
    return len(open_ones) + counts[BROKEN]


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.mutants", description=__doc__)
    parser.add_argument("--count", type=int, default=600)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--cores", type=int, default=os.cpu_count())
    parser.add_argument("--record", type=Path, help="a folder that keeps what the tests reach")
    parser.add_argument("--measure", action="store_true", help=argparse.SUPPRESS)
    parser.add_argument("--worker", type=int, help=argparse.SUPPRESS)
    options = parser.parse_args()
    record = options.record or Path(tempfile.mkdtemp(prefix="pourwright-mutants-"))
    if options.measure:
        measure(record)
        return 0
    chosen = choose(options.count, options.seed)
    if options.worker is not None:
        work(record, chosen[options.worker :: options.cores], record / f"tried-{options.worker}")
        return 0
    record.mkdir(exist_ok=True)
    again = [sys.executable, "-m", "tests.mutants", *sys.argv[1:], "--record", str(record)]
    if not (record / "durations.json").exists():
        subprocess.run([*again, "--measure"], cwd=ROOT, check=True)
    outputs = [record / f"tried-{worker}" for worker in range(options.cores)]
    for output in outputs:
        output.unlink(missing_ok=True)
    workers = [
        subprocess.Popen([*again, "--worker", str(worker)], cwd=ROOT, stdout=subprocess.DEVNULL)
        for worker in range(options.cores)
    ]
    for worker in workers:
        worker.wait()
    lines = [json.loads(line) for output in outputs for line in output.open(encoding="utf-8")]
    return int(summary(lines) > 0 or len(lines) < len(chosen))


if __name__ == "__main__":
    sys.exit(main())
