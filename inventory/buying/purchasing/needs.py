"""What should be bought, and by when, whoever sells it."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from decimal import ROUND_CEILING, Decimal

from inventory.buying.demand import Level, levels
from inventory.buying.reordering import MaterialNeed, order_up_to
from inventory.models import Hold, Material, OrderLine, PurchaseOrder
from inventory.stock.holds import coverage
from inventory.words import about
from studio.amounts import Times, Total
from studio.models import Studio
from studio.money import ZERO

NOBODY_KNOWS = 100_000.0  # stands in for the days that stock lasts, where no use is on record


def needs(studio: Studio, drafts: Mapping[int, Decimal]) -> list[MaterialNeed[int]]:
    """Return what should be bought as `MaterialNeed`, by material key, whoever sells it.

    What is held beyond stock and what is coming, by the day of each hold; and, where a material is
    at its reorder point or below, what fills it up until the review after the delivery. What open
    quotes are expected to take by then is part of that filling up; on its own it is no need, since
    the customer may say no. ``drafts`` is `on_drafts`.
    """
    standing = levels(studio)
    uncovered = _uncovered(studio, standing, drafts)
    needs = []
    for level in standing:
        if level.is_made_here:
            continue
        material = level.material
        missing = uncovered.get(material.pk, [])
        for hold, quantity in missing:
            needs.append(MaterialNeed(material.pk, quantity, hold.needed_by, hold.label))
        projected = material.projected + drafts.get(material.pk, ZERO)
        target = order_up_to(
            projected,
            level.reorder_at,
            level.point.mean_per_day,
            float(studio.review_days),
            level.quoted_later,
        )
        rest = target.quantity - sum((quantity for _, quantity in missing), ZERO)
        if level.is_kept and target.due and rest > 0:
            needs += _shelf(studio, level, projected, _in_unit(material, rest))
    return needs


def _shelf(
    studio: Studio, level: Level, projected: Decimal, rest: Decimal
) -> list[MaterialNeed[int]]:
    """Return what fills a shelf up, for a budget in two: first to each reorder point, by how soon
    work stops, then to last until the review."""
    soon = NOBODY_KNOWS if level.days_left is None else min(level.days_left, NOBODY_KNOWS)
    material, why = level.material, _until(studio, level)
    first = min(rest, _in_unit(material, max(level.reorder_at - projected, ZERO)))
    parts = ((first, 1 + soon), (rest - first, 1 + NOBODY_KNOWS + soon))
    return [MaterialNeed(material.pk, part, None, why, rank) for part, rank in parts if part]


def _until(studio: Studio, level: Level) -> str:
    lasts = f"the shelf, to last {studio.review_days} days after it arrives"
    quoted = Decimal(level.point.quoted + level.quoted_later)
    if not quoted:
        return lasts
    return f"{lasts}, counting {about(level.material, quoted)} for open quotes by their chance"


def _in_unit(material: Material, quantity: Decimal) -> Decimal:
    """Round items up to whole ones."""
    return quantity.to_integral_value(ROUND_CEILING) if material.unit == "each" else quantity


def _uncovered(
    studio: Studio, standing: Iterable[Level], drafts: Mapping[int, Decimal]
) -> dict[int, list[tuple[Hold, Decimal]]]:
    """Return {material key: [(hold, amount)]} beyond stock and what is coming, first promised first
    served."""
    coming = {
        level.material.pk: level.material.on_order + drafts.get(level.material.pk, ZERO)
        for level in standing
    }
    missing = defaultdict(list)
    for hold, covered in coverage(studio).items():
        if hold.material_id not in coming:
            continue
        short = hold.outstanding - covered
        share = min(short, coming[hold.material_id])
        coming[hold.material_id] -= share
        if short > share:
            missing[hold.material_id].append((hold, short - share))
    return missing


def on_drafts(studio: Studio) -> dict[int, Decimal]:
    """Return {material key: amount} that stands on draft orders."""
    lines = OrderLine.objects.filter(
        order__studio=studio, order__status=PurchaseOrder.Status.DRAFT
    ).order_by()
    rows = lines.values("pack__material").annotate(total=Total(Times("count", "pack__size")))
    return dict(rows.values_list("pack__material", "total"))
