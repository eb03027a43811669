"""The two plain rules that the estimator is held against."""

from collections.abc import Sequence

from pricing.estimating.coverage.observations import CoverageError, Observation, size_of

# 1 US fl oz is 29.5735295625 mL (NIST Handbook 44, app. C); 1 in2 is 645.16 mm2.
ML_PER_FL_OZ = 29.5735295625
MM2_PER_IN2 = 645.16
IN2_PER_FL_OZ = 25.0


def ounce_rule(wetted_area_mm2: float) -> float:
    """Return 1 US fl oz of paint for each 25 in2, all layers together.

    Parameters
    ----------
    wetted_area_mm2 : float
        Face and painted sides, above zero, [mm2]

    Returns
    -------
    volume_ml : float
        Mixed paint, [mL]

    Raises
    ------
    CoverageError
        If the area is not above zero.

    Examples
    --------
    8 x 10 in: 80 / 25 = 3.2 fl oz.

    >>> round(ounce_rule(80 * 645.16) / 29.5735295625, 6)
    3.2

    References
    ----------
    Common practice, no source: 1 fl oz for 24 to 26 in2.
    """
    size_of(wetted_area_mm2)
    return wetted_area_mm2 / MM2_PER_IN2 / IN2_PER_FL_OZ * ML_PER_FL_OZ


def area_scaling(
    observations: Sequence[Observation], technique: str, layer: str, wetted_area_mm2: float
) -> float:
    """Scale the pour nearest in size by area, as one does by head.

    Parameters
    ----------
    observations : sequence of Observation
        What was seen, [-]
    technique, layer : str
        What is poured, [-]
    wetted_area_mm2 : float
        Face and painted sides of one piece, [mm2]

    Returns
    -------
    volume_ml : float
        For one piece; of pours equally near, the latest in the sequence, [mL]

    Raises
    ------
    CoverageError
        If there is no pour of that technique and layer.
    """
    size = size_of(wetted_area_mm2)
    same = [one for one in observations if (one.technique, one.layer) == (technique, layer)]
    if not same:
        raise CoverageError(f"No {technique} has been poured yet to scale the {layer} from.")
    nearest = min(reversed(same), key=lambda one: abs(one.size - size))
    return nearest.volume_ml * wetted_area_mm2 / nearest.wetted_area_mm2
