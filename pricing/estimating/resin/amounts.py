"""How much resin: a film over a face, in parts A and B."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from inventory.mixing.proportions import Ingredient, MixRecipe, Part, explode
from inventory.mixing.proportions.amounts import Number, decimal, exact, positive
from pricing.estimating.resin.errors import ResinError
from studio.money import ZERO


@dataclass(frozen=True)
class FloodCoat:
    """Resin for a flood coat, [mL]: on the face, lost, and all to be mixed."""

    face_ml: Decimal
    waste_ml: Decimal
    mix_ml: Decimal


@dataclass(frozen=True)
class Parts:
    """Parts A and B of one mix, [mL] and [g]; grams are None where a density is not known."""

    a_ml: Decimal
    b_ml: Decimal
    a_g: Decimal | None
    b_g: Decimal | None

    @property
    def ml(self) -> Decimal:
        """Both parts, [mL]."""
        return self.a_ml + self.b_ml

    @property
    def g(self) -> Decimal | None:
        """Both parts, [g], or None where a density is not known."""
        return None if self.a_g is None or self.b_g is None else self.a_g + self.b_g

    def times(self, cups: int) -> "Parts":
        """Return as many cups of the same."""
        a_g, b_g = (None if each is None else each * cups for each in (self.a_g, self.b_g))
        return Parts(self.a_ml * cups, self.b_ml * cups, a_g, b_g)


def flood_coat(area_mm2: Number, film_mm: Number, waste: Number = ZERO) -> FloodCoat:
    """Return the resin that a film over a face takes, with waste on top.

    Parameters
    ----------
    area_mm2 : number
        Flat face, without a bevel, above zero, [mm^2]
    film_mm : number
        Film wanted on the face, above zero, [mm]
    waste : number
        Left in cups and run off, as a share of what stays on the piece, from 0 to 1, [-]

    Returns
    -------
    coat : FloodCoat
        Volumes, exact where they end within 28 digits, [mL]

    Raises
    ------
    ResinError
        If the area or the film is not above zero, or waste is out of range.

    Examples
    --------
    A 400 mm x 300 mm panel under 1 mm, with a tenth lost: 120 mL and 12 mL.

    >>> coat = flood_coat(400 * 300, 1, Decimal("0.1"))
    >>> coat.face_ml, coat.waste_ml, coat.mix_ml
    (Decimal('120'), Decimal('12'), Decimal('132'))

    References
    ----------
    Volume is area times thickness: 1 mm on 1 m^2 is 1 L.
    """
    face = _above(area_mm2, "The face") * _above(film_mm, "The film") / 1000
    if not 0 <= waste <= 1:
        raise ResinError(f"Waste must be a number from 0 to 1, not {waste}.")
    lost = face * exact(waste)
    return FloodCoat(decimal(face), decimal(lost), decimal(face + lost))


def parts(
    volume_ml: Decimal,
    ratio_a: Decimal,
    ratio_b: Decimal,
    basis: Literal["volume", "weight"] = "volume",
    density_a: Decimal | None = None,
    density_b: Decimal | None = None,
) -> Parts:
    """Return how much of parts A and B makes a volume of resin.

    Parameters
    ----------
    volume_ml : Decimal
        Mixed resin, above zero, [mL]
    ratio_a, ratio_b : Decimal
        Parts of resin (A) and hardener (B), above zero, [-]
    basis : str
        "volume" or "weight": what the parts are of, [-]
    density_a, density_b : Decimal
        Densities; needed for parts by weight, and for grams, [g/mL]

    Returns
    -------
    parts : Parts
        To 0.0001; the volumes add up to `volume_ml` exactly, [mL and g]

    Raises
    ------
    ValueError
        If a number is not above zero, or a density that is needed is not given.

    Examples
    --------
    >>> mixed = parts(Decimal(150), Decimal(2), Decimal(1), density_a=Decimal("1.15"),
    ...               density_b=Decimal(1))
    >>> mixed.a_ml, mixed.b_ml, mixed.a_g, mixed.b_g
    (Decimal('100.0000'), Decimal('50.0000'), Decimal('115.0000'), Decimal('50.0000'))

    References
    ----------
    Balance of mass, volumes taken to add up.
    """
    parts_made = explode(two_parts(ratio_a, ratio_b, basis, density_a, density_b), volume_ml)
    return Parts(parts_made["A"].ml, parts_made["B"].ml, parts_made["A"].g, parts_made["B"].g)


def two_parts(
    ratio_a: Decimal,
    ratio_b: Decimal,
    basis: Literal["volume", "weight"] = "volume",
    density_a: Decimal | None = None,
    density_b: Decimal | None = None,
) -> MixRecipe:
    """Return a two-part resin as a recipe, for its density or a mixing sheet.

    Parameters
    ----------
    ratio_a, ratio_b : Decimal
        Parts of resin (A) and hardener (B), above zero, [-]
    basis : str
        "volume" or "weight": what the parts are of, [-]
    density_a, density_b : Decimal
        Densities where known, [g/mL]

    Returns
    -------
    recipe : MixRecipe
        A, then B, [-]

    Raises
    ------
    ValueError
        If a number is not above zero or the basis is neither.

    Examples
    --------
    >>> [part.of.name for part in two_parts(Decimal(1), Decimal(1)).parts]
    ['Part A', 'Part B']
    """
    resin = Ingredient("A", "Part A", density_a)
    hardener = Ingredient("B", "Part B", density_b)
    return MixRecipe("resin", "Resin", (Part(resin, ratio_a), Part(hardener, ratio_b)), basis)


def _above(value: Number, what: str) -> Fraction:
    try:
        return positive(value, what)
    except ValueError as error:
        raise ResinError(str(error)) from None
