"""Advice on the room in which resin is poured."""

from inventory.mixing.proportions.amounts import Number
from pricing.estimating.advice.finding import RESIN_MAKERS, Advice, Severity, number

# Below 15 C the cure fails; most makers ask for 70 to 85 F, 21 to 29 C.
FAILS_C, COOL_C, WARM_C = 15, 21, 29
# Makers ask for 60 % or less; 70 to 80 % leaves a milky or waxy surface.
DAMP_PERCENT, WET_PERCENT = 60, 80


def resin_temperature(room_c: Number) -> Advice:
    """Judge whether a room is too cold or too warm to pour resin.

    Parameters
    ----------
    room_c : float or Decimal
        Temperature of the room and of the parts, [C]

    Returns
    -------
    advice : Advice
        Temperature against 15, 21 or 29 C, whichever is nearest to being passed, [C]

    Raises
    ------
    AdviceError
        If it is below -50 C or not a number.

    Examples
    --------
    >>> [resin_temperature(room_c).severity for room_c in (13, 16, 23)]
    ['stop', 'caution', 'fine']

    References
    ----------
    Epoxy makers' published guidance.
    """
    room = number(room_c, "A room temperature", least=-50)
    severity: Severity
    if room <= FAILS_C:
        said, limit, severity = "resin does not cure. Warm the room first.", FAILS_C, "stop"
    elif room < COOL_C:
        said, limit, severity = (
            "resin cures slowly and may stay soft. Most makers ask for 21 to 29 °C.",
            COOL_C,
            "caution",
        )
    elif room > WARM_C:
        said, limit, severity = "resin sets fast. Mix small cups.", WARM_C, "caution"
    else:
        said, limit, severity = "most makers' resin cures as stated.", COOL_C, "fine"
    return Advice(
        code="resin-temperature",
        sentence=f"At {room:g} °C {said}",
        computed=room,
        limit=float(limit),
        unit="°C",
        source=RESIN_MAKERS,
        severity=severity,
    )


def resin_humidity(humidity_percent: Number) -> Advice:
    """Judge whether the air is too damp to pour resin.

    Parameters
    ----------
    humidity_percent : float or Decimal
        Relative humidity, from 0, [%]

    Returns
    -------
    advice : Advice
        Humidity against 60 % or 80 %, [%]

    Raises
    ------
    AdviceError
        If it is below zero or not a number.

    Examples
    --------
    >>> resin_humidity(70).severity
    'caution'

    References
    ----------
    Epoxy makers' published guidance.
    """
    humidity = number(humidity_percent, "Humidity")
    severity: Severity
    if humidity > WET_PERCENT:
        said, limit, severity = "resin turns milky. Dry the air first.", WET_PERCENT, "stop"
    elif humidity > DAMP_PERCENT:
        said, limit, severity = "resin is likelier to turn milky or waxy.", DAMP_PERCENT, "caution"
    else:
        said, limit, severity = "the air is dry enough for resin.", DAMP_PERCENT, "fine"
    return Advice(
        code="resin-humidity",
        sentence=f"At {humidity:g} % relative humidity {said}",
        computed=humidity,
        limit=float(limit),
        unit="%",
        source=RESIN_MAKERS,
        severity=severity,
    )
