"""One session at the bench: pieces that share a palette are poured from the same cups."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from pricing.estimating.estimates import PieceEstimate
from pricing.estimating.layers import LAYER_NAMES, to_ml
from pricing.estimating.mixes import layer_mixes
from pricing.models import Palette
from studio.errors import in_words
from studio.models import Studio
from studio.units import UnitsError, round_up_to_measure

# A label longer than this says how many pieces it is for, in place of which.
LONGEST_LABEL = 100


@dataclass(frozen=True)
class SessionLayer:
    """One layer over all pieces of a session: what to mix, [mL] and in kitchen measures.

    ``mixes`` are (recipe key, mL) pairs that add up to it; ``shares`` says what of it each piece of
    work needs, [mL], in the order they were given; ``label`` what it is for.
    """

    layer: str
    volume_ml: Decimal
    measure: str
    mixes: tuple[tuple[int, Decimal], ...]
    shares: tuple[Decimal, ...]
    label: str
    note: str = ""

    @property
    def name(self) -> str:
        """What the layer is called."""
        return LAYER_NAMES[self.layer]

    def least(self, mix_ml: Decimal) -> Decimal:
        """Return what is needed of one of its mixes, [mL], before the layer was rounded up.

        So much of it in bottles is enough: a measure is only filled up where a cup is mixed.
        """
        return mix_ml * sum(self.shares) / self.volume_ml


def session_layers(
    studio: Studio, palette: Palette, works: Sequence[tuple[str, PieceEstimate]]
) -> list[SessionLayer]:
    """Return the `SessionLayer` of each layer of paint, in the order they are poured.

    ``works`` are (label, `PieceEstimate`) pairs. What each needs is added up before it is rounded
    up to a kitchen measure, so that a day of small pieces is not rounded up piece by piece.
    """
    needed: dict[str, list[Decimal]] = {}
    for place, (_, piece) in enumerate(works):
        for layer in piece.layers:
            if layer.needed_ml:
                shares = needed.setdefault(layer.layer, [Decimal(0)] * len(works))
                shares[place] = layer.needed_ml
    found = []
    for name, shares in needed.items():
        with in_words(UnitsError):
            volume_ml, measure = round_up_to_measure(sum(shares), studio.measures)
        volume_ml = to_ml(volume_ml)
        mixes, note = layer_mixes(palette, name, volume_ml)
        label = f"{LAYER_NAMES[name].lower()} of {_words(works, shares)}"
        found.append(
            SessionLayer(name, volume_ml, measure, tuple(mixes), tuple(shares), label, note)
        )
    return found


def _words(works: Sequence[tuple[str, PieceEstimate]], shares: Sequence[Decimal]) -> str:
    some = [work for work, share in zip(works, shares, strict=True) if share]
    words = ", ".join(label for label, _ in some)
    if len(words) <= LONGEST_LABEL:
        return words
    return f"{sum(piece.count for _, piece in some)} pieces"
