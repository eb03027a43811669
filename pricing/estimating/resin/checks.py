"""Advice on a resin plan: what was computed, the limit, and whose limit it is."""

from decimal import Decimal

from inventory.mixing.proportions.amounts import Number
from pricing.estimating.advice import NO_SOURCE, RESIN_MAKERS, Advice
from pricing.estimating.resin.kit import ASSUMED_G_PER_ML, Kit

DATA_SHEET = "the kit's data sheet"
# Pouring, spreading and chasing bubbles on one cup: common practice, no source.
SHORT_POT_LIFE_MINUTES = 10


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
    >>> film_in_pours(Kit("Clear"), 6, 2).sentence
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
        source=DATA_SHEET,
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
    >>> mass_in_cups(Kit("Clear"), 2, Decimal(85)).severity
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
        source=RESIN_MAKERS if kit.maximum_cup_g is None else DATA_SHEET,
        severity="caution" if several else "fine",
    )


def time_in_the_cup(minutes: float) -> Advice:
    """Say how long a cup lasts, and whether that is little.

    Parameters
    ----------
    minutes : float
        Pot life of one cup in this room, [min]

    Returns
    -------
    advice : Advice
        Pot life against 10 minutes, [min]

    Examples
    --------
    >>> time_in_the_cup(6.0).severity
    'caution'
    """
    short = minutes < SHORT_POT_LIFE_MINUTES
    return Advice(
        code="pot-life",
        sentence=f"A cup stays usable for about {minutes:.0f} minutes in this room"
        + (": too little to pour and level in peace. Mix smaller cups." if short else "."),
        computed=minutes,
        limit=float(SHORT_POT_LIFE_MINUTES),
        unit="minutes",
        source=f"{RESIN_MAKERS}; limit: {NO_SOURCE}",
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
    >>> len(density_advice(Kit("Clear")))
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
        The maker's stated limit, or that there is none on record, [C]

    Examples
    --------
    >>> heat_limit(Kit("Clear", heat_limit_c=Decimal(49))).sentence
    'Tell the buyer that the maker states a heat limit of 49 °C; never call it heatproof.'
    """
    stated = kit.heat_limit_c
    return Advice(
        code="heat-limit",
        sentence=(
            "No heat limit is on record for this resin: look it up, and promise none meanwhile."
            if stated is None
            else f"Tell the buyer that the maker states a heat limit of {float(stated):g} °C; "
            "never call it heatproof."
        ),
        computed=None if stated is None else float(stated),
        limit=None if stated is None else float(stated),
        unit="°C",
        source=DATA_SHEET,
        severity="caution" if stated is None else "fine",
    )
