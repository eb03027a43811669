"""What to have ready of each layer: enough for all cups of a job with the chosen chance."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from decimal import ROUND_HALF_UP, Decimal

from pricing.estimating import coverage
from pricing.estimating.learning import Hand
from pricing.models import Palette
from studio.errors import in_words
from studio.models import Studio
from studio.money import ZERO
from studio.units import kitchen_measure

# What a studio starts with, for estimates without one.
CONFIDENCE, CUP_LOSS = Decimal("0.90"), Decimal("0.05")


@dataclass(frozen=True)
class MixingRules:
    """How a studio mixes: its measures, the chance that it is enough, what cups take and it keeps.

    ``confidence`` and ``cup_loss`` are shares of one, [-].
    """

    measures: str
    confidence: Decimal = CONFIDENCE
    cup_loss: Decimal = CUP_LOSS
    keeping: coverage.Keeping = field(default_factory=coverage.Keeping)


@dataclass(frozen=True)
class NeededLayer:
    """One layer of paint over all pieces: its forecast, and what is needed not to run out, [mL].

    ``least_ml`` is what will do where it is measured: at most 2 % less, and enough together with
    the job's other cups with a chance of 2 points less than is promised.
    """

    forecast: coverage.Forecast
    needed_ml: Decimal
    least_ml: Decimal

    @property
    def layer(self) -> str:
        return self.forecast.layer


@dataclass(frozen=True)
class Total:
    """All layers of paint together, over all pieces: [mL], and the median in kitchen measures."""

    low_ml: Decimal
    median_ml: Decimal
    high_ml: Decimal
    measure: str


@dataclass(frozen=True)
class NeededPaint:
    """What a line of a job needs: each layer, in the order of pouring, and all of it together."""

    layers: tuple[NeededLayer, ...]
    total: coverage.Forecast

    def needed_ml(self, layer: str) -> Decimal:
        """Return what is needed of one layer, [mL]."""
        return sum((one.needed_ml for one in self.layers if one.layer == layer), ZERO)

    def least_ml(self, layer: str) -> Decimal:
        """Return what will do of one layer, [mL]."""
        return sum((one.least_ml for one in self.layers if one.layer == layer), ZERO)

    def in_measures(self, measures: str) -> Total:
        """Return all of it as it is shown."""
        total = self.total
        return Total(
            to_ml(total.low),
            to_ml(total.median),
            to_ml(total.high),
            kitchen_measure(total.median, measures),
        )


def mixing_rules(studio: Studio, hand: Hand, technique_slug: str) -> MixingRules:
    """Return how a studio mixes for a technique: as it set it, and as its logs say."""
    keeping = hand.keeping(technique_slug)
    return MixingRules(studio.measures, studio.mix_confidence, studio.cup_loss, keeping)


def poured_layers(technique: str, palette: Palette | None) -> tuple[str, ...]:
    """Return the layers of a technique; there is no activator where a palette has none."""
    layers = coverage.LAYERS_OF[technique]
    none = palette is not None and palette.activator_id is None
    return tuple(layer for layer in layers if not (none and layer == "activator"))


def needed_paint(
    estimator: coverage.Estimator,
    line: coverage.Line,
    rules: MixingRules,
    palette: Palette | None = None,
) -> NeededPaint:
    """Return what is needed of equal pieces that are a job of their own."""
    with in_words(coverage.CoverageError):
        return needed_for_job(estimator.job([line]), [palette], rules)[0]


def needed_for_job(
    job: coverage.Job, palettes: Sequence[Palette | None], rules: MixingRules
) -> tuple[NeededPaint, ...]:
    """Return what each line of a job needs, given the palette of each.

    Lines of one palette are poured from the same cups, one a layer. All cups of the job are enough
    together with the chosen confidence; each line's part of one is as its median's. What will do is
    at most 2 % less, and enough together with a chance of 2 points less.
    """
    cups: dict[tuple[int | None, str], list[tuple[int, str]]] = {}
    for at, ((technique, _), palette) in enumerate(zip(job.asked, palettes, strict=True)):
        for layer in poured_layers(technique, palette):
            cups.setdefault((palette.pk if palette else None, layer), []).append((at, layer))
    ready = job.ready(float(rules.confidence), list(cups.values()))
    needed: list[list[NeededLayer]] = [[] for _ in palettes]
    for cup, volumes in zip(cups.values(), ready, strict=True):
        forecasts = [job.layer(layer, at) for at, layer in cup]
        whole = sum(one.median for one in forecasts)
        for (at, _), one in zip(cup, forecasts, strict=True):
            enough, least = (_out_of_cups(ml * one.median / whole, rules) for ml in volumes)
            needed[at].append(NeededLayer(one, enough, least))
    return tuple(
        NeededPaint(_in_order(layers), job.total([(at, one.layer) for one in layers]))
        for at, layers in enumerate(needed)
    )


def _in_order(layers: Sequence[NeededLayer]) -> tuple[NeededLayer, ...]:
    return tuple(sorted(layers, key=lambda one: coverage.LAYERS.index(one.layer)))


def _out_of_cups(poured_ml: float, rules: MixingRules) -> Decimal:
    """Return what must be mixed so that so much can be poured, what cups take included, [mL]."""
    return to_ml(coverage.with_cup_loss(poured_ml, float(rules.cup_loss)))


def to_ml(value: Decimal | float) -> Decimal:
    """Return a volume as the database keeps it, to 0.001 mL."""
    return Decimal(str(float(value))).quantize(Decimal("0.001"), ROUND_HALF_UP)
