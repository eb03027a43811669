"""What a piece is for, and what it counts as while nobody has said."""

from decimal import Decimal

# As `pricing.models.Use` keeps them.
HOT, FOOD, LOOK = "hot", "food", "look"
PURPOSES = {HOT: "for hot drinks", FOOD: "for food nearby", LOOK: "to look at"}
# The largest coasters sold are 4.5 to 5 in, 114 to 127 mm, and a mug stands on 60 to 90 mm: common
# practice, read on one site each.
COASTER_MM = Decimal(127)


def counts_as(use: str, *, longest_mm: Decimal, pieces_each: int = 1) -> str:
    """Return what a piece or set counts as being for.

    What somebody has said stands. Of what nobody said anything, a piece of a coaster's size will
    have a cup put on it, and so will one of a set: sets are made for a table. A single larger piece
    may become a tray, so it counts as having food nearby; nothing is only to look at unless
    somebody says so.

    Parameters
    ----------
    use : str
        ``hot``, ``food`` or ``look``, or nothing where it was not said, [-]
    longest_mm : Decimal
        The longer side of the face, [mm]
    pieces_each : int
        How many pieces are kept together, [-]

    Returns
    -------
    use : str
        ``hot``, ``food`` or ``look``, [-]

    Examples
    --------
    >>> counts_as("", longest_mm=Decimal(100))
    'hot'
    >>> counts_as("", longest_mm=Decimal(400)), counts_as("look", longest_mm=Decimal(100))
    ('food', 'look')
    """
    if use:
        return use
    return HOT if longest_mm <= COASTER_MM or pieces_each > 1 else FOOD


def purpose(use: str) -> str:
    """Return what a customer reads of what a piece is for, or nothing where it was not said.

    Parameters
    ----------
    use : str
        ``hot``, ``food`` or ``look``, or nothing, [-]

    Returns
    -------
    words : str
        Such as “for hot drinks”, [-]

    Examples
    --------
    >>> purpose("hot"), purpose("")
    ('for hot drinks', '')
    """
    return PURPOSES.get(use, "")
