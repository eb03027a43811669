"""Advice on the room in which resin is poured."""

from inventory.mixing.proportions.amounts import Number
from pricing.estimating.advice.finding import RESIN_MAKERS, Advice, Severity, number
from studio.units import degrees

# Below 15 C the cure fails; most makers ask for 70 to 85 F, 21 to 29 C.
FAILS_C, COOL_C, WARM_C = 15, 21, 29
# Makers ask for 60 % or less; 70 to 80 % leaves a milky or waxy surface.
DAMP_PERCENT, WET_PERCENT = 60, 80


def resin_temperature(
    room_c: Number, from_c: Number = COOL_C, to_c: Number = WARM_C, *, stated: bool = False
) -> Advice:
    """Judge whether a room is too cold or too warm to pour resin.

    Parameters
    ----------
    room_c : float or Decimal
        Temperature of the room and of the parts, [C]
    from_c, to_c : float or Decimal
        The room its maker asks for, or what most makers ask for, [C]
    stated : bool
        Whether those are its maker's own figures, [-]

    Returns
    -------
    advice : Advice
        Temperature against 15 C or an end of the room asked for, whichever is passed, [C]

    Raises
    ------
    AdviceError
        If it is below -50 C or not a number.

    Examples
    --------
    >>> [resin_temperature(room_c).severity for room_c in (13, 18, 23)]
    ['stop', 'caution', 'fine']

    References
    ----------
    Epoxy makers' published guidance.
    """
    room = number(room_c, "A room temperature", least=-50)
    least, most = (number(one, "A room temperature", least=-50) for one in (from_c, to_c))
    asks = f"{'Its maker asks' if stated else 'Most makers ask'} for {degrees(least, most)}."
    severity: Severity
    limit: float = FAILS_C
    if room <= FAILS_C and room < least:
        said, severity = "resin does not cure. Warm the room first.", "stop"
    elif room < least:
        said, limit, severity = "resin cures slowly and may stay soft. " + asks, least, "caution"
    elif room > most:
        said, limit, severity = "resin sets fast. Mix small cups. " + asks, most, "caution"
    else:
        said, limit, severity = "it is as warm as resin is poured. " + asks, least, "fine"
    return Advice(
        code="resin-temperature",
        sentence=f"At {degrees(room)} {said}",
        computed=room,
        limit=limit,
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
