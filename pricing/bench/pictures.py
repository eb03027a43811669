"""Pictures of commissions, pours, pieces and sets: added, described, removed.

What comes in was made ready by `studio.pictures`, outside any transaction, since reading a
photograph takes a while.
"""

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass

from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Count, Max, Sum

from pricing.errors import PictureRefused
from pricing.models import Commission, FinishedPiece, Picture, PieceSet, Pour
from studio.models import Studio
from studio.pictures import MOST_BYTES, PictureError, Prepared, prepared_from_full

# Enough to show a wish or a pour from all sides, and a bound on what a studio stores.
MOST = 12

Kind = Picture.Kind
Thing = Commission | Pour | FinishedPiece | PieceSet
FIELDS: dict[type[Thing], str] = {
    Commission: "commission",
    Pour: "pour",
    FinishedPiece: "piece",
    PieceSet: "piece_set",
}
KINDS = {
    "commission": (Kind.LIKE, Kind.COLOURS, Kind.PLACE, Kind.SKETCH),
    "pour": (Kind.RESULT, Kind.FAULT),
    "piece": (Kind.RESULT, Kind.FAULT),
    "piece_set": (Kind.RESULT, Kind.FAULT),
}


@dataclass(frozen=True)
class Space:
    """How many pictures a studio has, what they take, [MB], and the limits."""

    count: int
    megabytes: int
    most_each: int = MOST
    most_megabytes: int = MOST_BYTES // 1_000_000


def space_of(studio: Studio) -> Space:
    """Return what the pictures of a studio take."""
    sums = studio.pictures.aggregate(count=Count("pk"), size=Sum("size_bytes"))
    return Space(sums["count"], -(-(sums["size"] or 0) // 1_000_000))


def kinds_of(thing: Thing) -> tuple[Kind, ...]:
    """Return what a picture of a thing may show; the first is the usual."""
    return KINDS[FIELDS[type(thing)]]


@transaction.atomic
def add_pictures(
    *,
    thing: Thing,
    by: User | None,
    pictures: Sequence[Prepared],
    kind: str = "",
    caption: str = "",
) -> list[Picture]:
    """Add pictures to a commission, a pour, a piece or a set; return their rows.

    Parameters
    ----------
    thing : Commission, Pour, FinishedPiece or PieceSet
    pictures : sequence of studio.pictures.Prepared
    kind : str
        What they show, one of `kinds_of` the thing; empty for the usual.
    caption : str
        At most 200 characters.

    Raises
    ------
    PictureRefused
        If it would have more than `MOST`, or the kind does not fit; then none is added.
    """
    kind = _fitting(thing, kind)
    type(thing).objects.select_for_update().get(pk=thing.pk)  # two phones at once count alike
    there = thing.pictures.aggregate(count=Count("pk"), last=Max("number"))
    if there["count"] + len(pictures) > MOST:
        room = MOST - there["count"]
        advice = f"Choose at most {room} more." if room else "Remove one first."
        raise PictureRefused(
            f"There is room for {MOST} pictures here, and {there['count']} are there. {advice}"
        )
    first = (there["last"] or 0) + 1
    return Picture.objects.bulk_create(
        Picture(
            studio_id=thing.studio_id,
            **{FIELDS[type(thing)]: thing},
            number=number,
            kind=kind,
            caption=caption,
            width=one.width,
            height=one.height,
            size_bytes=len(one.full),
            sha256=digest(one.full),
            by=by,
            full=one.full,
            small=one.small,
        )
        for number, one in enumerate(pictures, first)
    )


@transaction.atomic
def describe_picture(*, picture: Picture, caption: str | None = None, kind: str = "") -> Picture:
    """Change what a picture is said to show; what is not given stays."""
    picture = Picture.objects.select_for_update().get(pk=picture.pk)
    if caption is not None:
        picture.caption = caption
    if kind:
        picture.kind = _fitting(picture.thing, kind)
    picture.save(update_fields=["caption", "kind"])
    return picture


@transaction.atomic
def remove_picture(*, picture: Picture) -> None:
    """Remove a picture for good."""
    picture.delete()


def restored_picture(row: Picture, keys: object) -> None:
    """Restore a picture from an archive; refuse bytes that do not match its record."""
    try:
        picture = prepared_from_full(bytes(row.full))
    except PictureError as error:
        raise ValidationError(f"The picture cannot be taken. {error}") from error
    stated = (row.sha256, row.size_bytes, row.width, row.height)
    if stated != (digest(picture.full), len(picture.full), picture.width, picture.height):
        raise ValidationError("The picture is not the one that it was.")
    row.small = picture.small


def digest(body: bytes | memoryview) -> str:
    """Return the SHA-256 of a picture, in hexadecimal."""
    return hashlib.sha256(body).hexdigest()


def _fitting(thing: Thing, kind: str) -> str:
    kinds = kinds_of(thing)
    if kind and kind not in kinds:
        words = " or ".join(f"“{one}” ({one.label.lower()})" for one in kinds)
        raise PictureRefused(f"A picture of a {thing._meta.verbose_name} shows {words}.")
    return kind or kinds[0]
