"""Where the money of a price goes: its parts, and what each is made of."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from pricing.costing.price.cost import FINISHED, PREPARED, Amounts, CostLine
from studio.money import ZERO, add_up, rounded

NAMES = {
    "surface": "Tiles, canvases and boards",
    "prepared": PREPARED,
    "failures": "Pieces that fail",
    "labour": "Work",
    "overhead": "Rent, power and tools",
    "finished": FINISHED,
    "packaging": "Packaging",
    "shipping": "Shipping",
    "fees": "Fees of the channel",
    "profit": "Profit",
    "tax": "Tax",
}


MEASURED = {NAMES[kind] for kind in ("failures", "labour", "overhead")}


@dataclass(frozen=True)
class PricePart:
    """A part of a price, [currency], and its share of it, [-].

    ``made_of`` are names and amounts that add up to it.
    """

    label: str
    amount: Decimal
    made_of: Amounts = ()
    share: Decimal = ZERO

    @property
    def is_measured(self) -> bool:
        """Whether it comes of minutes and failures, which a studio measures."""
        return self.label in MEASURED


def price_parts(
    lines: Iterable[CostLine], *, net: Decimal, tax: Decimal, fees: Decimal, profit: Decimal
) -> list[PricePart]:
    """Return what a price goes on: each layer by itself, then the rest, profit and tax last.

    Parameters
    ----------
    lines : iterable of CostLine
        What everything that is priced costs, [currency]
    net, tax : Decimal
        The price before tax, and its tax, [currency]
    fees, profit : Decimal
        What of the price before tax is neither cost nor shipping; a loss is below zero, [currency]

    Returns
    -------
    parts : list of PricePart
        Those that are not nothing; they add up to ``net + tax`` exactly, since what is charged for
        shipping is what is left, [currency]

    Examples
    --------
    >>> white = (("White", Decimal(2)),)
    >>> lines = [
    ...     CostLine("material", "Base coat", Decimal(2), Decimal(3), made_of=white),
    ...     CostLine("labour", "Pour", Decimal(4), Decimal(4)),
    ...     CostLine("labour", "Pack", Decimal(1), Decimal(1)),
    ... ]
    >>> parts = price_parts(lines, net=Decimal(9), tax=Decimal(2), fees=ZERO, profit=Decimal(2))
    >>> [(part.label, int(part.amount)) for part in parts]
    [('Base coat', 2), ('Work', 5), ('Profit', 2), ('Tax', 2)]
    >>> [(name, int(amount)) for name, amount in parts[1].made_of]
    [('Pour', 4), ('Pack', 1)]
    """
    amounts: dict[str, Decimal] = {}
    made_of: dict[str, dict[str, Decimal]] = {}
    told: set[str] = set()
    for line in lines:
        name = line.label if line.kind == "material" else NAMES[line.kind]
        if line.made_of:
            told.add(name)
        amounts[name] = amounts.get(name, ZERO) + line.amount
        details = made_of.setdefault(name, {})
        for label, amount in line.made_of or ((line.label, line.amount),):
            if amount:  # tap water costs nothing
                details[label] = details.get(label, ZERO) + amount
    cost = sum(amounts.values(), ZERO)
    rest = {"shipping": net - cost - fees - profit, "fees": fees, "profit": profit, "tax": tax}
    for kind, amount in rest.items():
        amounts[NAMES[kind]] = amounts.get(NAMES[kind], ZERO) + amount
    order = [name for name in amounts if name not in NAMES.values()] + list(NAMES.values())
    return [
        PricePart(name, amounts[name], _opened(name, made_of.get(name, {}), name in told))
        for name in order
        if amounts.get(name)
    ]


def shown_parts(parts: Sequence[PricePart], places: int) -> list[PricePart]:
    """Round parts, and what they are made of, for people: what is shown adds up.

    The profit is rounded by itself, as it stands elsewhere; the others take up what is left.

    Parameters
    ----------
    parts : sequence of PricePart
        All parts of a price; of nothing no part has a share, [currency]
    places : int
        Decimals of an amount, [-]

    Returns
    -------
    parts : list of PricePart
        Amounts to so many decimals, shares to a hundredth of the price, [currency]
    """
    whole = sum((part.amount for part in parts), ZERO)
    amounts = _adding_up(parts, rounded(whole, places), places)
    shares = add_up([part.amount / whole if whole else ZERO for part in parts], 2)
    shown = []
    for part, amount, share in zip(parts, amounts, shares, strict=True):
        # The part was rounded with its neighbours; its first detail takes the unit that may differ.
        details = add_up([one for _, one in part.made_of], places)
        if details:
            details[0] += amount - sum(details, ZERO)
        names = (name for name, _ in part.made_of)
        made_of = tuple(zip(names, details, strict=True))
        shown.append(PricePart(part.label, amount, made_of, share))
    return shown


def _adding_up(parts: Sequence[PricePart], whole: Decimal, places: int) -> list[Decimal]:
    profit = [
        rounded(part.amount, places) if part.label == NAMES["profit"] else part.amount
        for part in parts
    ]
    amounts = add_up(profit, places)
    # A profit of half a unit is rounded up, and so is the rest: the largest that was rounded gives
    # it back, and never tax or fees, which are round already.
    others = [at for at, part in enumerate(parts) if part.label != NAMES["profit"]]
    was_rounded = [at for at in others if parts[at].amount != rounded(parts[at].amount, places)]
    if others:
        gives = max(was_rounded or others, key=lambda at: amounts[at])
        amounts[gives] += whole - sum(amounts, ZERO)
    return amounts


def beside(prices: Sequence[Sequence[PricePart]]) -> list[tuple[str, tuple[PricePart, ...]]]:
    """Set the parts of several prices side by side.

    Parameters
    ----------
    prices : sequence of (sequence of PricePart)
        The parts of each price, in the order of `price_parts`, [currency]

    Returns
    -------
    rows : list of (str, tuple of PricePart)
        Each part that any of them has, layers first, and what each price spends on it, [currency]

    Examples
    --------
    >>> base, work, resin = (PricePart(name, Decimal(2)) for name in ("Base", "Work", "Resin"))
    >>> rows = beside([[base, work], [resin]])
    >>> [(name, [int(one.amount) for one in both]) for name, both in rows]
    [('Base', [2, 0]), ('Resin', [0, 2]), ('Work', [2, 0])]
    """
    columns = [{part.label: part for part in parts} for parts in prices]
    found = dict.fromkeys(label for column in columns for label in column)
    rest = [name for name in NAMES.values() if name in found]
    labels = [label for label in found if label not in NAMES.values()] + rest
    nothing = {label: PricePart(label, ZERO) for label in labels}
    return [(label, tuple((nothing | one)[label] for one in columns)) for label in labels]


def _opened(name: str, details: dict[str, Decimal], is_told: bool) -> Amounts:
    """Return what a part is made of, unless that is the part over again."""
    is_same = list(details) == [name] or (len(details) < 2 and not is_told)
    return () if is_same else tuple(details.items())
