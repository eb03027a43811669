"""Pieces to judge, from the day their paint should be dry or their topcoat hard."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Exists, OuterRef, Prefetch, Q, QuerySet
from django.urls import reverse
from django.utils import timezone

from inventory.buying.alerts import Kind, WorkAlert
from pricing.bench.judging import COATED, DRY
from pricing.estimating.learning import Hand
from pricing.models import FinishedPiece, Judgement, Pour, SaleLine, Topcoating
from pricing.readiness.standing import standing_of
from studio.models import Studio

# What nobody judged for so long is asked for no more: common practice, no source.
ASKED_FOR = timedelta(days=60)
# So many pours stand on the list.
MOST = 20
TO_JUDGE = Kind("To judge", "info")


@dataclass(frozen=True)
class Judging:
    """Pieces of one pour to judge at a stage, from the day they can be."""

    pour: Pour
    stage: str
    count: int
    from_on: date

    @property
    def what(self) -> str:
        """What is judged of them."""
        return "with the topcoat" if self.stage == COATED else "the paint"


def judgings(studio: Studio, day: date, hand: Hand | None = None) -> list[Judging]:
    """Return what can be judged by a day, the latest poured first, at most `MOST` pours.

    Pieces that are sold, lost or failed are left out, and so are pours of long ago. A fixed number
    of queries.
    """
    pours = list(_recent(studio))
    standing = standing_of(pours, hand)
    found = []
    for pour in pours:
        there: list[FinishedPiece] = vars(pour)["there"]
        coats: list[Topcoating] = vars(pour)["standing_coats"]
        coat = max(coats, key=lambda one: (one.coated_at, one.pk), default=None)
        stage = COATED if coat else DRY
        count = sum(
            not any(one.stage == stage and one.coat_id == (coat and coat.pk) for one in judged)
            for judged in (piece.judgements.all() for piece in there)
        )
        from_on = standing[pour].handle_on or standing[pour].touch_dry_on
        if count and from_on <= day:
            found.append(Judging(pour, stage, count, from_on))
    return found[:MOST]


def judging_alerts(studio: Studio) -> Iterable[WorkAlert]:
    """Yield one alert for all that waits to be judged, or none."""
    waiting = judgings(studio, studio.today())
    if waiting:
        count = sum(one.count for one in waiting)
        yield WorkAlert(
            title=f"{count} piece{'s' if count > 1 else ''} to judge",
            url=reverse("work"),
            sentence="They should be dry: say how they came out. Until then they count as good.",
            looks=TO_JUDGE,
        )


def _recent(studio: Studio) -> QuerySet[Pour]:
    sold = SaleLine.objects.filter(piece_set=OuterRef("piece_set"), is_live=True)
    there = FinishedPiece.objects.filter(
        Q(piece_set=None) | Q(piece_set__written_off_at=None),
        ~Exists(sold),
        studio=studio,
        state=FinishedPiece.State.GOOD,
    )
    coats = Topcoating.objects.standing().filter(studio=studio).select_related("kit")
    since = timezone.now() - ASKED_FOR
    recent = Q(poured_at__gte=since) | Exists(
        coats.filter(pour=OuterRef("pk"), coated_at__gte=since)
    )
    pours = studio.pours.standing().filter(recent, Exists(there.filter(pour=OuterRef("pk"))))
    judged = Prefetch("judgements", Judgement.objects.order_by("pk"))
    return (
        pours.select_related("surface", "technique", "palette", "line__commission", "studio")
        .prefetch_related(
            "layers",
            Prefetch("pieces", there.prefetch_related(judged), to_attr="there"),
            Prefetch("topcoatings", coats, to_attr="standing_coats"),
        )
        .order_by("-poured_at", "-pk")
    )
