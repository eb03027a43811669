"""Advice on a resin plan: what was computed, the limit, and whose limit it is."""

from decimal import Decimal

from inventory.mixing.proportions.amounts import Number
from pricing.estimating.advice import NO_SOURCE, RESIN_MAKERS, Advice
from pricing.estimating.resin.kit import ASSUMED_G_PER_ML, LABEL, Kit
from pricing.fitness import HOT_CUP_C
from pricing.techniques import OUR_GUESS
from studio.units import degrees

# Pouring, spreading and chasing bubbles on one cup: common practice, no source.
SHORT_POT_LIFE_MINUTES = 10
# What stands together on a label, and how it is told.
FIGURES = {
    ("maximum_film_mm",): "thickest film {maximum_film_mm} mm",
    ("pot_life_minutes", "pot_life_c", "pot_life_mass_g"): "pot life {pot_life_minutes} minutes at "
    "{degrees} in a cup of {pot_life_mass_g} g",
    ("recoat_from_hours", "recoat_to_hours"): "next coat after {recoat_from_hours} to "
    "{recoat_to_hours} h",
    ("handle_hours",): "handling after {handle_hours} h",
    ("cure_hours",): "full cure {cure_hours} h",
    ("room_from_c", "room_to_c"): "a room of {degrees}",
}


def film_in_pours(kit: Kit, film_mm: Number, pours: int) -> Advice:
    """Say whether a film is laid at once or in several pours.

    Parameters
    ----------
    kit : Kit
        The resin, [-]
    film_mm : number
        Film wanted in the end, [mm]
    pours : int
        Pours it is laid in, [-]

    Returns
    -------
    advice : Advice
        Film against the thickest in one pour, [mm]

    Examples
    --------
    >>> film_in_pours(Kit("Clear", Decimal(1), Decimal(1), "volume"), 6, 2).sentence
    'A film of 6 mm is laid in 2 pours, since one may be 3.2 mm at most.'
    """
    several = pours > 1
    return Advice(
        code="resin-film",
        sentence=f"A film of {float(film_mm):g} mm is laid in "
        + (
            f"{pours} pours, since one may be {float(kit.maximum_film_mm):g} mm at most."
            if several
            else "one pour."
        ),
        computed=float(film_mm),
        limit=float(kit.maximum_film_mm),
        unit="mm",
        source=kit.source_of("maximum_film_mm"),
        severity="caution" if several else "fine",
    )


def mass_in_cups(kit: Kit, cups: int, cup_g: Decimal) -> Advice:
    """Say in how many cups a pour is mixed, so that none runs hot.

    Parameters
    ----------
    kit : Kit
        The resin, [-]
    cups : int
        Cups for one pour, [-]
    cup_g : Decimal
        Resin in each, [g]

    Returns
    -------
    advice : Advice
        Mass of one pour against the most in one cup, [g]

    Examples
    --------
    >>> mass_in_cups(Kit("Clear", Decimal(1), Decimal(1), "volume"), 2, Decimal(85)).severity
    'caution'

    References
    ----------
    Epoxy makers' published guidance: 100 g in a cup can run away, and gets hot enough to burn.
    """
    several = cups > 1
    return Advice(
        code="resin-cup",
        sentence=(
            f"Mix {cups} cups of {cup_g:.0f} g one after the other, each poured before the next is "
            f"mixed: more than {float(kit.cup_limit_g):g} g in one cup can overheat."
            if several
            else f"One cup of {cup_g:.0f} g stays within {float(kit.cup_limit_g):g} g."
        ),
        computed=float(cup_g * cups),
        limit=float(kit.cup_limit_g),
        unit="g",
        source=RESIN_MAKERS if kit.maximum_cup_g is None else LABEL,
        severity="caution" if several else "fine",
    )


def time_in_the_cup(kit: Kit, minutes: float) -> Advice:
    """Say how long a cup lasts, and whether that is little.

    Parameters
    ----------
    kit : Kit
        The resin, [-]
    minutes : float
        Pot life of one cup in this room, [min]

    Returns
    -------
    advice : Advice
        Pot life against 10 minutes, [min]

    Examples
    --------
    >>> time_in_the_cup(Kit("Clear", Decimal(1), Decimal(1), "volume"), 6.0).severity
    'caution'
    """
    short = minutes < SHORT_POT_LIFE_MINUTES
    figure = kit.source_of("pot_life_minutes", "pot_life_c", "pot_life_mass_g")
    return Advice(
        code="pot-life",
        sentence=f"A cup stays usable for about {minutes:.0f} minutes in this room"
        + (f" ({figure})" if figure == OUR_GUESS else "")
        + (": too little to pour and level in peace. Mix smaller cups." if short else "."),
        computed=minutes,
        limit=float(SHORT_POT_LIFE_MINUTES),
        unit="minutes",
        source=f"{figure}; warmth and mass: {RESIN_MAKERS}; limit: {NO_SOURCE}",
        severity="caution" if short else "fine",
    )


def density_advice(kit: Kit) -> tuple[Advice, ...]:
    """Say that masses are assumed where a kit's densities are not known.

    Parameters
    ----------
    kit : Kit
        The resin, [-]

    Returns
    -------
    advice : tuple of Advice
        One, or none where both densities are known, [g/mL]

    Examples
    --------
    >>> len(density_advice(Kit("Clear", Decimal(1), Decimal(1), "volume")))
    1
    """
    if kit.g_per_ml is not None:
        return ()
    assumed = Advice(
        code="resin-density",
        sentence=f"The densities of {kit.name} are not known: cups are planned as if it weighed "
        f"{ASSUMED_G_PER_ML} g/mL. Weigh a measured volume of each part and enter them.",
        computed=float(ASSUMED_G_PER_ML),
        limit=None,
        unit="g/mL",
        source=NO_SOURCE,
        severity="caution",
    )
    return (assumed,)


def heat_limit(kit: Kit) -> Advice:
    """Say what heat the finished piece may be promised to take.

    Parameters
    ----------
    kit : Kit
        The resin, [-]

    Returns
    -------
    advice : Advice
        The maker's stated limit against that of a hot cup, or that there is none on record, [C]

    Examples
    --------
    >>> clear = Kit("Clear", Decimal(1), Decimal(1), "volume", heat_limit_c=Decimal(49))
    >>> heat_limit(clear).severity
    'note'
    """
    return Advice(
        code="heat-limit",
        sentence=_heat_sentence(kit.heat_limit_c),
        computed=None if kit.heat_limit_c is None else float(kit.heat_limit_c),
        limit=None if kit.heat_limit_c is None else float(HOT_CUP_C),
        unit="°C",
        source=LABEL,
        severity="caution"
        if kit.heat_limit_c is None
        else "note"
        if kit.heat_limit_c < HOT_CUP_C
        else "fine",
    )


def _heat_sentence(stated: Decimal | None) -> str:
    if stated is None:
        return (
            "The heat limit of this resin is not yet checked: read it off the label, and keep hot "
            "cups off the piece meanwhile."
        )
    if stated < HOT_CUP_C:
        return (
            f"The maker states a heat limit of {degrees(stated)}, and a hot cup may have "
            f"{degrees(HOT_CUP_C)}. Tell the buyer to use a mat under hot cups; never call it "
            "heatproof."
        )
    return (
        f"Tell the buyer that the maker states a heat limit of {degrees(stated)}; never call it "
        "heatproof."
    )


def _told(kit: Kit, names: tuple[str, ...]) -> str:
    numbers = {name: getattr(kit, name) for name in names}
    temperatures = [value for name, value in numbers.items() if name.endswith("_c")]
    words = {name: f"{float(value):g}" for name, value in numbers.items()}
    return FIGURES[names].format(**words, degrees=degrees(*temperatures) if temperatures else "")


def not_yet_checked(kit: Kit) -> tuple[Advice, ...]:
    """Say which figures of a kit nobody has read, and what is taken for them.

    Parameters
    ----------
    kit : Kit
        The resin, [-]

    Returns
    -------
    advice : tuple of Advice
        One, or none where all was read; the heat limit is told by `heat_limit`, [-]

    Examples
    --------
    >>> kit = Kit(
    ...     "Clear", Decimal(1), Decimal(1), "volume", unchecked=frozenset({"cure_hours"})
    ... )
    >>> not_yet_checked(kit)[0].sentence
    'Not yet checked for Clear: full cure 336 h. This is our guess, read it off the label.'
    """
    told = [_told(kit, names) for names in FIGURES if kit.unchecked & set(names)]
    if not told:
        return ()
    these = "This is" if len(told) == 1 else "These are"
    advice = Advice(
        code="resin-not-checked",
        sentence=f"Not yet checked for {kit.name}: {', '.join(told)}. {these} {OUR_GUESS}.",
        computed=None,
        limit=None,
        unit="",
        source=OUR_GUESS,
        severity="caution",
    )
    return (advice,)
