"""What needs doing about stock, what stops work first on top."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from inventory.buying.demand import Level, levels
from inventory.buying.running_out import run_out_days
from inventory.models import Bottle, Hold, Material
from inventory.stock.holds import coverage
from inventory.words import about, listed
from studio.dates import in_full as day
from studio.models import Studio
from studio.money import ZERO

OUT, HELD_BEYOND_STOCK, LOW, EXPIRING = "out", "held_beyond_stock", "low", "expiring"
WORDS = {
    OUT: "is out",
    HELD_BEYOND_STOCK: "is short for accepted work",
    LOW: "is running low",
}
# How long ahead an expiry is worth a word: common practice, no source.
EXPIRY_WARNING_DAYS = 30


@dataclass(frozen=True)
class Kind:
    """How a kind of alert is marked: the words of its chip, and how grave they look."""

    chip: str
    tone: str


# In the order in which they stop work; an app above adds its own, with what tells of them.
KINDS = {
    OUT: Kind("Out", "bad"),
    HELD_BEYOND_STOCK: Kind("Short for accepted work", "bad"),
    LOW: Kind("Running low", "warn"),
    EXPIRING: Kind("Expiring", "warn"),
}


@dataclass(frozen=True)
class Alert:
    """One thing to do about a material; ``sentence`` leaves its name to the page.

    ``kind`` is one of `KINDS`; ``days_left`` is how long stock lasts at the usual use, or until a
    bottle expires, [days], and ``runs_out_on`` the day that promises, orders and use make of it.
    ``work`` and ``work_url`` name the one piece of work that it is about, if there is one.
    ``severity`` compares two alerts of one ``fingerprint``: the greater is the worse. ``bottle`` is
    the first of ``bottles`` to expire, where it is about that.
    """

    kind: str
    material: Material
    sentence: str
    days_left: float | None = None
    bottle: Bottle | None = None
    rank: tuple[float | Decimal, ...] = ()
    runs_out_on: date | None = None
    work: str = ""
    work_url: str = ""
    severity: int = 1
    bottles: int = 0

    @property
    def fingerprint(self) -> str:
        """A key by which the mail knows the alert again: no figures, as these drift day by day."""
        about_what = "expiring" if self.bottle else self.work_url or "stock"
        return f"{self.material.pk}:{about_what}"

    @property
    def looks(self) -> Kind:
        """The words and the colour of the chip that marks its kind."""
        return KINDS[self.kind]

    @property
    def title(self) -> str:
        """The heading of the alert: the material and what is the matter with it."""
        if self.bottle is not None and self.days_left is not None:
            if self.bottles > 1:
                verb = "have expired or expire soon" if self.days_left < 0 else "expire soon"
                return f"{self.material.name}: {self.bottles} {self.bottle.called}s {verb}"
            verb = "has expired" if self.days_left < 0 else "expires soon"
            what = "" if self.bottle.is_lot else f", {self.bottle.code},"
            return f"{self.material.name}{what} {verb}"
        return f"{self.material.name} {WORDS[self.kind]}"


@dataclass(frozen=True)
class WorkAlert:
    """One thing to do about a piece of work: what it is, where it stands, what is the matter.

    ``looks`` is how that is marked.
    """

    title: str
    url: str
    sentence: str
    looks: Kind


# What apps above know of work, in the same way: functions of the studio that yield `WorkAlert`.
work_sources: list[Callable[[Studio], Iterable[WorkAlert]]] = []


def work_alerts(studio: Studio) -> list[WorkAlert]:
    """Return what needs doing about work, in the order of the sources."""
    return [one for source in work_sources for one in source(studio)]


# Apps above add what they know of when they are ready: functions of the studio that yield alerts.
# They tell of profit, so they are asked for those alone who see it (`studio.sight`).
sources: list[Callable[[Studio], Iterable[Alert]]] = []


def alerts(studio: Studio, with_money: bool = True) -> list[Alert]:
    """Return the alerts of a studio in the order in which they stop work.

    First what is out and promised, then what is promised beyond stock, then what is out, then what
    is low by the days it lasts, then what expires soonest, then what `sources` tell, unless they
    are left out for somebody who does not see profit. A material stands once among the first four,
    at its worst. The number of queries does not grow with rows.
    """
    covered, standing = coverage(studio), levels(studio)
    short, days = _short_by_material(covered), run_out_days(studio, standing, covered)
    candidates: list[Alert | None] = [
        _stock_alert(level, short.get(level.material.pk, ()), days[level.material.pk])
        for level in standing
    ]
    candidates += _expiring(studio)
    for source in sources if with_money else ():
        candidates += source(studio)
    return sorted(filter(None, candidates), key=lambda alert: (*alert.rank, alert.material.name))


# {material key: [(hold, amount that stock does not cover)]}
Short = dict[int, list[tuple[Hold, Decimal]]]


def _short_by_material(covered_by_hold: Mapping[Hold, Decimal]) -> Short:
    """Return {material key: [(hold, amount)]} of the holds that stock on hand does not cover."""
    short: Short = {}
    for row, covered in covered_by_hold.items():
        if covered < row.outstanding:
            short.setdefault(row.material_id, []).append((row, row.outstanding - covered))
    return short


def _stock_alert(
    level: Level, short: Sequence[tuple[Hold, Decimal]], runs_out_on: date | None
) -> Alert | None:
    material = level.material
    if not material.on_hand and level.is_kept:
        if not material.held and not level.reorder_at:
            return None
        rank: tuple[float, ...] = (0 if material.held else 2, *_soonest(short))
        severity = 4 if material.held else 2
        return Alert(OUT, material, _out(level, short), 0.0, rank=rank, severity=severity)
    if short:
        return Alert(
            HELD_BEYOND_STOCK,
            material,
            _beyond(material, short),
            rank=(1, *_soonest(short)),
            severity=3,
            runs_out_on=runs_out_on,
        )
    if level.is_low:
        days_left = level.days_left
        never = float("inf")
        rank = (3, never if days_left is None else days_left, 0)
        text = _low(level)
        if runs_out_on:
            text += f" It runs out on {day(runs_out_on)}."
        return Alert(LOW, material, text, days_left, rank=rank, runs_out_on=runs_out_on)
    return None


def _soonest(short: Sequence[tuple[Hold, Decimal]]) -> tuple[bool, int]:
    """Order by the first day of need, undated work last."""
    dates = [row.needed_by for row, _ in short if row.needed_by]
    return (not dates, min(dates).toordinal() if dates else 0)


def _out(level: Level, short: Sequence[tuple[Hold, Decimal]]) -> str:
    material = level.material
    parts = ["None is left."]
    if short:
        parts = [f"None is left, and {_promises(material, short)}."]
    if material.on_order:
        parts.append(f"{about(material, material.on_order)} is on order.")
    return " ".join(parts)


def _beyond(material: Material, short: Sequence[tuple[Hold, Decimal]]) -> str:
    missing = sum((quantity for _, quantity in short), ZERO)
    in_all = f"{about(material, missing)} is missing, where " if len(short) > 1 else ""
    text = (
        f"{about(material, material.held)} is promised and {about(material, material.on_hand)} "
        f"is on hand: {in_all}{_promises(material, short)}."
    )
    if material.on_order:
        text += f" {about(material, material.on_order)} is on order."
    return text


def _promises(material: Material, short: Sequence[tuple[Hold, Decimal]]) -> str:
    return listed(
        [
            f"{row.label} lacks {about(material, quantity)}"
            + (f" by {day(row.needed_by)}" if row.needed_by else "")
            for row, quantity in short
        ]
    )


def _low(level: Level) -> str:
    material = level.material
    text = f"{about(material, material.available)} is free"
    if material.on_order:
        text += f" and {about(material, material.on_order)} is on order"
    text += f"; the reorder point is {about(material, level.reorder_at)}"
    if level.point.quoted:
        text += f", {about(material, Decimal(level.point.quoted))} of it for open quotes"
    text += "."
    if level.days_left is not None:
        text += f" At the usual use it lasts {_days(level.days_left)}."
    return text


def _days(number: float) -> str:
    whole = int(number)
    return "less than a day" if whole < 1 else f"{whole} day{'' if whole == 1 else 's'}"


def _expiring(studio: Studio) -> Iterator[Alert]:
    today = studio.today()
    until = today + timedelta(days=EXPIRY_WARNING_DAYS)
    rows = studio.bottles.filter(remaining__gt=0).select_related("material")
    ending: dict[Material, list[tuple[date, Bottle]]] = {}
    for bottle in rows.filter(material__archived_at=None).order_by("pk"):
        last = bottle.keeps_until
        if last is not None and last <= until:
            ending.setdefault(bottle.material, []).append((last, bottle))
    for material, bottles in ending.items():
        last, first = min(bottles, key=lambda one: one[0])
        left = (last - today).days
        verb = "expired" if left < 0 else "expires"
        holds = about(material, sum((one.remaining for _, one in bottles), ZERO))
        text = f"{first.code} with {holds} {verb} on {day(last)}."
        if first.is_lot:
            text = f"A lot of {holds} {verb} on {day(last)}."
        if len(bottles) > 1:
            text = (
                f"{len(bottles)} {first.called}s with {holds}: the first, {first.code}, {verb} on "
            )
            text += f"{day(last)}."
        yield Alert(
            EXPIRING,
            material,
            text,
            float(left),
            first,
            rank=(4, left, first.pk),
            severity=len(bottles) + sum(one < today for one, _ in bottles),
            bottles=len(bottles),
        )
