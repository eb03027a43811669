"""Stock held for accepted commissions until it is poured, coated or packed.

The amount held is what should be *mixed* for the pieces still to be made: the median, plus the
allowance that makes it enough with the studio's chosen confidence, plus what stays in cups. Holding
the median alone would leave every second commission short at the bench. Pieces that may fail are
priced in, but nothing is held for them: a hold that is probably not needed stops other work.

What was mixed for a commission beforehand stands in for its ingredients: the mix is held, and so
much less of them.
"""

from collections import Counter, defaultdict
from collections.abc import Collection
from decimal import ROUND_HALF_UP, Decimal

from django.db.models import Exists, OuterRef, Q, QuerySet

from inventory.mixing.mix_book import mix_book
from inventory.models import Material, Movement, Recipe
from inventory.stock import holds
from pricing.models import Commission, CommissionLine, FinishedPiece, PieceSet, Quote, Topcoating
from studio.amounts import Total
from studio.models import Studio
from studio.money import ZERO
from studio.text import shortened
from studio.units import QUANTITY_PLACES

HELD_IN = (Commission.Status.ACCEPTED, Commission.Status.IN_WORK)


def commissions_by_work(studio: Studio, work_ids: Collection[int]) -> dict[int, Commission]:
    """Return {work key: commission} of a studio's commissions, in one query."""
    rows = studio.commissions.filter(work__in=work_ids)
    return {one.work_id: one for one in rows.select_related("customer")}


def renew_holds(commission: Commission) -> None:
    """Hold what an accepted commission still needs, in place of what was held for it before.

    A commission that is finished, declined or cancelled holds nothing.
    """
    holds.hold(
        work=commission.work,
        label=shortened(str(commission), 120),
        needs=needs_left(commission) if commission.status in HELD_IN else {},
        needed_by=commission.due_on,
    )


def needs_left(commission: Commission) -> dict[Material, Decimal]:
    """Return {material: quantity} for what accepted work has yet to pour, coat and pack.

    Mixes that were mixed for it count as such, in place of what they are made of.
    """
    quote: Quote | None = commission.accepted_quote
    if quote is None:
        return {}
    finished, coated, packed = finished_counts(commission.lines.all())
    needs: defaultdict[int, Decimal] = defaultdict(Decimal)
    for line in quote.frozen["lines"]:
        key, pieces = line["line_id"], line["pieces"]
        stages = {
            "pour": (pieces - finished[key], pieces),
            "coat": (pieces - coated[key], pieces),
            "pack": (line["quantity"] - packed[key], line["quantity"]),
        }
        for stage, (todo, of) in stages.items():
            for material_id, quantity in line["needs"][stage]:
                needs[material_id] += Decimal(quantity) * max(todo, 0) / of
    materials = Material.objects.in_bulk([key for key, quantity in needs.items() if quantity])
    stocked = {
        materials[key]: quantity
        for key, quantity in needs.items()
        if key in materials and materials[key].is_stocked
    }
    return {
        material: quantity.quantize(QUANTITY_PLACES, ROUND_HALF_UP)
        for material, quantity in _with_mixes(commission, stocked).items()
    }


def _with_mixes(commission: Commission, needs: dict[Material, Decimal]) -> dict[Material, Decimal]:
    """Return the needs with leftover mixes of a commission in place of their ingredients.

    A mix counts as far as all of its ingredients are still needed, so that leftovers are let go.
    """
    reserved = _leftovers(commission)
    if not reserved:
        return needs
    book, needs = mix_book(commission.studio), dict(needs)
    for recipe, mix, volume_ml in reserved:
        inside = {
            material: quantity
            for material, quantity in book.materials_in(recipe.pk, volume_ml).items()
            if material.is_stocked and quantity
        }
        part = min(
            (needs.get(one, ZERO) / quantity for one, quantity in inside.items()), default=ZERO
        )
        part = min(part, Decimal(1))
        if part:
            needs[mix] = needs.get(mix, ZERO) + volume_ml * part
            for material, quantity in inside.items():
                needs[material] = max(needs[material] - quantity * part, ZERO)
    return {material: quantity for material, quantity in needs.items() if quantity > 0}


def _leftovers(commission: Commission) -> list[tuple[Recipe, Material, Decimal]]:
    """Return (recipe, its mix, mL) of what was mixed for a commission and not used by it since.

    Counted by the mix and not by the bottle, since bottles are poured over; never more than is on
    hand.
    """
    mixed: dict[Recipe, Decimal] = {}
    batches = commission.work.batches.standing().filter(entry__isnull=False)
    for batch in batches.select_related("recipe__mix").order_by("pk"):
        mixed[batch.recipe] = mixed.get(batch.recipe, ZERO) + batch.volume_ml
    if not mixed:
        return []
    own = Q(entry__pour__line__commission=commission) | Q(entry__batch__work=commission.work_id)
    moves = Movement.objects.filter(own, quantity__lt=0, entry__reversed_by=None)
    moves = moves.filter(material__in=[recipe.mix_id for recipe in mixed]).order_by()
    used_by_mix = dict(
        moves.values("material").annotate(sum=Total("quantity")).values_list("material", "sum")
    )
    leftovers = []
    for recipe, ml in mixed.items():
        mix = recipe.mix
        assert mix is not None  # a batch that was mixed filled a bottle of it
        volume_ml = min(ml + used_by_mix.get(mix.pk, ZERO), mix.on_hand)
        if volume_ml > 0:
            leftovers.append((recipe, mix, volume_ml))
    return leftovers


def finished_counts(
    lines: QuerySet[CommissionLine],
) -> tuple[Counter[int], Counter[int], Counter[int]]:
    """Return by line: finished pieces, those of them under resin, sets packed; two queries.

    A set packed for a line is as many pieces as the line says, whatever they were poured for; what
    is loose counts for the line that it was poured for.
    """
    finished: Counter[int] = Counter()
    coated: Counter[int] = Counter()
    packed: Counter[int] = Counter()
    sets = PieceSet.objects.packed().filter(line__in=lines)
    for line, each in sets.values_list("line", "line__pieces_each"):
        packed[line] += 1
        finished[line] += each
        coated[line] += each
    loose = FinishedPiece.objects.filter(
        pour__line__in=lines, piece_set=None, state=FinishedPiece.State.GOOD
    )
    coats = Topcoating.objects.standing().filter(pour=OuterRef("pour"))
    for line, is_coated in loose.annotate(is_coated=Exists(coats)).values_list(
        "pour__line", "is_coated"
    ):
        finished[line] += 1
        coated[line] += is_coated
    return finished, coated, packed
