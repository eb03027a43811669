"""What is commonly known of each technique: a start, until a studio's own pours say better."""

from dataclasses import dataclass
from decimal import Decimal

PLAIN = ("base", "colours")
CELLS = (*PLAIN, "activator")
# A little base under a full cup of colours, or a flooded base under a small one.
BASES = ("thin", "flooded")


@dataclass(frozen=True)
class TechniqueFacts:
    """One technique, as commonly practised.

    Parameters
    ----------
    slug, name : str
        What it is known by in the data and on the page, [-]
    layers : tuple of str
        What is poured, from the bottom up, [-]
    kept : float
        Share of what is poured that is scraped back for later base coats, [-]
    success_rate : Decimal
        Share of pieces that come out fit to sell, [-]
    set_up_minutes, pour_minutes : int
        Hands-on time once a session, and again for each piece, [min]
    bases : tuple of str
        What base it may be poured over, where that makes two pours of it; else empty, [-]
    pillow : bool
        Whether colours stand on a thick bed of base that must carry them, [-]
    """

    slug: str
    name: str
    layers: tuple[str, ...]
    kept: float
    success_rate: Decimal
    set_up_minutes: int
    pour_minutes: int
    bases: tuple[str, ...] = ()
    pillow: bool = False


# Common practice, no source, and rough: a studio corrects success and minutes to its own hand on
# the technique's page, and learns what it keeps from its logs. A pour of 1 fl oz on 25 in2 must
# lose at least 18 % to end as a film of 1.5 mm; a bloom stands on a bed several times as thick and
# sheds most of it.
TECHNIQUES = (
    TechniqueFacts("bloom", "Bloom", CELLS, 0.45, Decimal("0.85"), 25, 6, pillow=True),
    TechniqueFacts("swipe", "Swipe", CELLS, 0.20, Decimal("0.90"), 20, 5),
    TechniqueFacts("flip-cup", "Flip cup", PLAIN, 0.15, Decimal("0.90"), 20, 4, BASES),
    TechniqueFacts("straight-pour", "Straight pour", PLAIN, 0.15, Decimal("0.95"), 15, 3),
    TechniqueFacts("ring-pour", "Ring pour", PLAIN, 0.15, Decimal("0.90"), 20, 5, BASES),
    TechniqueFacts("blow-out", "Blow-out", PLAIN, 0.25, Decimal("0.85"), 20, 7),
)  # fmt: skip  # a table: a technique a row
# Share of coated pieces that come out fit to sell: our guess, no source.
COAT_SUCCESS = Decimal("0.95")


def facts_of(slug: str) -> TechniqueFacts:
    """Return what is commonly known of a technique.

    Parameters
    ----------
    slug : str
        What it is known by in the data, [-]

    Returns
    -------
    facts : TechniqueFacts
        Its row of common practice, [-]

    Raises
    ------
    KeyError
        If there is no such technique.

    Examples
    --------
    >>> facts_of("flip-cup").layers
    ('base', 'colours')
    """
    return {facts.slug: facts for facts in TECHNIQUES}[slug]
