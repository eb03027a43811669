"""What is promised to accepted commissions: stock held until it is poured, coated or packed.

The amount held is what should be *mixed* for the pieces still to be made: the median, plus the
allowance that makes it enough with the studio's chosen confidence, plus what stays in cups. Holding
the median alone would leave every second commission short at the bench. Pieces that may fail are
priced in, but nothing is held for them: a hold that is probably not needed stops other work.
"""

from collections import Counter
from decimal import ROUND_HALF_UP, Decimal

from inventory import holds
from inventory.costing import QUANTITY_PLACES
from inventory.models import Material
from pricing.models import Commission, FinishedPiece, PieceSet, Topcoating

ZERO = Decimal(0)

HELD_IN = (Commission.Status.ACCEPTED, Commission.Status.IN_WORK)


def key_of(commission):
    """Name a commission's holds the way the ledger knows them."""
    return f"commission-{commission.pk}"


def renew_promises(commission):
    """Hold what an accepted commission still needs, in place of what was held for it before.

    A commission that is finished, declined or cancelled holds nothing.
    """
    holds.hold(
        studio=commission.studio,
        key=key_of(commission),
        label=str(commission)[:120],
        needs=needs_left(commission) if commission.status in HELD_IN else {},
        needed_by=commission.due_on,
    )


def needs_left(commission):
    """Return {material: quantity} for what accepted work has yet to pour, coat and pack."""
    quote = commission.quotes.filter(status="accepted").first()
    if quote is None:
        return {}
    made, coated, packed = _counts(commission)
    needs = Counter()
    for line in quote.frozen["lines"]:
        key, pieces = line["line_id"], line["pieces"]
        left = {
            "pour": (pieces - made[key], pieces),
            "coat": (pieces - coated[key], pieces),
            "pack": (line["quantity"] - packed[key], line["quantity"]),
        }
        for stage, (todo, of) in left.items():
            for material_id, quantity in line["needs"][stage]:
                needs[material_id] += Decimal(quantity) * max(todo, 0) / of
    materials = Material.objects.in_bulk([key for key, quantity in needs.items() if quantity])
    return {
        materials[key]: quantity.quantize(QUANTITY_PLACES, ROUND_HALF_UP)
        for key, quantity in needs.items()
        if key in materials and materials[key].is_stocked
    }


def _counts(commission):
    """Return, by line: good pieces, good pieces under resin, sets packed."""
    good = FinishedPiece.objects.filter(
        pour__line__commission=commission, state=FinishedPiece.State.GOOD
    )
    coats = Topcoating.objects.standing().filter(pour__line__commission=commission)
    sets = PieceSet.objects.packed().filter(line__commission=commission)
    return (
        Counter(good.values_list("pour__line", flat=True)),
        Counter(good.filter(pour__in=coats.values("pour")).values_list("pour__line", flat=True)),
        Counter(sets.values_list("line", flat=True)),
    )
