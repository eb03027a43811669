"""When what is packed for commissions, and nobody has bought, is cured."""

from collections import defaultdict
from collections.abc import Iterable

from pricing.models import Commission, FinishedPiece, PieceSet, Pour
from pricing.readiness.standing import Standing, standing_of


def packed_of(commissions: Iterable[Commission]) -> dict[int, Standing]:
    """Return {commission key: where the pour stands that is cured last of what is packed for it}.

    One of which nobody knows when it is cured comes after all others. Commissions of one studio,
    in a fixed number of queries; one for which nothing is packed is left out.
    """
    keys = [one.pk for one in commissions]
    if not keys:
        return {}
    packed = PieceSet.objects.for_sale().filter(line__commission__in=keys)
    pieces = FinishedPiece.objects.filter(piece_set__in=packed.values("pk")).order_by()
    pours: defaultdict[int, set[int]] = defaultdict(set)
    for commission, pour in pieces.values_list("piece_set__line__commission", "pour").distinct():
        if commission is not None:
            pours[commission].add(pour)
    rows = Pour.objects.filter(pk__in={one for some in pours.values() for one in some})
    found = standing_of(rows.select_related("surface", "technique", "palette", "studio"))
    by_key = {pour.pk: standing for pour, standing in found.items()}
    return {
        commission: max(
            (by_key[one] for one in some), key=lambda one: (bool(one.not_known), one.planned_on)
        )
        for commission, some in pours.items()
    }
