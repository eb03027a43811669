"""What an estimate answers: of equal pieces, of a line, of a commission."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from inventory.models import Material
from pricing.estimating.advice import Advice, warnings
from pricing.estimating.coverage import BASES_OF, Keeping
from pricing.estimating.enough import Total
from pricing.estimating.layers import LayerEstimate, Need, add_needs
from pricing.estimating.making import Making
from pricing.estimating.surfaces import Surface
from pricing.models import CommissionLine
from studio.money import ZERO


@dataclass(frozen=True)
class PieceEstimate:
    """What ``count`` equal pieces take together.

    ``layers`` are `LayerEstimate` in the order they are poured; ``materials`` is
    {material: Need} over all layers, empty without a palette and kit; ``advice`` is everything that
    was judged, ``keeping`` what of the paint is taken to be kept. ``total`` is all paint together,
    and ``base`` what it is poured over, where that was told; ``making`` is how a studio makes them.
    """

    surface: Surface
    technique: str
    count: int
    layers: tuple[LayerEstimate, ...]
    materials: dict[Material, Need] = field(default_factory=dict)
    advice: tuple[Advice, ...] = ()
    keeping: Keeping = field(default_factory=Keeping)
    total: Total | None = None
    base: str = ""
    making: Making | None = field(default=None, compare=False)

    @property
    def bases(self) -> tuple[str, ...]:
        """What bases the amounts cover: where it was not told, all that there are."""
        return () if self.base else BASES_OF[self.technique]

    @property
    def outside_measured(self) -> bool:
        """Whether the size lies outside what has been measured, for any layer."""
        return any(layer.outside_measured for layer in self.layers)

    @property
    def has_resin(self) -> bool:
        """Whether resin is poured, so that its cautions must be shown."""
        return any(layer.plan for layer in self.layers)

    @property
    def to_mix_ml(self) -> Decimal:
        """What to mix of all paint together, [mL]."""
        return sum((one.to_mix_ml for one in self.layers if one.layer != "topcoat"), ZERO)

    @property
    def warned(self) -> tuple[Advice, ...]:
        """The advice past its limit, the gravest first."""
        return warnings(self.advice)

    @property
    def warnings(self) -> tuple[str, ...]:
        """Sentences of what needs doing, the gravest first."""
        return tuple(one.sentence for one in self.warned)

    def layer(self, name: str) -> LayerEstimate | None:
        """Return the estimate of one layer, or None."""
        return next((layer for layer in self.layers if layer.layer == name), None)


@dataclass(frozen=True)
class LineEstimate:
    """A commission's line: its pieces, what they are poured on and packed in, and its other steps.

    ``steps`` is what those use, by the act that takes it from the shelf: pour, coat, pack.
    """

    line: CommissionLine
    piece: PieceEstimate
    surface: dict[Material, Need]
    packaging: dict[Material, Need]
    steps: Mapping[str, dict[Material, Need]] = field(default_factory=dict)

    @property
    def needs(self) -> dict[Material, Need]:
        """All that it takes, whenever it is used."""
        return add_needs(*self.by_stage.values())

    @property
    def by_stage(self) -> dict[str, dict[Material, Need]]:
        """Needs by when they are used: poured (with the surface), coated, packed."""
        paint = [layer.materials for layer in self.piece.layers if layer.layer != "topcoat"]
        resin = [layer.materials for layer in self.piece.layers if layer.layer == "topcoat"]
        return {
            "pour": add_needs(*paint, self.surface, self.used_in("pour")),
            "coat": add_needs(*resin, self.used_in("coat")),
            "pack": add_needs(self.packaging, self.used_in("pack")),
        }

    def used_in(self, act: str) -> dict[Material, Need]:
        """Return what the steps use that go with an act: pour, coat or pack."""
        return self.steps.get(act, {})


@dataclass(frozen=True)
class CommissionEstimate:
    """All lines of a commission, and what they need together."""

    lines: tuple[LineEstimate, ...]
    needs: dict[Material, Need]

    @property
    def warnings(self) -> tuple[str, ...]:
        """Sentences of what needs doing, each once."""
        return tuple(dict.fromkeys(text for one in self.lines for text in one.piece.warnings))

    @property
    def has_resin(self) -> bool:
        """Whether resin is poured on any line."""
        return any(one.piece.has_resin for one in self.lines)

    @property
    def outside_measured(self) -> bool:
        """Whether any line's size lies outside what has been measured."""
        return any(one.piece.outside_measured for one in self.lines)
