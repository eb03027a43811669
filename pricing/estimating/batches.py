"""One batch a layer for all of a job, beside a cup for each of its pieces or lines."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from pricing.estimating.answers import LineEstimate, PieceEstimate
from pricing.estimating.enough import needed_paint
from pricing.estimating.making import Making
from pricing.estimating.sessions import session_mix
from studio.money import ZERO

# What saves less is not worth a word, [mL].
WORTH_IT = Decimal(1)


@dataclass(frozen=True)
class OneBatch:
    """What is mixed of all paint together and apart, [mL]; ``each`` is what has a cup of its own.

    Apart each cup is enough by itself with the chosen chance, together all of them are: so a cup
    for each would have to hold still more to keep the same promise.
    """

    together_ml: Decimal
    apart_ml: Decimal
    each: str

    @property
    def saved_ml(self) -> Decimal:
        """What one batch a layer saves, [mL]."""
        return self.apart_ml - self.together_ml


def for_pieces(piece: PieceEstimate) -> OneBatch | None:
    """Return the `OneBatch` of equal pieces, or None where it saves nothing worth a word."""
    making = piece.making
    if making is None or piece.count < 2:
        return None
    one = replace(making, line=replace(making.line, count=1), _known={})
    return _worth_it(piece.to_mix_ml, piece.count * _alone_ml(one), "piece")


def for_lines(lines: Sequence[LineEstimate]) -> OneBatch | None:
    """Return the `OneBatch` of lines that share palettes, or None where it saves nothing.

    A line by itself is told as its pieces are.
    """
    if len(lines) == 1:
        return for_pieces(lines[0].piece)
    shared = Counter(one.line.palette_id for one in lines)
    pieces = [one.piece for one in lines if shared[one.line.palette_id] > 1]
    if not pieces:
        return None
    together = sum((piece.to_mix_ml for piece in pieces), ZERO)
    apart = sum((_alone_ml(piece.making) for piece in pieces if piece.making), ZERO)
    return _worth_it(together, apart, "line")


def _worth_it(together_ml: Decimal, apart_ml: Decimal, each: str) -> OneBatch | None:
    saves = OneBatch(together_ml, apart_ml, each)
    return saves if saves.saved_ml >= WORTH_IT else None


def _alone_ml(making: Making) -> Decimal:
    """Return what to mix of all paint of pieces that are mixed for by themselves, [mL]."""
    rules, palette = making.rules, making.palette
    needed = needed_paint(making.estimator, making.line, rules, palette).layers
    return sum(
        (
            session_mix(one.layer, [one.needed_ml], rules.measures, palette, one.least_ml).volume_ml
            for one in needed
        ),
        ZERO,
    )
