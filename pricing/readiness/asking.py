"""The gate: an act that something speaks against goes on once a reason is written, and keeps it."""

from collections.abc import Collection
from dataclasses import dataclass
from typing import Any, TypedDict, Unpack

from django.contrib.auth.models import User
from django.db.models import QuerySet

from pricing.errors import ReasonNeeded
from pricing.models import (
    Commission,
    CommissionLine,
    Consignment,
    GoneOn,
    PieceSet,
    Pour,
    Product,
    Quote,
    Sale,
    Topcoating,
)
from studio.models import Studio

Act = GoneOn.Act

# Which rows tell of a thing: those that name it, and those of what belongs to it.
TOLD_ON: dict[type[Any], tuple[str, ...]] = {
    Pour: ("pour", "topcoating__pour"),
    PieceSet: ("piece_set", "sale__lines__piece_set", "consignment__lines__piece_set"),
    Sale: ("sale",),
    Consignment: ("consignment",),
    Quote: ("quote",),
    Product: ("product",),
    Commission: (
        *("commission", "line__commission", "quote__commission", "sale__commission"),
        *("pour__line__commission", "topcoating__pour__line__commission"),
        "piece_set__line__commission",
    ),
}


@dataclass(frozen=True)
class Concern:
    """One thing that speaks against an act: a word for programs, and a sentence."""

    code: str
    sentence: str


class About(TypedDict, total=False):
    """What an act is about; each is shown on its page."""

    commission: Commission
    line: CommissionLine
    quote: Quote
    product: Product
    pour: Pour
    topcoating: Topcoating
    piece_set: PieceSet
    sale: Sale
    consignment: Consignment


def ask(
    act: str,
    concerns: Collection[Concern],
    reason: str,
    *,
    studio: Studio,
    by: User | None,
    **about: Unpack[About],
) -> GoneOn | None:
    """Let an act go on: at once where nothing speaks against it, else with a written reason.

    Called last in the transaction of the act, so that whatever makes it impossible is told first
    and nothing of it stays when no reason is given. The reason is kept with what was said.

    Raises `ReasonNeeded` with the sentences where something speaks against it and ``reason`` is
    empty.
    """
    if not concerns:
        return None
    sentences = [one.sentence for one in concerns]
    if not reason.strip():
        raise ReasonNeeded(sentences)
    return GoneOn.objects.create(
        studio=studio, act=act, said="\n".join(sentences), reason=reason.strip(), by=by, **about
    )


def gone_on_of(thing: Any) -> QuerySet[GoneOn]:
    """Return what went on before its time with a thing or what belongs to it, newest first."""
    # One way after the other, since each has an index and all at once would read every row.
    first, *more = (
        GoneOn.objects.filter(**{path: thing}).order_by().values("pk")
        for path in TOLD_ON[type(thing)]
    )
    return GoneOn.objects.filter(pk__in=first.union(*more)).select_related("by")
