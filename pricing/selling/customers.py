"""Customers: all that was between one and the studio, the newest first, and what is owed."""

from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.db.models import Q, QuerySet
from django.utils import timezone

from pricing.commissions.owing import accounts
from pricing.models import Commission, Customer, Payment, Picture, Quote, Sale, SaleLine
from studio.models import Membership
from studio.money import Sum, by_currency
from studio.sight import PRICES, Sight

FEW_PICTURES = 12


@dataclass(frozen=True)
class Happening:
    """One thing that was between a customer and the studio, on its day."""

    day: date
    kind: str
    row: Commission | Quote | Payment | Sale


@dataclass(frozen=True)
class _Kind:
    """Where rows of a kind are found, by which day or moment they count, and who sees them."""

    name: str
    when: str
    rows: Callable[[Customer], QuerySet[Any]]
    sights: tuple[Sight, ...] = ()


# What follows from another on the same day stands after it.
KINDS = (
    _Kind("commission", "created_at", lambda one: one.commissions.select_related("customer")),
    _Kind(
        "quote",
        "sent_at",
        lambda one: (
            Quote.objects.filter(commission__customer=one, sent_at__isnull=False)
            .select_related("commission")
            .defer("frozen")
        ),
    ),
    _Kind(
        "sale",
        "sold_on",
        lambda one: (
            Sale.objects.filter(_bought_by(one))
            .select_related("commission", "channel", "studio")
            .with_lines()
        ),
        (PRICES,),
    ),
    _Kind(
        "payment",
        "paid_on",
        lambda one: Payment.objects.filter(commission__customer=one).select_related(
            "commission", "studio", "reversed_by"
        ),
        (PRICES,),
    ),
)


class History:
    """All that was between a customer and the studio, as far as a member sees it.

    It is cut like a list, so that a page of it costs a fixed number of queries and reads no more
    of each kind than the page and those before it hold.
    """

    def __init__(self, customer: Customer, membership: Membership) -> None:
        seen = [kind for kind in KINDS if all(map(membership.sees, kind.sights))]
        self.kinds = {place: (kind, kind.rows(customer)) for place, kind in enumerate(seen)}

    def count(self) -> int:
        """Return how much there is."""
        return sum(rows.count() for _, rows in self.kinds.values())

    def __len__(self) -> int:
        return self.count()

    def __getitem__(self, part: slice) -> list[Happening]:
        keys = sorted(self._keys(part.stop), reverse=True)[part]
        wanted = defaultdict(list)
        for _, place, _, pk in keys:
            wanted[place].append(pk)
        found = {place: self.kinds[place][1].in_bulk(pks) for place, pks in wanted.items()}
        return [
            Happening(day, self.kinds[place][0].name, found[place][pk])
            for day, place, _, pk in keys
        ]

    def _keys(self, most: int) -> Iterable[tuple[date, int, date | datetime, int]]:
        for place, (kind, rows) in self.kinds.items():
            newest = rows.order_by(f"-{kind.when}", "-pk").values_list(kind.when, "pk")[:most]
            for when, pk in newest:
                yield _day(when), place, when, pk


def _day(when: date | datetime) -> date:
    return timezone.localdate(when) if isinstance(when, datetime) else when


def _bought_by(customer: Customer) -> Q:
    """Sales to a customer, with or without a commission."""
    return Q(customer=customer) | Q(customer=None, commission__customer=customer)


@dataclass(frozen=True)
class CustomerSums:
    """What a customer agreed to for commissions, has paid and owes, by currency, tax included."""

    agreed: list[Sum]
    paid: list[Sum]
    owed: list[Sum]


def sums_of(customer: Customer) -> CustomerSums:
    """Return the `CustomerSums` of a customer, in five queries."""
    studio = customer.studio
    rows = accounts(studio, list(customer.commissions.select_related("customer")))

    def add(of: Callable[[Any], Any]) -> list[Sum]:
        return by_currency(((one.currency, of(one)) for one in rows), studio.locale)

    return CustomerSums(
        agreed=add(lambda one: one.agreed),
        paid=add(lambda one: one.paid),
        owed=add(lambda one: one.owed),
    )


def bought_count(customer: Customer) -> int:
    """Return how many sets a customer has bought and kept."""
    sales = Sale.objects.filter(_bought_by(customer))
    return SaleLine.objects.filter(sale__in=sales, is_live=True).count()


def pictures_for(customer: Customer) -> list[Picture]:
    """Return the latest pictures of a customer's commissions and of the sets they bought."""
    of_sets = Q(piece_set__line__commission__customer=customer)
    of_sets |= Q(piece_set__sale_lines__sale__customer=customer)
    rows = Picture.objects.filter(Q(commission__customer=customer) | of_sets).distinct()
    rows = rows.select_related("commission", "piece_set").order_by("-added_at", "-pk")
    return list(rows[:FEW_PICTURES])
