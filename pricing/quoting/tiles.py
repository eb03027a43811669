"""Test tiles as their customer sees them: pictures of each pour, and what was said of it."""

from collections import defaultdict
from dataclasses import dataclass

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import Prefetch, Q

from pricing.errors import TileAnswerRefused
from pricing.models import Commission, Picture, Pour, Quote, TileAnswer
from studio.text import one_line, shortened


@dataclass(frozen=True)
class Tile:
    """One pour of a test tile: its pictures, what was answered, and whether it was undone since.

    The pictures are those of what came out; one of a fault is for the studio alone.
    """

    pour: Pour
    pictures: tuple[Picture, ...]
    answer: TileAnswer | None
    is_undone: bool

    @property
    def is_shown(self) -> bool:
        """Whether its customer sees it."""
        return bool(self.pictures or self.answer)

    @property
    def waits(self) -> bool:
        """Whether it can still be answered."""
        return self.answer is None and not self.is_undone


@transaction.atomic
def answer_tile(
    *,
    pour: Pour,
    accepted: bool,
    name: str = "",
    note: str = "",
    by: User | None = None,
    by_link: bool = False,
) -> TileAnswer:
    """Keep what a customer says of one pour of their test tile; it holds nothing up.

    ``name`` is who said it, whoever writes it down if left out, and ``note`` what is to be
    different. Raises `TileAnswerRefused` for a pour that is no test tile, was undone or is answered
    already.
    """
    Pour.objects.select_for_update().get(pk=pour.pk)
    pour = Pour.objects.select_related("line", "entry__reversed_by", "tile_answer").get(pk=pour.pk)
    if pour.line is None or not pour.line.is_test:
        raise TileAnswerRefused(f"{pour} is no test tile, so there is nothing to answer.")
    if hasattr(pour, "tile_answer"):
        raise TileAnswerRefused(
            f"{pour.tile_answer.name} has answered about {pour} already: "
            f"“{pour.tile_answer.words}”. Pour the test tile again for another answer."
        )
    if hasattr(pour.entry, "reversed_by"):
        raise TileAnswerRefused(f"{pour} was undone, so there is nothing to answer.")
    writer = (by.get_full_name() or by.get_username()) if by else ""
    return TileAnswer.objects.create(
        studio_id=pour.studio_id,
        pour=pour,
        accepted=accepted,
        name=one_line(name) or shortened(writer, 120),
        note=one_line(note),
        by=by,
        by_link=by_link,
    )


def tiles_of(commission: Commission) -> list[Tile]:
    """Return the pours of a commission's test tiles, the last on top, in two queries.

    One that was undone is told of where it was answered.
    """
    seen = Picture.objects.filter(kind=Picture.Kind.RESULT)
    rows = Pour.objects.filter(line__commission=commission, line__is_test=True)
    rows = rows.filter(Q(entry__reversed_by=None) | Q(tile_answer__isnull=False))
    rows = rows.select_related("line", "surface", "technique", "palette", "entry__reversed_by")
    rows = rows.select_related("tile_answer__by", "studio")
    return [
        Tile(
            pour,
            tuple(vars(pour)["seen"]),
            getattr(pour, "tile_answer", None),
            hasattr(pour.entry, "reversed_by"),
        )
        for pour in rows.prefetch_related(Prefetch("pictures", seen, to_attr="seen"))
    ]


def tiles_by_line(commission: Commission) -> dict[int | None, list[Tile]]:
    """Return `tiles_of` a commission by the key of the line."""
    found: defaultdict[int | None, list[Tile]] = defaultdict(list)
    for tile in tiles_of(commission):
        found[tile.pour.line_id].append(tile)
    return dict(found)


def tiles_shown(quote: Quote) -> list[Tile]:
    """Return what whoever holds the link of a quote sees; nothing of one that is answered no."""
    if not (quote.is_open or quote.status == Quote.Status.ACCEPTED):
        return []
    return [tile for tile in tiles_of(quote.commission) if tile.is_shown]


def pictures_shown(quote: Quote) -> set[int]:
    """Return the keys of the pictures that whoever holds the link of a quote sees."""
    return {picture.pk for tile in tiles_shown(quote) for picture in tile.pictures}
