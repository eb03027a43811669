"""What sets that are packed are fit for: what lies on their pieces, and what is said of them."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from decimal import Decimal

from pricing.fitness import Doubt, Finish, counts_as, doubts, told_of_each, words_of
from pricing.models import FinishedPiece, PieceSet, Topcoating

Coats = Mapping[int, Collection[Topcoating]]


def coats_of(pours: Collection[int]) -> dict[int, list[Topcoating]]:
    """Return {pour key: its topcoats that stand, the oldest first}, in one query."""
    coats: dict[int, list[Topcoating]] = {}
    standing = Topcoating.objects.standing().filter(pour__in=pours)
    for coat in standing.select_related("kit").order_by("coated_at", "pk"):
        coats.setdefault(coat.pour_id, []).append(coat)
    return coats


def finish_of(pours: Collection[int], coats: Coats) -> Finish:
    """Return what lies on pieces of some pours that are kept together."""
    kits = [coat.kit for pour in pours for coat in coats.get(pour, ())]
    return Finish(
        tuple(kit.heat_limit_c for kit in kits),
        has_bare=any(pour not in coats for pour in pours),
        cure_known=all(kit.cure_hours is not None for kit in kits),
    )


def finishes_of(sets: Iterable[PieceSet]) -> dict[int, Finish]:
    """Return {set key: what lies on its pieces}, in two queries."""
    pours: dict[int, set[int]] = {one.pk: set() for one in sets}
    rows = FinishedPiece.objects.filter(piece_set__in=pours).order_by()
    for piece_set, pour in rows.values_list("piece_set", "pour").distinct():
        if piece_set is not None:
            pours[piece_set].add(pour)
    coats = coats_of({pour for some in pours.values() for pour in some})
    return {key: finish_of(some, coats) for key, some in pours.items()}


def words_of_sets(sets: Iterable[PieceSet]) -> list[str]:
    """Return what is said of heat and food of sets that go together, each sentence once."""
    sets = list(sets)
    finishes = finishes_of(sets)
    return told_of_each((one.label, words_of(one.use, finishes[one.pk])) for one in sets)


def doubts_of_sets(sets: Iterable[PieceSet]) -> list[tuple[PieceSet, Doubt]]:
    """Return why sets are not fit for what they are for, or count as being for, in three queries.

    A set counts by the smallest of its pieces, which a cup is put on soonest.
    """
    sets = list(sets)
    finishes, sizes = finishes_of(sets), _longest_mm(sets)
    return [
        (one, doubt)
        for one in sets
        if one.pk in sizes
        for doubt in doubts(
            counts_as(one.use, longest_mm=min(sizes[one.pk]), pieces_each=len(sizes[one.pk])),
            finishes[one.pk],
            is_made=True,
        )
    ]


def _longest_mm(sets: Collection[PieceSet]) -> dict[int, list[Decimal]]:
    """Return {set key: the longer side of each of its pieces, [mm]} of sets that have some."""
    rows = FinishedPiece.objects.filter(piece_set__in=[one.pk for one in sets]).order_by()
    found: defaultdict[int, list[Decimal]] = defaultdict(list)
    for key, width, height in rows.values_list(
        "piece_set", "pour__surface__width_mm", "pour__surface__height_mm"
    ):
        if key is not None:
            found[key].append(max(width, height))
    return dict(found)
