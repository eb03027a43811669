"""Which seeds are lived: those of ``--seeds``, or the stated sample."""

import gc

import pytest
from django.core.cache import cache
from django.template import Template
from django.test import utils

SAMPLE = (1, 7, 12)  # together they come to every address


def seeds_of(text):
    """Return the numbers that a text such as ``1-20,33`` stands for, in order."""
    seeds = []
    for part in text.split(","):
        first, _, last = part.partition("-")
        seeds += range(int(first), int(last or first) + 1)
    return seeds


def pytest_generate_tests(metafunc):
    if "seed" in metafunc.fixturenames:
        told = metafunc.config.getoption("--seeds")
        metafunc.parametrize("seed", seeds_of(told) if told else SAMPLE)


@pytest.fixture
def quickly(monkeypatch):
    """Leave out what tests of single pages need and a year does not: a copy of each template's
    context, and the collector of circular garbage going through every library again and again.
    """
    monkeypatch.setattr(Template, "_render", utils._TestState.saved_data.template_render)
    cache.clear()
    gc.collect()
    gc.freeze()
    yield
    gc.unfreeze()
