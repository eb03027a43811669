"""What everything has cost, worked out anew from the ledger, to prove what was written by the acts.

It goes another way than the acts do: over a whole studio at once and in fractions, which the shares
that were written lie next to, and add up to exactly.
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Any, TypeAlias

from django.db.models import Model, QuerySet

from inventory.words import listed
from pricing.models import (
    CommissionLine,
    FinishedPiece,
    PieceSet,
    Posting,
    Pour,
    Sale,
    SaleLine,
    Topcoating,
)
from pricing.models.cost import COLUMNS, COST
from studio.amounts import Total
from studio.models import Studio
from studio.money import VALUE_PLACES, minor_unit

Kind = Posting.Kind
STEP = Fraction(VALUE_PLACES)
MINUTES_IN_AN_HOUR = 60
# What is wrong: a row, and a sentence.
Wrong: TypeAlias = tuple[str, str]
# Materials, labour, overhead and minutes, as `COST` names them.
Amounts: TypeAlias = tuple[Fraction, ...]
NONE: Amounts = (Fraction(),) * len(COST)


def pieces_that_differ(studio: Studio) -> Iterator[Wrong]:
    """Yield the pieces that do not carry their share, and the pours whose shares do not add up."""
    pieces = FinishedPiece.objects.filter(studio=studio).select_related("pour").order_by("pk")
    homes = _homes(studio)
    good = _good(pieces, homes)
    taken = _taken(studio)
    wanted: defaultdict[int, Amounts] = defaultdict(lambda: NONE)
    wanted_of: defaultdict[tuple[str, int], Amounts] = defaultdict(lambda: NONE)
    shares: Counter[int] = Counter()
    for pour, home in homes.items():
        carriers = _carriers(good, pour, home)
        if carriers:
            wanted_of[home.group] = _plus(wanted_of[home.group], taken[pour])
        for key in carriers:
            wanted[key] = _plus(wanted[key], tuple(one / len(carriers) for one in taken[pour]))
            shares[key] += 1
    kept_of: defaultdict[tuple[str, int], Amounts] = defaultdict(lambda: NONE)
    for piece in pieces:
        group, kept = homes[piece.pour_id].group, _kept(piece)
        kept_of[group] = _plus(kept_of[group], kept)
        # Each share was rounded to the step next to it.
        off = [abs(is_ - be) for is_, be in zip(kept, wanted[piece.pk], strict=True)]
        if any(one >= max(shares[piece.pk], 1) * STEP for one in off):
            yield str(piece), _differ(kept, wanted[piece.pk])
    for group, kept in kept_of.items():
        if kept != wanted_of[group]:
            name = f"Pieces of {group[0]} {group[1]}, by its key"
            yield name, _differ(kept, wanted_of[group])


def sets_that_differ(studio: Studio) -> Iterator[Wrong]:
    """Yield the sets whose cost is not that of their pieces and their packing."""
    packing = _acts(PieceSet.objects.filter(studio=studio), "pk")
    pieces = _by(FinishedPiece.objects.filter(piece_set__studio=studio), "piece_set", COLUMNS)
    for one in PieceSet.objects.filter(studio=studio).order_by("pk"):
        wanted = _plus(packing[one.pk], pieces[one.pk])
        if _kept(one) != wanted:
            yield str(one), _differ(_kept(one), wanted)


def postings_that_differ(studio: Studio) -> Iterator[Wrong]:
    """Yield what is not posted at what it has cost, or brought when it was sold."""
    mine = Posting.objects.filter(studio=studio)
    of_line, of_set = _by(mine, "line", COST), _by(mine, "piece_set", COST)
    for line in SaleLine.objects.filter(sale__studio=studio).select_related("piece_set", "sale"):
        wanted = _kept(line.piece_set) if line.is_live else NONE
        if of_line[line.pk] != wanted:
            yield f"{line}", _differ(of_line[line.pk], wanted, "posted")
    for one in PieceSet.objects.filter(studio=studio):
        wanted = _kept(one) if one.unpacked_at or one.written_off_at else NONE
        if of_set[one.pk] != wanted:
            yield f"{one}, as lost", _differ(of_set[one.pk], wanted, "posted")
    yield from _pours(studio, _by(mine, "pour", COST))
    yield from _sales(studio, mine)


def _pours(studio: Studio, posted: defaultdict[int, Amounts]) -> Iterator[Wrong]:
    homes = _homes(studio)
    good = _good(FinishedPiece.objects.filter(studio=studio), homes)
    taken = _taken(studio)
    for pour in Pour.objects.filter(studio=studio):
        wanted = NONE if _carriers(good, pour.pk, homes[pour.pk]) else taken[pour.pk]
        if posted[pour.pk] != wanted:
            yield f"{pour}, as lost", _differ(posted[pour.pk], wanted, "posted")


def _sales(studio: Studio, postings: QuerySet[Posting]) -> Iterator[Wrong]:
    """Yield the sales and refunds whose lines do not add up to what was paid, kept and given."""
    names = ("revenue", "tax", "fees", "shipping")
    sold = _by(postings.filter(kind=Kind.SOLD), "line__sale", names)
    back = _by(postings.filter(kind=Kind.REFUNDED), "line__sale", names)
    for sale in Sale.objects.filter(studio=studio).with_lines():
        paid = sale.goods + sale.shipping_charged
        rate = Fraction(sale.tax_rate)
        tax = _rounded(Fraction(paid) * rate / (1 + rate), minor_unit(sale.currency))
        wanted = _fractions((paid, tax, sale.fees, sale.shipping_paid))
        if sold[sale.pk] != wanted:
            yield str(sale), _differ(sold[sale.pk], wanted, "posted", names)
        returned = (-paid, -tax, sale.fees_kept - sale.fees, Decimal(0))
        wanted = _fractions(returned if sale.refunded_on else (Decimal(0),) * 4)
        if back[sale.pk] != wanted:
            yield f"{sale}, refunded", _differ(back[sale.pk], wanted, "posted", names)


@dataclass(frozen=True)
class _Home:
    """What a pour was made for, by keys, and ``group``: whose pieces share what was taken."""

    line: int | None
    commission: int | None
    is_test: bool
    group: tuple[str, int]


def _homes(studio: Studio) -> dict[int, _Home]:
    """Return by pour what it was made for; a commission with a test tile is one group."""
    tiles = CommissionLine.objects.filter(commission__studio=studio, is_test=True).order_by()
    tested = set(tiles.values_list("commission", flat=True))
    rows = Pour.objects.filter(studio=studio)
    homes = {}
    for pour, line, commission, is_test in rows.values_list(
        "pk", "line", "line__commission", "line__is_test"
    ):
        group = ("line", line) if line else ("pour", pour)
        if commission in tested:
            group = ("commission", commission)
        homes[pour] = _Home(line, commission, bool(is_test), group)
    return homes


# The keys of the good pieces by pour, by line, and those that are sold by commission.
Good: TypeAlias = tuple[
    defaultdict[int, list[int]], defaultdict[int, list[int]], defaultdict[int, list[int]]
]


def _good(pieces: Iterable[FinishedPiece], homes: Mapping[int, _Home]) -> Good:
    """Return the keys of the good pieces by pour, line and commission; the last without tiles."""
    good: Good = (defaultdict(list), defaultdict(list), defaultdict(list))
    of_pour, of_line, ordered = good
    for piece in pieces:
        if piece.state != FinishedPiece.State.GOOD:
            continue
        home = homes[piece.pour_id]
        of_pour[piece.pour_id].append(piece.pk)
        if home.line:
            of_line[home.line].append(piece.pk)
        if home.commission and not home.is_test:
            ordered[home.commission].append(piece.pk)
    return good


def _carriers(good: Good, pour: int, home: _Home) -> list[int]:
    of_pour, of_line, ordered = good
    bought = ordered[home.commission] if home.commission and home.is_test else []
    return bought or of_pour[pour] or (of_line[home.line] if home.line else [])


def _taken(studio: Studio) -> defaultdict[int, Amounts]:
    """Return what each pour took with its topcoats, by its key."""
    taken = _acts(Pour.objects.filter(studio=studio), "pk")
    for key, cost in _acts(Topcoating.objects.filter(studio=studio), "pour").items():
        taken[key] = _plus(taken[key], cost)
    return taken


def _acts(acts: QuerySet[Any], by: str) -> defaultdict[int, Amounts]:
    """Return what acts took, by a field: from the shelf, and in work at the rates of its day."""
    found: defaultdict[int, Amounts] = defaultdict(lambda: NONE)
    columns = (by, "entry__reversed_by", "minutes", "labour_rate", "overhead_rate")
    rows = acts.order_by("pk").values_list(*columns)
    for key, undone, minutes, labour, overhead, value in rows.annotate(
        Total("entry__movements__value")
    ):
        if not undone:
            hours = Fraction(minutes) / MINUTES_IN_AN_HOUR
            work = [Fraction(_rounded(hours * Fraction(rate))) for rate in (labour, overhead)]
            found[key] = _plus(found[key], (-Fraction(value), *work, Fraction(minutes)))
    return found


def _by(rows: QuerySet[Any], name: str, columns: Sequence[str]) -> defaultdict[int, Amounts]:
    """Return the sums of columns by the value of a field, where it has one."""
    none = (Fraction(),) * len(columns)
    found: defaultdict[int, Amounts] = defaultdict(lambda: none)
    totals = {f"sum_{column}": Total(column) for column in columns}
    sums = rows.order_by().exclude(**{name: None}).values_list(name).annotate(**totals)
    found.update((key, _fractions(amounts)) for key, *amounts in sums)
    return found


def _kept(row: Model) -> Amounts:
    return _fractions([getattr(row, column) for column in COLUMNS])


def _fractions(amounts: Iterable[Decimal]) -> Amounts:
    return tuple(Fraction(amount) for amount in amounts)


def _plus(one: Amounts, other: Amounts) -> Amounts:
    return tuple(a + b for a, b in zip(one, other, strict=True))


def _rounded(amount: Fraction, unit: Decimal = VALUE_PLACES) -> Decimal:
    """Return an amount, which is not below nothing, rounded half up."""
    steps = (amount / Fraction(unit) + Fraction(1, 2)).__floor__()
    return steps * unit


def _differ(kept: Amounts, wanted: Amounts, word: str = "kept", names: Sequence[str] = COST) -> str:
    wrong = [
        f"its {name} is {word} as {_told(is_)} and comes to {_told(be)}"
        for name, is_, be in zip(names, kept, wanted, strict=True)
        if is_ != be
    ]
    return f"{listed(wrong)}."


def _told(amount: Fraction) -> str:
    return f"{Decimal(amount.numerator) / amount.denominator:.6f}"
