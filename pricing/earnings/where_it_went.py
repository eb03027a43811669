"""Forecast beside actual, part by part: what a quote counted on, and what the bench really took.

What the shelf gave for a pour is told apart by layer as the pour itself keeps it; pieces that
failed are a part of their own, with the share of the paint and the surfaces that went into them.
The work on them stands with the work, since the bench logs a pour as one.
"""

from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Any

from django.db.models import QuerySet

from inventory.models import Material, Movement
from pricing.costing.breakdown import SideBySide, breakdown, side_by_side
from pricing.costing.price import FINISHED, PREPARED, CostLine, PricePart, Profit, price_parts
from pricing.earnings.hindsight import Hindsight
from pricing.models import FinishedPiece, LabourStep, PieceSet, Pour, Quote, SaleLine, Topcoating
from pricing.quoting.papers import cost_lines
from studio.amounts import Total
from studio.money import ZERO, minor_unit

Act = Pour | Topcoating | PieceSet
# By entry: {material: what was taken of it, in value}.
Taken = dict[int | None, dict[int, Decimal]]


def forecast_beside_actual(rows: Collection[Hindsight]) -> SideBySide | None:
    """Return where the money of some commissions of one currency was to go and where it went.

    The amounts are those of ``rows``, so that they agree with the table they stand beside. It
    takes a number of queries that does not grow with the rows.
    """
    if not rows:
        return None
    commissions = {row.commission.pk for row in rows}
    quotes = Quote.objects.filter(commission__in=commissions, status=Quote.Status.ACCEPTED)
    lines = SaleLine.objects.filter(sale__commission__in=commissions, is_live=True)
    sets = set(lines.values_list("piece_set", flat=True))
    planned = [line for quote in quotes for line in _planned(quote)]
    currency = next(iter(rows)).currency
    forecast = sum((row.forecast for row in rows), Profit(*[ZERO] * 7))
    actual = sum((row.actual for row in rows), Profit(*[ZERO] * 7))
    return side_by_side(
        [
            ("Forecast", breakdown(_parts(forecast, planned, currency), currency)),
            ("Actual", breakdown(_parts(actual, spent_on(sets), currency), currency)),
        ],
        "Where the money was to go, and where it went; the numbers are those of the table",
    )


def _planned(quote: Quote) -> Iterator[CostLine]:
    """Yield the cost lines of a quote, the work on pieces that fail with the other work."""
    rate = Decimal(quote.frozen["settings"]["labour_rate"])
    for line in cost_lines(quote.frozen):
        if line.kind != "failures":
            yield line
            continue
        work = line.minutes * rate / 60
        yield replace(line, amount=line.amount - work)
        yield CostLine("labour", "For pieces that fail", work, work)


def spent_on(sets: Collection[int]) -> list[CostLine]:
    """Return what packed sets really took, by layer, surface, failures, work and the rest.

    It adds up to what they cost, but for the last digit. Of a pour that came to nothing the pieces
    of the same commission's line bear their share, all of it as failures; of a test tile those of
    its other lines bear theirs.

    Parameters
    ----------
    sets : collection of int
        Their keys, [-]
    """
    mine = FinishedPiece.objects.filter(piece_set__in=sets)
    counts = Counter(mine.values_list("pour", flat=True))
    pours = list(_pours(counts))
    lines = {pour.line_id for pour in pours if pour.line_id}
    good = Counter(_good().filter(pour__in=counts).values_list("pour", flat=True))
    lined = _good().filter(pour__line__in=lines)
    in_line: Counter[int | None] = Counter(lined.values_list("pour__line", flat=True))
    of_line: Counter[int | None] = Counter()
    for pour in pours:
        of_line[pour.line_id] += counts[pour.pk]
    failed = list(_failed(lines))
    tiles = _tiles(pours, counts)
    coats: defaultdict[int, list[Topcoating]] = defaultdict(list)
    standing = Topcoating.objects.standing().filter(pour__in=[*pours, *failed, *tiles])
    for coat in standing.select_related("pour").order_by("coated_at", "pk"):
        coats[coat.pour_id].append(coat)
    packed = list(PieceSet.objects.filter(pk__in=sets))
    acts: list[Act] = [*pours, *failed, *tiles, *packed]
    acts += [coat for some in coats.values() for coat in some]
    taken = _taken(act.entry_id for act in acts)
    kinds = _kinds(taken)
    found: list[CostLine] = []
    for pour in pours:
        share = Decimal(counts[pour.pk]) / good[pour.pk]
        found += _of_pour(pour, coats[pour.pk], good[pour.pk], taken, share, kinds)
    for pour in failed:
        share = Decimal(of_line[pour.line_id]) / in_line[pour.line_id]
        found += _of_pour(pour, coats[pour.pk], 0, taken, share, kinds)
    for pour, (share, well) in tiles.items():
        found += _of_pour(pour, coats[pour.pk], well, taken, share, kinds)
    for one in packed:
        wrapping = taken.get(one.entry_id, {})
        box = sum(
            (value for key, value in wrapping.items() if kinds[key] == Material.Kind.PACKAGING),
            ZERO,
        )
        found.append(_line("finished", FINISHED, _sum(taken, one) - box, one.label))
        found.append(_line("packaging", "Packaging", box, one.label))
        found += _work(one, "Packing", Decimal(1))
    return found


def _tiles(pours: Collection[Pour], counts: Mapping[int, int]) -> dict[Pour, tuple[Decimal, int]]:
    """Return {pour of a test tile: (the share that pieces of other pours bear, how many are well)}.

    ``counts`` is how many pieces of each pour are asked about.
    """
    mine: Counter[int] = Counter()
    for pour in pours:
        if pour.line and not pour.line.is_test:
            mine[pour.line.commission_id] += counts[pour.pk]
    made = Pour.objects.standing().filter(line__is_test=True, line__commission__in=list(mine))
    made = made.select_related("surface", "line").prefetch_related("layers")
    tiles = list(made.order_by("pk"))
    if not tiles:
        return {}
    well = Counter(_good().filter(pour__in=tiles).values_list("pour", flat=True))
    ordered = _good().filter(pour__line__commission__in=list(mine), pour__line__is_test=False)
    of_all = Counter(ordered.values_list("pour__line__commission", flat=True))
    found = {}
    for tile in tiles:
        assert tile.line is not None  # found by it
        key = tile.line.commission_id
        found[tile] = (Decimal(mine[key]) / of_all[key], well[tile.pk])
    return found


def _good() -> QuerySet[FinishedPiece]:
    return FinishedPiece.objects.filter(state=FinishedPiece.State.GOOD)


def _pours(keys: Iterable[int]) -> QuerySet[Pour]:
    rows = Pour.objects.filter(pk__in=keys).select_related("surface", "line")
    return rows.prefetch_related("layers")


def _failed(lines: Collection[int]) -> QuerySet[Pour]:
    """Return the pours for some lines of which nothing came out well: others bear their cost."""
    pours = Pour.objects.standing().filter(line__in=lines)
    pours = pours.exclude(pieces__state=FinishedPiece.State.GOOD)
    return pours.select_related("surface").prefetch_related("layers")


def _taken(entries: Iterable[int | None]) -> Taken:
    found: defaultdict[int | None, dict[int, Decimal]] = defaultdict(dict)
    moves = Movement.objects.filter(entry__in=[*entries], entry__reversed_by=None).order_by()
    sums = moves.values("entry", "material").annotate(taken=Total("value"))
    for entry, material, value in sums.values_list("entry", "material", "taken"):
        found[entry][material] = -value
    return dict(found)


def _kinds(taken: Taken) -> dict[int, str]:
    """Return {material: its kind} of what was taken."""
    keys = {material for moved in taken.values() for material in moved}
    return dict(Material.objects.filter(pk__in=keys).values_list("pk", "kind"))


def _sum(taken: Taken, act: Act) -> Decimal:
    return sum(taken.get(act.entry_id, {}).values(), ZERO)


def _of_pour(
    pour: Pour,
    coats: Sequence[Topcoating],
    good: int,
    taken: Taken,
    share: Decimal,
    kinds: Mapping[int, str],
) -> Iterator[CostLine]:
    """Yield a share of what a pour and its topcoats took; ``good`` of its pieces can be sold."""
    by_material = taken.get(pour.entry_id, {})
    surface = by_material.get(pour.surface.material_id or 0, ZERO) * share
    prepared = _prepared(pour, by_material, kinds) * share
    paint = sum(by_material.values(), ZERO) * share - surface - prepared
    well = Decimal(good) / pour.count
    name = str(pour)
    for layer, amount in _by_layer(pour, paint):
        yield _line("material", layer, amount * well, name)
    yield _line("surface", "Surface", surface * well, name)
    yield _line("prepared", PREPARED, prepared * well, name)
    spoiled = (paint + surface + prepared) * (1 - well)
    yield _line("failures", "Pieces that fail", spoiled, name)
    yield from _work(pour, "Pouring", share)
    there = good + sum(coat.spoiled_count for coat in coats)
    for coat in coats:
        resin, kept = _sum(taken, coat) * share, Decimal(good) / there if there else ZERO
        yield _line("material", "Topcoat", resin * kept, str(coat))
        yield _line("failures", "Pieces that fail", resin * (1 - kept), str(coat))
        yield from _work(coat, "Topcoats", share)
        there -= coat.spoiled_count


def _prepared(pour: Pour, by_material: Mapping[int, Decimal], kinds: Mapping[int, str]) -> Decimal:
    """Return what a pour took that went into none of its mixes, and is no surface.

    What a mix of it holds as well counts as paint.
    """
    paint = {key for layer in pour.layers.all() for one in layer.mixes for key in _in(one["mix"])}
    found = (
        value
        for key, value in by_material.items()
        if key not in paint and kinds.get(key) in LabourStep.USABLE
    )
    return sum(found, ZERO)


def _in(mix: Mapping[str, Any] | None) -> Iterator[int | None]:
    for part in mix["parts"] if mix else ():
        yield part["material_id"]
        yield from _in(part["mix"])


def _by_layer(pour: Pour, paint: Decimal) -> list[tuple[str, Decimal]]:
    """Share what the paint of a pour cost, less what was kept of it, over its layers."""
    layers = list(pour.layers.all())
    took = [layer.took_value or ZERO for layer in layers]
    whole = sum(took, ZERO)
    if not whole:  # not known of pours logged before it was kept
        return [("Paint", paint)]
    return [
        (layer.get_layer_display(), paint * value / whole)
        for layer, value in zip(layers, took, strict=True)
    ]


def _work(act: Act, what: str, share: Decimal) -> Iterator[CostLine]:
    hours = act.minutes * share / 60
    yield CostLine("labour", what, hours * act.labour_rate, ZERO, act.minutes * share)
    yield CostLine("overhead", what, hours * act.overhead_rate, ZERO)


def _line(kind: str, label: str, amount: Decimal, act: str) -> CostLine:
    return CostLine(kind, label, amount, amount, made_of=((act, amount),) if amount else ())


def _parts(sums: Profit, lines: Collection[CostLine], currency: str) -> list[PricePart]:
    """Return the parts of what came in, brought to the amounts that the tables show.

    Those are rounded, each column by itself. What is left of the materials beyond the lines is what
    sending cost.
    """
    labour: list[CostLine] = []
    overhead: list[CostLine] = []
    materials: list[CostLine] = []
    for one in lines:
        {"labour": labour, "overhead": overhead}.get(one.kind, materials).append(one)
    sending = sums.materials - sum((one.amount for one in materials), ZERO)
    is_rounding = abs(sending) <= 2 * minor_unit(currency)
    even = [
        *_brought_to(labour, sums.labour),
        *_brought_to(overhead, sums.overhead),
        *(_brought_to(materials, sums.materials) if is_rounding else materials),
    ]
    net = sums.revenue - sums.tax
    return price_parts(even, net=net, tax=sums.tax, fees=sums.fees, profit=sums.profit)


def _brought_to(lines: Sequence[CostLine], whole: Decimal) -> list[CostLine]:
    """Return lines that add up to an amount as it is shown: the largest takes the difference."""
    if not lines:
        return []
    more = whole - sum((one.amount for one in lines), ZERO)
    largest = max(lines, key=lambda one: one.amount)
    (name, amount), *rest = largest.made_of or ((largest.label, largest.amount),)
    brought = replace(largest, amount=largest.amount + more, made_of=((name, amount + more), *rest))
    return [brought if one is largest else one for one in lines]
