"""Proof that what is cached of the ledger is what the ledger says, and that it can be so.

Each check is one statement over what can change, so that work going on meanwhile is no finding.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import asdict, dataclass
from decimal import Decimal
from typing import Any, TypeVar

from django.db.models import (
    Count,
    Exists,
    F,
    Manager,
    Model,
    OuterRef,
    Q,
    QuerySet,
    Subquery,
    Sum,
)

from inventory.models import (
    Bottle,
    CostingChange,
    Entry,
    Hold,
    Material,
    Movement,
    PurchaseOrder,
)
from inventory.stock.shelf import COMES_IN, cost_of
from inventory.words import amount, listed
from studio.amounts import Minus, Total
from studio.models import Studio
from studio.money import ZERO
from studio.units.numerals import trimmed

Kind = Movement.Kind
# Stock that cost less may be worth nothing by rounding alone, [currency].
LEAST_COST = Decimal("0.01")


@dataclass(frozen=True)
class Finding:
    """One row that does not agree: which check, whose studio, which row, and what is wrong."""

    check: str
    studio: str
    row: str
    sentence: str

    def as_dict(self) -> dict[str, str]:
        """Return the finding as plain values."""
        return asdict(self)

    def __str__(self) -> str:
        return f"{self.studio}: {self.row}: {self.sentence}"


Check = Callable[[Studio | None], Iterable[Finding]]


def check(studio: Studio | None = None) -> list[Finding]:
    """Return every `Finding` of every check, over one studio or all of them."""
    return [finding for each in checks for finding in each(studio)]


def totals(studio: Studio | None = None) -> dict[str, Decimal]:
    """Return what came in, went out and is on hand in value, [currency of each studio]."""
    moves = _mine(Movement.objects, studio)
    value_in = moves.filter(value__gt=0).aggregate(total=Total("value"))["total"]
    value_out = moves.filter(value__lt=0).aggregate(total=Total("value"))["total"]
    shelf = _mine(Bottle.objects, studio).aggregate(total=Total("value"))["total"]
    return {"value_in": value_in, "value_out": -value_out, "value_on_hand": shelf}


def bottles_agree(studio: Studio | None) -> Iterator[Finding]:
    """Each bottle's amount and value are the sums of its movements, and end together."""
    strays = Count("movements", filter=~Q(movements__material=F("material")))
    rows = _against_ledger(_mine(Bottle.objects, studio), "remaining").annotate(strays=strays)
    for bottle in rows.filter(DISAGREES | Q(strays__gt=0)):
        wrong = _cache_against_ledger(bottle.remaining, bottle.value, bottle)
        if bottle.strays:
            wrong.append(f"{bottle.strays} of its movements name another material")
        yield from _findings("bottles", bottle.studio, f"Bottle {bottle.code}", wrong)


def materials_agree(studio: Studio | None) -> Iterator[Finding]:
    """Each material's amount and value are the sums of its movements and not negative."""
    rows = _against_ledger(_mine(Material.objects, studio), "on_hand")
    for material in rows.filter(DISAGREES):
        wrong = _cache_against_ledger(material.on_hand, material.value, material)
        yield from _findings("materials", material.studio, f"Material {material.name}", wrong)


DISAGREES = (
    ~Q(quantity_off=0)
    | ~Q(value_off=0)
    | Q(quantity_sum__lt=0)
    | Q(value_sum__lt=0)
    | Q(quantity_sum=0, value_sum__gt=0)
)


def _against_ledger(rows: QuerySet[Any], quantity: str) -> QuerySet[Any]:
    """Annotate what each row's movements add up to, and how far off that is what it keeps."""
    return (
        rows.select_related("studio")
        .order_by("pk")
        .annotate(
            quantity_sum=Total("movements__quantity"),
            value_sum=Total("movements__value"),
            quantity_off=Minus(quantity, "quantity_sum"),
            value_off=Minus("value", "value_sum"),
        )
    )


def _cache_against_ledger(quantity: Decimal, value: Decimal, row: Any) -> list[str]:
    wrong = []
    for what, cached, in_ledger in (
        ("amount", quantity, row.quantity_sum),
        ("value", value, row.value_sum),
    ):
        if cached != in_ledger:
            total = trimmed(in_ledger)
            wrong.append(f"its {what} is kept as {cached} and its movements add up to {total}")
        if in_ledger < 0:
            wrong.append(f"its {what} is below zero, {trimmed(in_ledger)}")
    if not row.quantity_sum and row.value_sum:
        wrong.append(f"nothing is left of it, but a value of {trimmed(row.value_sum)}")
    return wrong


def entries_stay_at_home(studio: Studio | None) -> Iterator[Finding]:
    """The movements of an entry, and their bottles, belong to the entry's studio."""
    strays = _mine(Movement.objects, studio).exclude(
        studio=F("entry__studio"), bottle__studio=F("studio"), material__studio=F("studio")
    )
    for move in strays.select_related("studio"):
        wrong = ["its entry, bottle or material is another studio's"]
        yield from _findings("entries", move.studio, f"Movement {move.pk}", wrong)


def reversals_mirror(studio: Studio | None) -> Iterator[Finding]:
    """A reversal is the exact mirror of its entry, bottle by bottle, in amount and in value."""
    entries = _mine(Entry.objects, studio).filter(reverses__isnull=False)
    net: defaultdict[tuple[int, str], list[Decimal]] = defaultdict(lambda: [ZERO, ZERO])
    reversals = Movement.objects.filter(entry__in=entries, kind=Kind.REVERSAL)
    original = Movement.objects.filter(entry__reversed_by__in=entries)
    for rows, key in ((reversals, "entry"), (original, "entry__reversed_by")):
        sums = (
            rows.order_by()
            .values_list(key, "bottle__code")
            .annotate(quantities=Total("quantity"), values=Total("value"))
        )
        for entry_id, code, quantity, value in sums:
            net[entry_id, code][0] += quantity
            net[entry_id, code][1] += value
    broken = {key: both for key, both in net.items() if any(both)}
    entries_by_key = entries.select_related("studio").in_bulk({entry_id for entry_id, _ in broken})
    for (entry_id, code), (quantity, value) in sorted(broken.items()):
        left = f"{trimmed(quantity)} and a value of {trimmed(value)}"
        wrong = [f"it leaves {left} of what it undid in bottle {code}"]
        yield from _findings(
            "reversals", entries_by_key[entry_id].studio, f"Entry {entry_id}", wrong
        )


def levelling_keeps_value(studio: Studio | None) -> Iterator[Finding]:
    """Bringing bottles to the average moves value between them and makes none."""
    rows = (
        _mine(Movement.objects, studio)
        .filter(kind=Kind.RESPREAD)
        .order_by()
        .values_list("studio__name", "entry", "material__name")
        .annotate(total=Total("value"))
        .exclude(total=0)
    )
    for name, entry_id, material, total in rows:
        yield Finding(
            "levelling",
            name,
            f"Entry {entry_id}",
            f"bringing {material} level changed its value by {trimmed(total)}",
        )


def decanting_keeps_all(studio: Studio | None) -> Iterator[Finding]:
    """Pouring from one bottle into another neither makes nor loses any, in amount or in value."""
    rows = (
        _mine(Movement.objects, studio)
        .filter(kind=Kind.DECANT)
        .order_by()
        .values_list("studio__name", "entry", "material__name")
        .annotate(quantities=Total("quantity"), values=Total("value"))
        .exclude(quantities=0, values=0)
    )
    for name, entry_id, material, quantity, value in rows:
        yield Finding(
            "decanting",
            name,
            f"Entry {entry_id}",
            f"pouring {material} over changed its amount by {trimmed(quantity)} and its value by "
            f"{trimmed(value)}",
        )


def stock_is_worth_something(studio: Studio | None) -> Iterator[Finding]:
    """What is on hand is not worth nothing, unless it came in for nothing.

    Until undoing a delivery of which part of the cost had gone out with other stock was refused, it
    could take the value of what was left along.
    """
    paid = Movement.objects.filter(kind__in=COMES_IN, quantity__gt=0, value__gt=0)
    paid = paid.filter(material=OuterRef("pk"))
    undone = paid.exclude(entry__reversed_by=None)
    standing = paid.filter(entry__reversed_by=None, bottle__remaining__gt=0)
    rows = _mine(Material.objects, studio).filter(on_hand__gt=0, value=0).select_related("studio")
    for material in rows.filter(Exists(undone), Exists(standing)).order_by("pk"):
        bottles = material.bottles.filter(remaining__gt=0).order_by("code")
        cost = sum(cost_of(bottles).values(), ZERO)
        if cost > LEAST_COST:
            codes = listed([bottle.code for bottle in bottles])
            wrong = [
                f"{amount(material, material.on_hand)} of it is worth nothing and came in for "
                f"{trimmed(cost)}, because a delivery was undone after its cost had gone out with "
                f"other stock. Count {codes} as empty first, and then as what is in it"
            ]
            yield from _findings("worth", material.studio, f"Material {material.name}", wrong)


def holds_are_consistent(studio: Studio | None) -> Iterator[Finding]:
    """A hold promises its own studio's material, and has not been used beyond the promise."""
    rows = _mine(Hold.objects, studio).select_related("studio", "material")
    broken = rows.filter(
        Q(used__gt=F("quantity")) | Q(used__lt=0) | ~Q(material__studio=F("studio"))
    )
    for hold in broken:
        wrong = []
        if not 0 <= hold.used <= hold.quantity:
            wrong.append(f"{hold.used} of the {hold.quantity} promised is used")
        if hold.material.studio_id != hold.studio_id:
            wrong.append("its material is another studio's")
        yield from _findings("holds", hold.studio, f"Hold {hold.pk} ({hold})", wrong)


def holds_follow_their_changes(studio: Studio | None) -> Iterator[Finding]:
    """What is promised is what the changes of the hold add up to; what was let go, nothing.

    Of a hold let go before changes were kept there are none, and nothing is wrong with it.
    """
    rows = _mine(Hold.objects, studio).select_related("studio").order_by("pk")
    sums = rows.annotate(
        promised=Total("changes__quantity"),
        drawn=Total("changes__used"),
        quantity_off=Minus("quantity", "promised"),
        left=Minus("promised", "drawn"),
        used_off=Minus("used", "drawn"),
    )
    is_off = Q(released_at=None) & (~Q(quantity_off=0) | ~Q(used_off=0))
    for hold in sums.filter(is_off | (Q(released_at__isnull=False) & ~Q(left=0))):
        said = trimmed(ZERO if hold.released_at else hold.outstanding)
        wrong = [f"{said} is promised and its changes add up to {trimmed(hold.left)}"]
        yield from _findings("holds", hold.studio, f"Hold {hold.pk} ({hold})", wrong)


def orders_are_consistent(studio: Studio | None) -> Iterator[Finding]:
    """What came of an order agrees with what it says of itself."""
    Status = PurchaseOrder.Status
    rows = _mine(PurchaseOrder.objects, studio).select_related("studio").order_by("pk")
    rows = rows.annotate(
        came=Sum("lines__received_count", default=0), ordered=Sum("lines__count", default=0)
    )
    for order in rows:
        status = order.status
        fits: dict[str, bool] = {
            Status.DRAFT: order.came == 0,
            Status.SENT: order.came == 0,
            Status.PARTLY_RECEIVED: 0 < order.came < order.ordered,
            Status.RECEIVED: order.came == order.ordered,
            Status.CANCELLED: order.came == 0,
        }
        if not fits[status]:
            wrong = [f"it is {status}, and {order.came} of {order.ordered} packs came"]
            yield from _findings("orders", order.studio, str(order), wrong)


def costing_follows_its_changes(studio: Studio | None) -> Iterator[Finding]:
    """The method a studio keeps, and the one to follow, are those of its costing changes."""
    changes = CostingChange.objects.filter(studio=OuterRef("pk"), withdrawn_at=None)
    waiting = changes.filter(took_effect_at=None)
    rows = Studio.objects.filter(
        **({"restoring": None} if studio is None else {"pk": studio.pk})
    ).annotate(
        last=Subquery(changes.exclude(took_effect_at=None).values("method")[:1]),
        following=Subquery(waiting.values("method")[:1]),
        following_from=Subquery(waiting.values("from_day")[:1]),
    )
    for row in rows:
        wrong = []
        if row.last not in (None, row.costing):
            wrong.append(f"its method is kept as {row.costing} and its changes say {row.last}")
        next_method = (row.costing_next or None, row.costing_next_from)
        if next_method != (row.following, row.following_from):
            wrong.append(
                f"what follows is kept as {next_method[0]} and its changes say {row.following}"
            )
        yield from _findings("costing", row, "Costing method", wrong)


# Apps above add their own when they are ready.
checks: list[Check] = [
    bottles_agree,
    materials_agree,
    entries_stay_at_home,
    reversals_mirror,
    levelling_keeps_value,
    decanting_keeps_all,
    stock_is_worth_something,
    holds_are_consistent,
    holds_follow_their_changes,
    orders_are_consistent,
    costing_follows_its_changes,
]


def _findings(name: str, studio: Studio, row: str, wrong: Sequence[str]) -> Iterator[Finding]:
    if wrong:
        yield Finding(name, studio.name, row, "; ".join(wrong) + ".")


Row = TypeVar("Row", bound=Model)


def _mine(rows: Manager[Row], studio: Studio | None) -> QuerySet[Row]:
    return rows.filter(studio__restoring=None) if studio is None else rows.filter(studio=studio)
