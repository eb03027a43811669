"""What to mix for a session: the one home of it, for mixing sheets, forms and prices alike."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal

from pricing.estimating import mixing
from pricing.estimating.mixes import layer_mixes
from pricing.models import Palette
from studio.errors import in_words
from studio.money import ZERO, allocate
from studio.units import UnitsError, kitchen_measure, round_up_to_measure


@dataclass(frozen=True)
class SessionMix:
    """One layer over all pieces of a session: what to mix, [mL] and in kitchen measures.

    ``mixes`` are (recipe key, mL) pairs that add up to it, none without a palette; ``portions``
    says what of it each piece of work gets, [mL], in the order they were given, adding up to it as
    well; ``note`` where a colour was raised.
    """

    volume_ml: Decimal
    measure: str
    portions: tuple[Decimal, ...]
    mixes: tuple[tuple[int, Decimal], ...] = ()
    note: str = ""


def to_mix(
    needed_ml: Decimal, measures: str, least_ml: Decimal | None = None
) -> tuple[Decimal, str]:
    """Return what to mix so that so much is there, [mL], and the kitchen measure it is.

    The next measure up, or the one just below where that holds at least ``least_ml`` and the next
    would add much; and then the next tenth of a millilitre, since no cylinder shows less.
    """
    with in_words(UnitsError):
        volume_ml, measure = round_up_to_measure(needed_ml, measures, least_ml)
    return Decimal(volume_ml).quantize(mixing.MEASURABLE_ML, ROUND_CEILING), measure


def session_mix(
    layer: str,
    needs: Sequence[Decimal],
    measures: str,
    palette: Palette | None = None,
    least_ml: Decimal | None = None,
) -> SessionMix:
    """Return what to mix of one layer for works that need so much each, [mL], from one cup a mix.

    What they need is added up before it is rounded up to a kitchen measure, so that a day of small
    pieces is not rounded up piece by piece. ``least_ml`` is what will do for all of them together.
    """
    needed_ml = sum(needs, ZERO)
    volume_ml, measure = to_mix(needed_ml, measures, least_ml)
    mixes: list[tuple[int, Decimal]] = []
    note = ""
    if palette is not None:
        mixes, note = layer_mixes(palette, layer, volume_ml)
        mixed_ml = sum((ml for _, ml in mixes), ZERO)
        if mixed_ml > volume_ml:  # each colour at the least that can be drizzled
            volume_ml, measure = mixed_ml, kitchen_measure(mixed_ml, measures)
    portions = allocate(volume_ml, needs, 1)
    return SessionMix(volume_ml, measure, tuple(portions), tuple(mixes), note)
