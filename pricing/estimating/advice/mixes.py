"""Advice on mixes: colours against base, trace against target, what is in the paint."""

from collections.abc import Sequence

from inventory.mixing.proportions.amounts import Number
from pricing.estimating.advice.finding import NO_SOURCE, Advice, number

# A bloom on an 8 in canvas has 4 to 5 tbsp of colours on about 1 2/3 cups of base, 0.17 to 1, and
# holds together; below that colours split: common practice, no source.
LEAST_COLOUR_TO_BASE = 0.15
# A trace is counted by eye, so a quarter either way is as near as people agree: common practice,
# no source.
TRACE_TOLERANCE = 0.25


def thin_colours(colours_ml: Number, base_ml: Number) -> Advice:
    """Judge whether there is too little colour on the base for it to hold together.

    Parameters
    ----------
    colours_ml, base_ml : float or Decimal
        Poured on the same piece, the base above zero, [mL]

    Returns
    -------
    advice : Advice
        Film of the colours to that of the base, against 0.15, [-]

    Raises
    ------
    AdviceError
        If the colours are below zero or the base is not above zero.

    Examples
    --------
    >>> thin_colours(30, 400).severity
    'caution'
    """
    ratio = number(colours_ml, "Colours") / number(base_ml, "A base coat", above=True)
    thin = ratio < LEAST_COLOUR_TO_BASE
    return Advice(
        code="thin-colours",
        sentence=f"The colours are {ratio:.2f} of the base coat; "
        + (
            f"below {LEAST_COLOUR_TO_BASE:g} they tend to split and craze. Pour more colour or "
            "less base."
            if thin
            else f"from {LEAST_COLOUR_TO_BASE:g} they usually hold together."
        ),
        computed=ratio,
        limit=LEAST_COLOUR_TO_BASE,
        unit="ratio",
        source=NO_SOURCE,
        severity="caution" if thin else "fine",
    )


def off_trace(measured_s: Number, target_s: Number) -> Advice:
    """Judge whether a mix is as thick as its recipe asks.

    Parameters
    ----------
    measured_s, target_s : float or Decimal
        How long a drizzled line stays visible, above zero, [s]

    Returns
    -------
    advice : Advice
        Measured trace over target, less one, against a quarter either way, [-]

    Raises
    ------
    AdviceError
        If a trace is not above zero.

    Examples
    --------
    >>> off_trace(2, 3).sentence
    'The trace is 2 s where the recipe asks for 3 s: too thin. Stir in more paint or medium.'
    """
    measured = number(measured_s, "A trace", above=True)
    target = number(target_s, "A target trace", above=True)
    off = measured / target - 1
    asks = f"The trace is {measured:g} s where the recipe asks for {target:g} s"
    verdict = "close enough."
    if abs(off) > TRACE_TOLERANCE:
        verdict = (
            "too thin. Stir in more paint or medium."
            if off < 0
            else "too thick. Thin it a little at a time."
        )
    return Advice(
        code="trace",
        sentence=f"{asks}: {verdict}",
        computed=off,
        limit=TRACE_TOLERANCE,
        unit="ratio",
        source=NO_SOURCE,
        severity="caution" if abs(off) > TRACE_TOLERANCE else "fine",
    )


def silicone_under_topcoat(with_silicone: Sequence[str]) -> Advice:
    """Judge whether a topcoat goes over paint that holds silicone.

    Parameters
    ----------
    with_silicone : sequence of str
        Names of the materials in the paint that contain silicone, [-]

    Returns
    -------
    advice : Advice
        How many there are, against none, [materials]

    Examples
    --------
    >>> silicone_under_topcoat(["Cell oil"]).severity
    'caution'
    """
    count = len(with_silicone)
    return Advice(
        code="silicone",
        sentence=(
            f"{', '.join(with_silicone)} {'contains' if count == 1 else 'contain'} silicone, from "
            "which resin and varnish draw back in craters. Once the paint is dry, dust with talc "
            "or starch, wash with soapy water and let it dry before any topcoat."
            if count
            else "Nothing in the paint is marked as containing silicone."
        ),
        computed=count,
        limit=0,
        unit="materials",
        source=NO_SOURCE,
        severity="caution" if count else "fine",
    )


def silicone_in_base(with_silicone: Sequence[str]) -> Advice:
    """Judge whether paint that holds silicone goes into a base coat.

    Parameters
    ----------
    with_silicone : sequence of str
        Names of the mixes, pots and materials of the base coat that contain silicone, [-]

    Returns
    -------
    advice : Advice
        In words alone: any silicone there is too much, [-]

    Examples
    --------
    >>> silicone_in_base(["B0007 Reclaimed paint"]).severity
    'caution'
    >>> silicone_in_base([]).severity
    'fine'
    """
    count = len(with_silicone)
    return Advice(
        code="silicone-in-base",
        sentence=(
            f"{', '.join(with_silicone)} {'contains' if count == 1 else 'contain'} silicone, which "
            "spoils how paint, varnish and resin hold on a base coat. Keep it for colours, or use "
            "a base without it."
            if count
            else "Nothing in the base coat is marked as containing silicone."
        ),
        computed=None,
        limit=None,
        unit="",
        source=NO_SOURCE,
        severity="caution" if count else "fine",
    )
