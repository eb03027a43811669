"""How often quotes are accepted, and what the open ones may take from the shelf."""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db.models import Count, Exists, OuterRef, Q, QuerySet

from inventory.buying.possible import PossibleUse
from inventory.buying.reordering import share_from_record
from pricing.models import Quote
from studio.models import Studio

Status = Quote.Status


@dataclass(frozen=True)
class Acceptance:
    """How many commissions had their quotes settled, and how many of those accepted, [-]."""

    accepted: int
    settled: int

    @property
    def rate(self) -> float:
        """The chance that the next is accepted, [-]; see `share_from_record`."""
        return share_from_record(self.accepted, self.settled)

    @property
    def sentence(self) -> str:
        """The chance in words, with the record it rests on."""
        if not self.settled:
            return "No quote has been answered yet, so each open one counts as an even chance."
        were = "was" if self.accepted == 1 else "were"
        return (
            f"Of the quotes settled so far, {self.accepted} of {self.settled} {were} accepted. "
            "With half a quote added on either side, since a short record proves little, each open "
            f"one counts with {self.rate:.0%}."
        )


def open_quotes(studio: Studio) -> QuerySet[Quote]:
    """Return the quotes that the customer can still accept."""
    return studio.quotes.filter(status__in=Quote.OPEN, valid_until__gte=studio.today())


def acceptance(studio: Studio) -> Acceptance:
    """Return the studio's `Acceptance`, in one query.

    A commission counts once, however often it was quoted: as accepted when one of its quotes was,
    else as not accepted when one was declined or ran out and none is open.
    """
    quotes = Quote.objects.filter(commission=OuterRef("pk"))
    ran_out = Q(status=Status.EXPIRED) | Q(status__in=Quote.OPEN, valid_until__lt=studio.today())
    counts = studio.commissions.annotate(
        won=Exists(quotes.filter(status=Status.ACCEPTED)),
        lost=Exists(quotes.filter(Q(status=Status.DECLINED) | ran_out)),
        open=Exists(quotes.filter(status__in=Quote.OPEN, valid_until__gte=studio.today())),
    ).aggregate(
        accepted=Count("pk", filter=Q(won=True)),
        settled=Count("pk", filter=Q(won=True) | Q(lost=True, open=False)),
    )
    return Acceptance(**counts)


def possible_uses(studio: Studio) -> Iterator[PossibleUse]:
    """Yield what each open quote takes if it is accepted, by material, in two queries at most."""
    rows = (
        open_quotes(studio)
        .order_by("number", "version")
        .values_list(
            "number", "commission__title", "commission__due_on", "frozen__lines", named=True
        )
    )
    if not rows:
        return
    record = acceptance(studio)
    for row in rows:
        label = f"Quote {row.number} ({row.commission__title})"
        for material_id, quantity in _needs(row.frozen__lines).items():
            yield PossibleUse(
                material_id,
                quantity,
                record.rate,
                label,
                row.commission__due_on,
                record.sentence,
            )


def _needs(lines: Sequence[Mapping[str, Any]] | None) -> dict[int, Decimal]:
    needs: defaultdict[int, Decimal] = defaultdict(Decimal)
    for line in lines or ():
        for rows in line["needs"].values():
            for material_id, quantity in rows:
                needs[material_id] += Decimal(quantity)
    return needs
