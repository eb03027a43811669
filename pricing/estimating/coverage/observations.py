"""What was seen: so much of one layer on a surface of one size, by one technique."""

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from math import isfinite, log, pi, sqrt
from pathlib import Path

from pricing import techniques
from pricing.estimating import surfaces

LAYERS = ("base", "colours", "activator")
LAYERS_OF = {facts.slug: facts.layers for facts in techniques.TECHNIQUES}
TECHNIQUES = tuple(LAYERS_OF)
# What the base under a pour may be, where a technique is poured in more ways than one.
BASES_OF = {facts.slug: facts.bases for facts in techniques.TECHNIQUES}
# A technique over each of its bases is a kind of pour.
KINDS = {
    kind: number
    for number, kind in enumerate(
        (technique, base) for technique in TECHNIQUES for base in BASES_OF[technique] or ("",)
    )
}

DATA = Path(__file__).parent.parent / "data" / "common_practice.csv"


class CoverageError(ValueError):
    """Something that cannot be estimated from; its text says what is accepted."""


def size_of(wetted_area_mm2: float) -> float:
    """Return the model's one number for size.

    Parameters
    ----------
    wetted_area_mm2 : float
        Face and painted sides, above zero, [mm2]

    Returns
    -------
    size : float
        Natural logarithm of the radius of the disc of that area in mm, [-]

    Raises
    ------
    CoverageError
        If the area is not a finite number above zero.
    """
    if not isfinite(wetted_area_mm2) or wetted_area_mm2 <= 0:
        raise CoverageError("A surface needs an area above zero.")
    return log(sqrt(wetted_area_mm2 / pi))


def whole(count: float) -> None:
    """Refuse a number of pieces that is not a whole number from one.

    Parameters
    ----------
    count : int
        How many, [-]

    Raises
    ------
    CoverageError
        If it is anything else.
    """
    if not isfinite(count) or count < 1 or count != int(count):
        raise CoverageError("The number of pieces must be a whole number, at least one.")


def check_base(technique: str, base: str) -> None:
    """Refuse a base that a technique is not poured over.

    Parameters
    ----------
    technique, base : str
        One of `TECHNIQUES`, and one of its bases or an empty text, [-]

    Raises
    ------
    CoverageError
        If the technique has no such base.
    """
    bases = BASES_OF[technique]
    if base and base not in bases:
        choice = f"Its base is {' or '.join(bases)}." if bases else "Leave the base out."
        raise CoverageError(f"A {technique} has no “{base}” base. {choice}")


def check_side_share(share: float) -> None:
    """Refuse what is no share.

    Parameters
    ----------
    share : float
        Painted sides as a share of the wetted area, [-]

    Raises
    ------
    CoverageError
        If it is not between 0 and 1.
    """
    if not 0 <= share <= 1:
        raise CoverageError("The sides' share of the painted area lies between 0 and 1.")


@dataclass(frozen=True)
class Line:
    """Equal pieces that are poured in one session.

    Parameters
    ----------
    technique : str
        One of `TECHNIQUES`, [-]
    wetted_area_mm2 : float
        Face and painted sides of one piece, [mm2]
    count : int
        How many, [-]
    side_share : float
        Painted sides as a share of the wetted area, from 0 to 1, [-]
    base : str
        One of the technique's bases; empty where it has only one, or it is not told, [-]
    """

    technique: str
    wetted_area_mm2: float
    count: int = 1
    side_share: float = 0.0
    base: str = ""

    def __post_init__(self) -> None:
        layers_of(self.technique)
        size_of(self.wetted_area_mm2)
        whole(self.count)
        check_base(self.technique, self.base)
        check_side_share(self.side_share)

    @property
    def kinds(self) -> tuple[str, ...]:
        """The bases it may be poured over: the one that was told, or all there are, [-]."""
        return (self.base,) if self.base else BASES_OF[self.technique] or ("",)


def layers_of(technique: str) -> tuple[str, ...]:
    """Return the layers of a technique, in the order they are poured.

    Parameters
    ----------
    technique : str
        One of `TECHNIQUES`, [-]

    Returns
    -------
    layers : tuple of str
        From the bottom up, [-]

    Raises
    ------
    CoverageError
        If there is no such technique.
    """
    if technique not in LAYERS_OF:
        raise CoverageError(
            f"“{technique}” is not a technique. Choose {', '.join(TECHNIQUES[:-1])} or "
            f"{TECHNIQUES[-1]}."
        )
    return LAYERS_OF[technique]


def check_layer(technique: str, layer: str) -> None:
    """Refuse a layer that a technique does not have.

    Parameters
    ----------
    technique, layer : str
        What is poured, [-]

    Raises
    ------
    CoverageError
        If there is no such technique, or it has no such layer.
    """
    if layer not in layers_of(technique):
        raise CoverageError(f"A {technique} has no layer “{layer}”.")


@dataclass(frozen=True)
class Observation:
    """What one layer took.

    Parameters
    ----------
    technique, layer : str
        One of `TECHNIQUES` and of its layers, [-]
    wetted_area_mm2 : float
        Face and painted sides of one piece, [mm2]
    volume_ml : float
        What was poured on one piece, run-off included; the mean over ``count`` pieces, [mL]
    count : int
        How many pieces the session had, [-]
    own : bool
        Whether it is the studio's own pour, or common practice, [-]
    noise : float or None
        Standard deviation of ln(volume) for common practice; own pours take the settings', [-]
    label : str
        What to call it when asked “why this number?”, [-]
    key : object
        The pour it belongs to: the layers of one pour share it. None is a pour of its own, [-]
    side_share : float
        Painted sides as a share of the wetted area, from 0 to 1, [-]
    base : str
        One of the technique's bases, or empty: not told, or it has only one, [-]
    sure : bool
        Whether somebody said that it is no slip, [-]
    rule : str
        For common practice, the rule it is written out from, whose error all its sizes share, [-]
    """

    technique: str
    layer: str
    wetted_area_mm2: float
    volume_ml: float
    count: int = 1
    own: bool = True
    noise: float | None = None
    label: str = ""
    key: int | str | None = None
    side_share: float = 0.0
    base: str = ""
    sure: bool = False
    rule: str = ""

    def __post_init__(self) -> None:
        if self.layer not in LAYERS_OF.get(self.technique, ()):
            raise CoverageError(
                f"“{self.technique}” with a layer “{self.layer}” is not a pour. Techniques are "
                f"{', '.join(TECHNIQUES)}; layers are {', '.join(LAYERS)}."
            )
        if not isfinite(self.volume_ml) or self.volume_ml <= 0:
            raise CoverageError("An amount poured must be a number of mL above zero.")
        whole(self.count)
        if self.noise is not None and not (isfinite(self.noise) and self.noise > 0):
            raise CoverageError("A given noise must be a number above zero.")
        size_of(self.wetted_area_mm2)
        check_base(self.technique, self.base)
        check_side_share(self.side_share)

    @property
    def size(self) -> float:
        """Natural logarithm of the piece's radius in mm, [-]."""
        return size_of(self.wetted_area_mm2)


@cache
def common_practice() -> tuple[Observation, ...]:
    """Return the built-in observations, each with its source in ``label``.

    Returns
    -------
    observations : tuple of Observation
        None of them the studio's own, [-]
    """
    with DATA.open(encoding="utf-8", newline="") as lines:
        return tuple(_read(row) for row in csv.DictReader(lines))


def _read(row: Mapping[str, str]) -> Observation:
    piece = surfaces.rectangle(
        float(row["width_mm"]), float(row["height_mm"]), float(row["depth_mm"])
    )
    return Observation(
        technique=row["technique"],
        layer=row["layer"],
        wetted_area_mm2=piece.wetted_area_mm2,
        volume_ml=float(row["volume_ml"]),
        own=False,
        noise=float(row["noise"]),
        label=f"{row['what']} ({row['source']})",
        key=f"common-{row['technique']}-{row['base']}-{row['layer']}-{row['what']}",
        side_share=piece.side_area_mm2 / piece.wetted_area_mm2,
        base=row["base"],
        rule=row["rule"],
    )
