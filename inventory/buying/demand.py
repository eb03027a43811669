"""Demand as the ledger knows it, and when each material is due to be bought again."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import ROUND_FLOOR, Decimal

from django.db.models import Max, Min, Q

from inventory.buying.possible import (
    PossibleUse,
    as_chances,
    by_delivery,
    by_review,
    expected,
    possible_uses,
)
from inventory.buying.reordering import (
    ExpectedUse,
    Pattern,
    ReorderPoint,
    choose_reorder_point,
    pattern,
)
from inventory.models import Material, Pack, with_promises
from studio.models import Studio

HISTORY_DAYS = 180
# What a supplier is taken to need before one is known: as for a new supplier.
LEAD_DAYS, LEAD_SD_DAYS = Decimal(7), Decimal(2)


@dataclass(frozen=True)
class Demand:
    """What was used on each day with use, [the material's unit], within so many days."""

    uses: tuple[float, ...]
    days: int

    @property
    def mean_per_day(self) -> float:
        """Mean use in a day, [the material's unit]."""
        return sum(self.uses) / self.days

    @property
    def pattern(self) -> Pattern:
        """How it was used: spread, intervals and class of demand."""
        return pattern(self.uses, self.days)


@dataclass(frozen=True)
class Level:
    """How a material stands: its promises, its reorder point and the pack usually bought.

    ``material`` carries ``held``, ``on_order``, ``available`` and ``projected``. ``is_kept`` is
    false for what was never on the shelf, is not promised and has no reorder point by hand, nobody
    misses it; and for mixes and reclaimed paint, which come of work and are not bought.
    ``possible`` is what open quotes take if they are accepted before the review after
    the next delivery; a quote that is not accepted takes nothing, so it is no promise and no need.
    """

    material: Material
    demand: Demand
    point: ReorderPoint
    pack: Pack | None
    is_kept: bool
    possible: tuple[PossibleUse, ...] = ()

    @property
    def quoted(self) -> ExpectedUse:
        """Mean and deviation of what ``possible`` will take, [the material's unit]."""
        return expected(self.possible)

    def outlook(self, days: float) -> ExpectedUse:
        """Mean and deviation of all that may go in so many days, [the material's unit].

        The usual use, each day for itself, what is held, which is certain, and ``possible``.
        """
        use, quoted = self.demand.pattern, self.quoted
        mean = use.mean_per_day * days + float(self.material.held) + quoted.mean
        return ExpectedUse(mean, (use.sd_per_day**2 * days + quoted.sd**2) ** 0.5)

    @property
    def quoted_later(self) -> float:
        """What it is expected to take beyond what the reorder point counts, [the unit]."""
        return max(self.quoted.mean - self.point.quoted, 0.0)

    @property
    def is_made_here(self) -> bool:
        """Whether it comes of work and is not bought: a mix or run-off that nobody sells."""
        return _is_made_here(self.material, self.pack)

    @property
    def reorder_at(self) -> Decimal:
        """The reorder point, [the material's unit]."""
        return self.point.stock_quantity

    @property
    def due_at(self) -> Decimal:
        """The most there is when an order is due: the reorder point, of items the whole ones."""
        whole = self.material.unit == Material.Unit.EACH
        return self.reorder_at.to_integral_value(ROUND_FLOOR) if whole else self.reorder_at

    @property
    def is_low(self) -> bool:
        """Whether what is free and on order together is at the reorder point or below."""
        return self.is_kept and self.material.projected <= self.reorder_at and self.reorder_at > 0

    @property
    def days_left(self) -> float | None:
        """How long what is free lasts at the usual use, [days]; None without use on record."""
        mean = self.point.mean_per_day
        return max(float(self.material.available), 0.0) / mean if mean else None


def demand(studio: Studio, material: Material) -> Demand:
    """Return the `Demand` for one material over the last half year."""
    first = material.bottles.aggregate(first=Min("received_on"))["first"]
    uses = _uses_by_day(studio, [material.pk])
    return _demand(studio, uses[material.pk], first)


def level_of(studio: Studio, material: Material) -> Level | None:
    """Return the `Level` of one material taken ``with_promises``; None for what is not counted."""
    return next(iter(levels(studio, [material])), None)


def levels(studio: Studio, materials: Iterable[Material] | None = None) -> list[Level]:
    """Return the `Level` of everything the studio counts, in five queries and those of quotes.

    ``materials`` narrows that to some, taken ``with_promises``; then it is one less.
    """
    if materials is None:
        materials = with_promises(studio.materials.current())
    materials = [material for material in materials if material.is_stocked]
    keys = [material.pk for material in materials]
    packs, history = _packs(studio, keys), _history(studio, keys)
    uses, possible, today = _uses_by_day(studio, keys), possible_uses(studio), studio.today()
    levels = []
    for material in materials:
        first, last_pack = history.get(material.pk, (None, None))
        pack = _usual_pack(packs[material.pk], last_pack)
        its_demand = _demand(studio, uses[material.pk], first)
        is_kept = bool(first or material.held) and not _is_made_here(material, pack)
        is_kept = is_kept or material.reorder_point is not None
        lead_days = pack.supplier.lead_days if pack else LEAD_DAYS
        soon = by_delivery(possible[material.pk], today, lead_days)
        point = _point(studio, material, its_demand, pack, soon)
        its_possible = by_review(possible[material.pk], today, lead_days, studio.review_days)
        levels.append(Level(material, its_demand, point, pack, is_kept, tuple(its_possible)))
    return levels


def _is_made_here(material: Material, pack: Pack | None) -> bool:
    return material.kind == Material.Kind.MIX and pack is None


def _point(
    studio: Studio,
    material: Material,
    its_demand: Demand,
    pack: Pack | None,
    soon: Iterable[PossibleUse],
) -> ReorderPoint:
    point = choose_reorder_point(
        uses=its_demand.uses,
        days=its_demand.days,
        lead_days=float(pack.supplier.lead_days if pack else LEAD_DAYS),
        service_level=float(studio.service_level),
        lead_sd_days=float(pack.supplier.lead_sd_days if pack else LEAD_SD_DAYS),
        pack_size=float(pack.size) if pack else 0.0,
        chances=as_chances(soon),
    )
    if point.basis == "no_history":
        point = replace(point, mean_per_day=its_demand.mean_per_day)
    if material.reorder_point is None:
        return point
    return replace(point, basis="by_hand", quantity=float(material.reorder_point), quoted=0.0)


def _demand(studio: Studio, uses: Sequence[float], first_received_on: date | None) -> Demand:
    days = HISTORY_DAYS
    if first_received_on:
        days = min(days, (studio.today() - first_received_on).days + 1)
    return Demand(tuple(uses), max(days, len(uses), 1))


def _uses_by_day(studio: Studio, material_ids: Collection[int]) -> defaultdict[int, list[float]]:
    """Return {material key: [what was used on each day with use]} over the last half year."""
    since = studio.today() - timedelta(days=HISTORY_DAYS - 1)
    rows = studio.day_uses.filter(material__in=material_ids, day__gte=since, quantity__gt=0)
    uses: defaultdict[int, list[float]] = defaultdict(list)
    for material, quantity in rows.values_list("material", "quantity"):
        uses[material].append(float(quantity))
    return uses


def _packs(studio: Studio, material_ids: Collection[int]) -> defaultdict[int, list[Pack]]:
    packs: defaultdict[int, list[Pack]] = defaultdict(list)
    rows = studio.packs.on_offer().filter(material__in=material_ids)
    for pack in rows.select_related("supplier").order_by("pk"):
        packs[pack.material_id].append(pack)
    return packs


def _history(
    studio: Studio, material_ids: Collection[int]
) -> dict[int, tuple[date | None, int | None]]:
    """Return {material key: (day of its first bottle, key of the pack bought last)}."""
    bottles = studio.bottles.filter(material__in=material_ids).order_by().values("material")
    rows = bottles.annotate(first=Min("received_on"), last=Max("pk", filter=Q(pack__isnull=False)))
    history = list(rows.values_list("material", "first", "last"))
    last_bottles = studio.bottles.filter(pk__in=[last for _, _, last in history if last])
    packs = dict(last_bottles.values_list("pk", "pack_id"))
    return {material: (first, packs.get(last)) for material, first, last in history}


def _usual_pack(packs: Iterable[Pack], last_bought: int | None) -> Pack | None:
    """Return the pack bought last while it is on offer, else the one cheapest by the unit."""
    by_use = sorted(packs, key=lambda pack: (pack.pk != last_bought, pack.price / pack.size))
    return by_use[0] if by_use else None
