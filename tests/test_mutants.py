"""The small faults that are put in on purpose are the ones meant, and really in the code."""

import pytest

from tests.mutants.mutations import Mutant, mutants, mutated_code
from tests.mutants.order import in_turn

SOURCE = '''
class Count:
    def late(self, days: int | None = 0) -> bool:
        """Not a fault."""
        if not days:
            return False
        return any(day > 3 for day in days)


class Lost(Exception):
    def __init__(self, what):
        super().__init__(what)
        self.what = what


def rest(a, b):
    record(a)
    return a - b if a >= b else 0


def record(a):
    raise AssertionError
'''


@pytest.fixture
def folder(tmp_path):
    (tmp_path / "late.py").write_text(SOURCE)
    return tmp_path


def faults(folder, function):
    return {
        f"{one.before} → {one.after}": one
        for one in mutants(folder, "late.py")
        if one.function == function
    }


def test_every_kind_of_fault_is_found_in_a_method(folder):
    assert set(faults(folder, "Count.late")) == {
        "if not days → if not not days",
        "not days → days",
        "False → True",
        "return any((day > 3 for day in days)) → return None",
        "any → all",
        "day > 3 → day >= 3",
        "3 → 4",
    }


def test_every_kind_of_fault_is_found_in_a_function(folder):
    assert set(faults(folder, "rest")) == {
        "record(a) → pass",
        "return a - b if a >= b else 0 → return None",
        "a - b if a >= b else 0 → a - b if not a >= b else 0",
        "a - b → a + b",
        "a >= b → a > b",
        "0 → 1",
    }


@pytest.mark.parametrize(
    ("fault", "expected"),
    [
        ("a - b → a + b", 7),
        ("a - b if a >= b else 0 → a - b if not a >= b else 0", 0),
        ("return a - b if a >= b else 0 → return None", None),
    ],
)
def test_the_fault_is_in_the_code_that_runs(folder, fault, expected):
    names = {"record": lambda a: None}
    exec(compile(SOURCE, str(folder / "late.py"), "exec"), names)
    names["record"] = lambda a: None

    names["rest"].__code__ = mutated_code(folder, faults(folder, "rest")[fault])

    assert names["rest"](5, 2) == expected


def test_a_fault_keeps_its_name_when_lines_move(folder):
    before = set(faults(folder, "rest"))
    (folder / "late.py").write_text("\n\n\n" + SOURCE)

    assert set(faults(folder, "rest")) == before


def test_namesakes_and_one_of_each_other_file_are_tried_in_turn():
    fault = Mutant("inventory/stock/ledger/posting.py", "_pass_silicone_on", 1, 1, "", "", 0, 0, 1)
    quick_first = [
        "tests/test_money.py::test_rounding",
        "tests/test_money.py::test_reading",
        "tests/test_stock.py::test_receive",
        "tests/test_mixing.py::test_density",
        "tests/test_mixing.py::test_silicone_is_handed_on",
    ]

    assert in_turn(quick_first, fault) == [
        "tests/test_stock.py::test_receive",
        "tests/test_money.py::test_rounding",
        "tests/test_mixing.py::test_silicone_is_handed_on",
        "tests/test_mixing.py::test_density",
        "tests/test_money.py::test_reading",
    ]


def test_a_method_goes_without_its_parents(folder):
    lost = {}
    exec(SOURCE, lost)
    fault = faults(folder, "Lost.__init__")["super().__init__(what) → pass"]

    lost["Lost"].__init__.__code__ = mutated_code(folder, fault)

    assert lost["Lost"]("key").what == "key"
