"""What a pour was, as a commission's line or a product says it: for another one like it."""

from typing import Any

from django.db.models import Exists, OuterRef, QuerySet

from pricing.models import Commission, FinishedPiece, Picture, PieceSet, Pour, Product, ResinKit
from studio.models import Studio

# As many as a person looks through in a list.
MOST_OFFERED = 100
MADE_OF = ("surface", "technique", "palette", "line__topcoat", "line__packaging")


def likeness(pour: Pour) -> dict[str, Any]:
    """Return what a line or product like a pour is: the fields of either, and how many were made.

    Under resin if it was coated, or is to be.
    """
    line = pour.line
    each = line.pieces_each if line else 1
    return {
        "surface": pour.surface,
        "technique": pour.technique,
        "base": pour.base,
        "palette": pour.palette,
        "topcoat": kit_of(pour),
        "pieces_each": each,
        "packaging": line.packaging if line else None,
        "use": line.use if line else "",
        "quantity": max(pour.count // each, 1),
    }


def kit_of(pour: Pour) -> ResinKit | None:
    """Return the resin that a pour was coated with last, or is to be coated with, or None."""
    coats = pour.topcoatings.standing().select_related("kit__resin", "kit__hardener")
    coat = coats.order_by("-coated_at", "-pk").first()
    if coat is not None:
        return coat.kit
    return pour.line.topcoat if pour.line else None


def pours_to_like(studio: Studio) -> QuerySet[Pour]:
    """Return the latest pours that something good came of, for a customer to point at."""
    good = FinishedPiece.objects.filter(pour=OuterRef("pk"), state=FinishedPiece.State.GOOD)
    rows = Pour.objects.standing().filter(Exists(good), studio=studio)
    latest = rows.order_by("-number").values("pk")[:MOST_OFFERED]
    return studio.pours.filter(pk__in=list(latest.values_list("pk", flat=True))).select_related(
        "surface", "technique", "palette"
    )


def pour_behind(
    thing: Pour | FinishedPiece | PieceSet | Picture | Product | Commission,
) -> Pour | None:
    """Return the pour that a piece, a set, a picture, a product or a commission came of, or None.

    Of a set it is the one most of its pieces came of, of a product the latest of the same size,
    technique, base and palette, of a commission the latest that was poured for it.
    """
    if isinstance(thing, Pour):
        return thing
    if isinstance(thing, FinishedPiece):
        return thing.pour
    if isinstance(thing, Picture):
        return pour_behind(thing.thing)
    rows = Pour.objects.standing().filter(studio=thing.studio_id).order_by("-number")
    if isinstance(thing, Commission):
        return rows.filter(line__commission=thing).first()
    if isinstance(thing, Product):
        made_of = ("surface", "technique", "palette", "base")
        return rows.filter(**{name: getattr(thing, name) for name in made_of}).first()
    keys = list(thing.pieces.order_by("number").values_list("pour_id", flat=True))
    return Pour.objects.filter(pk=max(keys, key=keys.count)).first() if keys else None
