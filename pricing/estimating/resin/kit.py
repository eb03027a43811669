"""A resin kit, as its label states it."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from inventory.mixing.proportions import density
from inventory.mixing.proportions.amounts import decimal
from pricing.estimating.resin.amounts import two_parts
from pricing.estimating.resin.errors import ResinError
from pricing.techniques import GUESSES, OUR_GUESS

LABEL = "the label of the kit, as given"

# Epoxy makers state pot life for 100 g and report runaway heat from that mass on.
CUP_LIMIT_G = Decimal(100)
# Where a kit's densities are not known a cup is taken to be as heavy as the heaviest resin on
# record: common practice, no source.
ASSUMED_G_PER_ML = Decimal("1.20")


@dataclass(frozen=True)
class Kit:
    """A two-part resin, as its label states it.

    Its ratio is always given. Of the other figures those in `unchecked` nobody has read: they are
    taken on the safe side, from `pricing.techniques.GUESSES`. Densities in [g/mL], films in [mm],
    temperatures in [C]. `maximum_cup_g` is the maker's own limit for one cup, taken as 100 g where
    none is stated.
    """

    name: str
    ratio_a: Decimal
    ratio_b: Decimal
    basis: Literal["volume", "weight"]
    density_a: Decimal | None = None
    density_b: Decimal | None = None
    waste: Decimal = Decimal("0.15")
    maximum_film_mm: Decimal = GUESSES["maximum_film_mm"]
    maximum_cup_g: Decimal | None = None
    pot_life_minutes: Decimal = GUESSES["pot_life_minutes"]
    pot_life_c: Decimal = GUESSES["pot_life_c"]
    pot_life_mass_g: Decimal = GUESSES["pot_life_mass_g"]
    recoat_from_hours: Decimal = GUESSES["recoat_from_hours"]
    recoat_to_hours: Decimal = GUESSES["recoat_to_hours"]
    handle_hours: Decimal = GUESSES["handle_hours"]
    cure_hours: Decimal = GUESSES["cure_hours"]
    room_from_c: Decimal = GUESSES["room_from_c"]
    room_to_c: Decimal = GUESSES["room_to_c"]
    heat_limit_c: Decimal | None = None
    unchecked: frozenset[str] = frozenset()

    def __post_init__(self) -> None:
        two_parts(self.ratio_a, self.ratio_b, self.basis, self.density_a, self.density_b)
        if not (
            self.maximum_film_mm > 0 and (self.maximum_cup_g is None or self.maximum_cup_g > 0)
        ):
            raise ResinError(f"The film and cup limits of {self.name} must be above zero.")
        if not 0 <= self.recoat_from_hours <= self.recoat_to_hours:
            raise ResinError(f"The recoat window of {self.name} must end after it begins.")

    def source_of(self, *names: str) -> str:
        """Return whose figures some are: the label's, or ours while one of them is not checked."""
        return OUR_GUESS if self.unchecked & set(names) else LABEL

    @property
    def states_room(self) -> bool:
        """Whether the room it asks for was read off its label."""
        return not self.unchecked & {"room_from_c", "room_to_c"}

    @property
    def g_per_ml(self) -> Decimal | None:
        """Density of the mixed resin, [g/mL], or None where a part's is not known."""
        if self.density_a is None or self.density_b is None:
            return None
        mix = two_parts(self.ratio_a, self.ratio_b, self.basis, self.density_a, self.density_b)
        return decimal(density(mix))

    @property
    def cup_limit_g(self) -> Decimal:
        """Most resin to mix in one cup, [g]."""
        return CUP_LIMIT_G if self.maximum_cup_g is None else self.maximum_cup_g
