"""Which tests of a fault to run first."""

import re
from collections import Counter
from itertools import zip_longest

from tests.mutants.mutations import Mutant


def in_turn(tests: list[str], mutant: Mutant) -> list[str]:
    """Order tests so that those that notice most come first, however many reach the fault.

    In turn come one that is named like the fault's file or function, and one of the others: first
    the first of each file, then the second, since tests of one file notice much the same.
    """
    names = f"{mutant.path.partition('/')[2]} {mutant.function}".lower()
    words = set(re.findall("[a-z]{4,}", names))
    namesakes = [test for test in tests if any(word in test for word in words)]
    before: Counter[str] = Counter()
    others = []
    for test in tests:
        if test not in namesakes:
            file = test.partition("::")[0]
            others.append((before[file], len(others), test))
            before[file] += 1
    pairs = zip_longest(namesakes, [test for *_, test in sorted(others)])
    return [test for pair in pairs for test in pair if test]
