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
        Whatever the caller knows it by, [-]
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
        key=f"common-{row['technique']}-{row['layer']}-{row['what']}",
    )
