"""One session at the bench: pieces that share a palette are poured from the same cups."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from pricing.estimating.answers import PieceEstimate
from pricing.estimating.layers import LAYER_NAMES
from pricing.estimating.sessions import SessionMix, session_mix
from pricing.models import Palette
from studio.models import Studio
from studio.money import ZERO

# A label longer than this says how many pieces it is for, in place of which.
LONGEST_LABEL = 100


@dataclass(frozen=True)
class SessionLayer:
    """One layer over all pieces of a session: what to mix.

    ``shares`` says what of it each piece of work needs, [mL], in the order they were given, before
    it was rounded up; ``label`` what it is for.
    """

    layer: str
    mix: SessionMix
    shares: tuple[Decimal, ...]
    label: str

    @property
    def name(self) -> str:
        """What the layer is called."""
        return LAYER_NAMES[self.layer]

    def least(self, mix_ml: Decimal) -> Decimal:
        """Return what is needed of one of its mixes, [mL], before the layer was rounded up.

        So much of it in bottles is enough: a measure is only filled up where a cup is mixed.
        """
        return mix_ml * min(sum(self.shares) / self.mix.volume_ml, Decimal(1))


def session_layers(
    studio: Studio, palette: Palette, works: Sequence[tuple[str, PieceEstimate]]
) -> list[SessionLayer]:
    """Return the `SessionLayer` of each layer of paint, in the order they are poured.

    ``works`` are (label, `PieceEstimate`) pairs.
    """
    shares_by_layer: dict[str, list[Decimal]] = {}
    will_do: defaultdict[str, Decimal] = defaultdict(lambda: ZERO)
    for place, (_, piece) in enumerate(works):
        for layer in piece.layers:
            if layer.needed_ml:
                shares = shares_by_layer.setdefault(layer.layer, [ZERO] * len(works))
                shares[place] = layer.needed_ml
                will_do[layer.layer] += layer.least_ml
    return [
        SessionLayer(
            name,
            session_mix(name, shares, studio.measures, palette, will_do[name]),
            tuple(shares),
            f"{LAYER_NAMES[name].lower()} of {_words(works, shares)}",
        )
        for name, shares in shares_by_layer.items()
    ]


def _words(works: Sequence[tuple[str, PieceEstimate]], shares: Sequence[Decimal]) -> str:
    some = [work for work, share in zip(works, shares, strict=True) if share]
    words = ", ".join(label for label, _ in some)
    if len(words) <= LONGEST_LABEL:
        return words
    return f"{sum(piece.count for _, piece in some)} pieces"
