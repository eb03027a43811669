"""The gate: an act that something speaks against goes on once a reason is written, and keeps it."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
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
from pricing.models.gone_on import MOST_REASON
from studio.models import Studio

Act = GoneOn.Act

# Which rows tell of a thing: those that name it, and those of what belongs to it.
TOLD_ON: dict[type[Any], tuple[str, ...]] = {
    CommissionLine: ("line", "piece_set__line"),
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


# What can be done about a concern, but for writing down why the act goes on.
WAIT = "wait"
CHANGE = "choose another use, topcoat or kit"  # of what is still to be made
SAY_USE = "choose another use"  # of what is made


@dataclass(frozen=True)
class Concern:
    """One thing that speaks against an act: a word for programs, a sentence, and what helps.

    ``of`` is what the sentence is said of, where several things may be asked about at once.
    """

    code: str
    sentence: str
    of: str = ""
    helps: str = WAIT

    @property
    def told(self) -> str:
        """The sentence with what it is said of."""
        return f"{self.of}: {self.sentence}" if self.of else self.sentence


def what_helps(concerns: Iterable[Concern]) -> str:
    """Say in a sentence what to do, or else to write down why the act goes on."""
    helps = " and ".join(dict.fromkeys(one.helps for one in concerns))
    return f"{helps.capitalize()}, or write down why it goes on."


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
    before: Iterable[Any] = (),
    **about: Unpack[About],
) -> GoneOn | None:
    """Let an act go on: at once where nothing speaks against it, else with a written reason.

    Called last in the transaction of the act, so that whatever makes it impossible is told first
    and nothing of it stays when no reason is given. The reason is kept with what was said.
    ``before`` are things of which the same may have been said, so that a reason that was written
    then is offered again, see `offered`.

    Raises `ReasonNeeded` with the sentences where something speaks against it and ``reason`` is
    empty.
    """
    if not concerns:
        return None
    sentences = [one.told for one in concerns]
    if not reason.strip():
        raise ReasonNeeded(sentences, what_helps(concerns), offered(concerns, before))
    return GoneOn.objects.create(
        studio=studio, act=act, said="\n".join(sentences), reason=reason.strip(), by=by, **about
    )


def offered(concerns: Iterable[Concern], before: Iterable[Any]) -> str:
    """Return the reason that was written when all of this was said of some things before.

    Where several reasons were written they stand one after the other. Empty where something was
    never said, or has no reason that fits into the field.
    """
    things = [one for one in before if one is not None and one.pk]
    rows = list(gone_on_of(*things)) if things else []
    found: dict[str, None] = {}
    for concern in concerns:
        row = _said_before(concern, rows)
        if row is None:
            return ""
        found[row.reason] = None
    together = " ".join(found)
    return together if len(together) <= MOST_REASON else ""


def _said_before(concern: Concern, rows: Sequence[GoneOn]) -> GoneOn | None:
    """Return the newest row in which something was said of the same, else of something else."""
    for row in rows:
        if concern.told in row.sentences:
            return row
    # A line and the set that is packed for it have two names.
    ends = (concern.sentence, f": {concern.sentence}")
    for row in rows:
        if any(one == ends[0] or one.endswith(ends[1]) for one in row.sentences):
            return row
    return None


def gone_on_of(*things: Any) -> QuerySet[GoneOn]:
    """Return what went on before its time with things or what belongs to them, newest first."""
    kinds: defaultdict[type[Any], list[Any]] = defaultdict(list)
    for thing in things:
        kinds[type(thing)].append(thing.pk)
    # One way after the other, since each has an index and all at once would read every row.
    first, *more = (
        GoneOn.objects.filter(**{f"{path}__in": keys}).order_by().values("pk")
        for kind, keys in kinds.items()
        for path in TOLD_ON[kind]
    )
    return GoneOn.objects.filter(pk__in=first.union(*more)).select_related("by")
