"""What sessions of any number of pieces take is what an estimate of as many says."""

from decimal import Decimal as D

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pricing.costing.price import sessions
from pricing.estimating.estimates import estimate
from pricing.estimating.making import MOST_SIZES, few_sizes
from tests.factories.bench import working_studio

pytestmark = pytest.mark.django_db

COUNTS = st.dictionaries(
    st.integers(1, 500), st.decimals(D("0.000001"), D(3), places=6), min_size=1, max_size=200
)


@given(COUNTS)
def test_fewer_sizes_are_as_many_sessions_of_as_many_pieces(times):
    few = few_sizes(times)

    assert len(few) <= max(len(times), 1) and len(few) <= MOST_SIZES
    assert sum(few.values()) == pytest.approx(sum(times.values()), rel=D("1e-20"))
    pieces, before = (
        sum(count * several for count, several in one.items()) for one in (few, times)
    )
    assert pieces == pytest.approx(before, rel=D("1e-20"))


@pytest.fixture
def tiles():
    bench = working_studio()

    def of(count):
        return estimate(
            *(bench.studio, bench.tile_size, "bloom", count),
            palette=bench.palette,
            topcoat=bench.kit,
        )

    return of


@pytest.mark.parametrize("count", (1, 3, 8))
def test_one_session_takes_what_is_estimated_for_it(tiles, count):
    piece = tiles(5)

    uses = piece.making.over({count: D(1)}, {count: D(1)})

    for use, layer in zip(uses, tiles(count).layers, strict=True):
        assert (use.layer, use.spent.mixed) == (layer.layer, layer.spent.mixed)
        assert use.spent.scraped == layer.spent.scraped
        for material, need in layer.materials.items():
            assert use.materials[material].used == pytest.approx(need.used, abs=D("0.0003"))


def test_several_sessions_add_up(tiles):
    making = tiles(5).making

    both = making.over({1: D("1.5"), 4: D("0.25")}, {4: D(2)})
    one, four = making.over({1: D(1)}, {}), making.over({4: D(1)}, {4: D(1)})

    for layer, alone, together in zip(both, one, four, strict=False):
        expected = alone.spent.mixed * D("1.5") + together.spent.mixed / 4
        assert layer.spent.mixed == pytest.approx(expected, abs=D("0.001"))
    assert both[-1].layer == "topcoat"
    assert both[-1].spent.mixed == 2 * four[-1].spent.mixed


def test_forty_pieces_are_reckoned_from_a_few_sizes_closely(tiles):
    making, found = tiles(1).making, sessions(40, D("0.8"))
    each = {count: making.over({count: D(1)}, {}) for count in found.pours_again}

    uses = making.over(found.pours_again, {})

    for place, use in enumerate(uses):
        exact = sum(
            each[count][place].spent.mixed * times for count, times in found.pours_again.items()
        )
        assert use.spent.mixed == pytest.approx(exact, rel=D("0.03"))
