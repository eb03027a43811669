"""How likely it is that materials cost more than was quoted, by adding up all that may happen.

What a layer takes is uncertain, and so is how many pieces fail before enough have come out well.
Layers and lines are taken as independent of each other. Work is taken as costed.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import log

import numpy as np
from numpy.typing import NDArray
from scipy.signal import fftconvolve
from scipy.special import ndtr, ndtri
from scipy.stats import nbinom

from pricing.costing.price.errors import PriceError

CELLS = 4000
TAIL = 1e-9
CERTAIN_SD = 1e-9  # of a layer that costs what it costs; far below a cell
NINE_IN_TEN = float(ndtri(0.9))

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class RiskyLayer:
    """What a layer of all pieces costs: its middle, and what one in ten exceeds, [currency].

    What ``is_coat`` goes over pieces that came out well.
    """

    median: float
    high: float
    is_coat: bool = False


@dataclass(frozen=True)
class RiskyLine:
    """A line of a quote: so many pieces [-], the shares that succeed [-], and its materials.

    ``layers`` are of all pieces; ``surface`` is what all surfaces cost together, [currency].
    """

    pieces: int
    pour_success: float
    layers: tuple[RiskyLayer, ...]
    surface: float = 0.0
    coat_success: float = 1.0


def chances_above(lines: Sequence[RiskyLine], amounts: Sequence[float]) -> list[float]:
    """Return the chance that the materials of all lines cost more than each amount.

    Every piece that fails takes its share of paint and a surface, and is poured again until enough
    came out well. Costs are added up on a grid of 4,000 cells.

    Parameters
    ----------
    lines : sequence of RiskyLine
        At least one, [currency]
    amounts : sequence of float
        Above 0, [currency]

    Returns
    -------
    chances : list of float
        One for each amount, from 0 to 1, [-]

    Raises
    ------
    PriceError
        If there is no line or amount, or one of them is out of range.

    Examples
    --------
    One layer at its middle: half of such pours cost more.

    >>> line = RiskyLine(1, 1.0, (RiskyLayer(10.0, 15.0),))
    >>> round(chances_above([line], [10.0])[0], 3)
    0.5

    References
    ----------
    Layers are lognormal; pieces poured follow the negative binomial distribution: N. L. Johnson,
    A. W. Kemp, S. Kotz, Univariate Discrete Distributions, 3rd ed., ch. 5. The sum of independent
    costs has the convolution of their distributions.
    """
    if not lines or not amounts or any(amount <= 0 for amount in amounts):
        raise PriceError("A risk is worked out for at least one line and amounts above nothing.")
    grid = np.linspace(0, 1.01 * max(amounts), CELLS + 1)  # no amount stands at its end
    total = np.zeros(CELLS + 1)
    total[0] = 1.0
    for line in lines:
        total = _add(total, _cells(_line_cdf(line, grid)))
    below = np.cumsum(total)
    # A cell's cost stands at its middle, so half of the last cell is still below its edge.
    return [
        float(1 - np.clip(np.interp(amount, grid, below - total / 2), 0, 1)) for amount in amounts
    ]


def _line_cdf(line: RiskyLine, grid: Floats) -> Floats:
    """Return the chance that a line costs at most each amount of the grid.

    Pieces are coated until enough are well, and poured until enough can be coated.
    """
    shares = (line.pour_success, line.coat_success)
    if line.pieces < 1 or line.surface < 0 or not all(0 < share <= 1 for share in shares):
        raise PriceError("A line has at least one piece, and a share of them that come out well.")
    paint = _below([layer for layer in line.layers if not layer.is_coat], grid)
    coats = [layer for layer in line.layers if layer.is_coat]
    coat = _below(coats, grid)
    chance = np.zeros(len(grid))
    for coated, part in _tries(line.pieces, line.coat_success):
        poured = np.zeros(len(grid))
        for count, share in _tries(coated, line.pour_success):
            each = grid * line.pieces / count
            poured += share * np.interp(each - line.surface, grid, paint, left=0.0)
        if coats:
            taken = np.interp(grid * line.pieces / coated, grid, coat)
            poured = _from_cells(_add(_cells(poured), _cells(taken)))
        chance += part * poured
    return chance


def _tries(enough: int, share: float) -> list[tuple[int, float]]:
    """Return how many are tried until enough succeed, each with its chance."""
    failed = nbinom(enough, share)
    most = int(failed.isf(TAIL))
    return [(enough + count, float(failed.pmf(count))) for count in range(most + 1)]


def _below(layers: Sequence[RiskyLayer], grid: Floats) -> Floats:
    """Return the chance that layers cost at most each amount of the grid together."""
    total = np.zeros(len(grid))
    total[0] = 1.0
    for layer in layers:
        if layer.median < 0 or layer.high < layer.median:
            raise PriceError("What a layer costs at most is not below its middle.")
        if layer.median:
            total = _add(total, _cells(_layer_cdf(layer, grid)))
    return _from_cells(total)


def _from_cells(chances: Floats) -> Floats:
    """Return the chance up to the middle of each cell; what costs nothing stands at its end."""
    below = np.cumsum(chances) - chances / 2
    below[0] = chances[0]
    return below


def _layer_cdf(layer: RiskyLayer, grid: Floats) -> Floats:
    sd = max(log(layer.high / layer.median) / NINE_IN_TEN, CERTAIN_SD)
    with np.errstate(divide="ignore"):
        chances: Floats = ndtr((np.log(grid) - log(layer.median)) / sd)
    return chances


def _cells(cdf: Floats) -> Floats:
    """Return the chance of the cell around each grid point, what is beyond the grid left out."""
    edges = np.concatenate(([0.0], (cdf[1:] + cdf[:-1]) / 2, [cdf[-1]]))
    return np.diff(edges)


def _add(one: Floats, other: Floats) -> Floats:
    """Return the distribution of the sum of two costs, up to the end of the grid."""
    both: Floats = fftconvolve(one, other)
    return np.clip(both[: len(one)], 0, None)
