"""Orders: drafts from a plan, edited by a person, sent, called off."""

from collections.abc import Container, Mapping
from datetime import date, timedelta
from decimal import ROUND_CEILING, Decimal

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import F

from inventory.buying.purchasing import terms
from inventory.buying.purchasing.planning import StudioPlan
from inventory.errors import NotInStudio, OrderRefused
from inventory.models import OrderLine, Pack, PurchaseOrder, Supplier
from inventory.validators import checked_price
from studio.models import Studio
from studio.numbering import next_number
from studio.rows import refuse_strangers
from studio.text import shortened

MOST_PACKS = 10_000
ONE_DAY = timedelta(days=1)
Status = PurchaseOrder.Status


@transaction.atomic
def make_orders(*, studio: Studio, by: User, plan: StudioPlan) -> list[PurchaseOrder]:
    """Turn a plan into numbered draft orders, one a supplier; returns them.

    Raises `OrderRefused` when the plan buys nothing.
    """
    if not plan.orders:
        raise OrderRefused("Nothing needs buying now, so there is no order to make.")
    orders = []
    for part in plan.orders:
        order = PurchaseOrder.objects.create(
            studio=studio,
            supplier=part.supplier,
            number=next_number(studio, "order"),
            created_by=by,
            shipping=part.shipping,
        )
        OrderLine.objects.bulk_create(
            OrderLine(
                order=order,
                pack=line.pack,
                count=line.count,
                unit_price=line.unit_price,
                why=shortened(line.why, 300),
                needed_by=line.needed_by,
            )
            for line in part.lines
        )
        orders.append(order)
    return orders


@transaction.atomic
def order_by_hand(
    *,
    studio: Studio,
    by: User,
    supplier: Supplier,
    packs: Mapping[Pack, int],
    prices: Mapping[Pack, Decimal] | None = None,
    notes: str = "",
) -> PurchaseOrder:
    """Draft an order of {pack: how many} of one supplier; returns it, numbered.

    ``prices`` is {pack: price of each}, where it is not the supplier's for so many. Raises
    `OrderRefused` for an order of nothing, and as `add_line`.
    """
    refuse_strangers(studio, supplier)
    if not packs:
        raise OrderRefused("Say how many of what to order: at least one pack.")
    order = PurchaseOrder.objects.create(
        studio=studio,
        supplier=supplier,
        number=next_number(studio, "order"),
        created_by=by,
        notes=notes,
    )
    for pack, count in packs.items():
        add_line(order=order, pack=pack, count=count, unit_price=(prices or {}).get(pack))
    order.refresh_from_db(fields=["shipping"])
    return order


@transaction.atomic
def add_line(
    *,
    order: PurchaseOrder,
    pack: Pack,
    count: int,
    unit_price: Decimal | None = None,
    why: str = "Added by hand",
) -> OrderLine:
    """Put a pack on a draft order, or more of one that is on it; returns the line."""
    order = locked(order, (Status.DRAFT,))
    if (pack.studio_id, pack.supplier_id) != (order.studio_id, order.supplier_id):
        raise NotInStudio(f"{order.supplier} sells no pack like that.")
    if not pack.is_on_offer:
        raise OrderRefused(
            f"{pack.material}, {pack}, is marked as not sold now by {order.supplier}. Mark it as "
            "sold again, or add another pack."
        )
    line = order.lines.filter(pack=pack).first() or OrderLine(order=order, pack=pack, count=0)
    line.count = _checked_count(line.count + count)
    line.unit_price = _price(pack, line.count, unit_price)
    line.why = line.why or why
    line.save()
    _renew_shipping(order)
    return line


@transaction.atomic
def edit_line(
    *, line: OrderLine, count: int, unit_price: Decimal | None = None
) -> OrderLine | None:
    """Change a line of a draft order; none takes it out. Returns the line, or None.

    Without a price of its own, a pack costs what the supplier asks when so many are bought.
    """
    order = locked(line.order, (Status.DRAFT,))
    line = order.lines.select_related("pack").get(pk=line.pk)
    if not count:
        line.delete()
        _renew_shipping(order)
        return None
    line.count = _checked_count(count)
    line.unit_price = _price(line.pack, line.count, unit_price)
    line.save(update_fields=["count", "unit_price"])
    _renew_shipping(order)
    return line


@transaction.atomic
def send_order(
    *, order: PurchaseOrder, by: User | None = None, sent_on: date | None = None
) -> PurchaseOrder:
    """Mark a draft as sent: from now on it counts as on order. Returns the order.

    Raises `OrderRefused` for an empty order or one below the supplier's least order.
    """
    order = locked(order, (Status.DRAFT,))
    goods, supplier = goods_of(order), order.supplier
    if not order.lines.exists():
        raise OrderRefused(f"{order} has no lines. Put something on it, or cancel it.")
    if goods < supplier.minimum_order:
        # Without the amounts, as not every maker may know them: both stand on their own pages.
        raise OrderRefused(
            f"{order} is below the least order that {supplier} takes. Add to it, or cancel it."
        )
    order.status = Status.SENT
    order.sent_on = sent_on or order.studio.today()
    days = int(supplier.lead_days.to_integral_value(ROUND_CEILING))
    order.expected_on = order.sent_on + days * ONE_DAY
    order.save(update_fields=["status", "sent_on", "expected_on"])
    return order


@transaction.atomic
def cancel_order(*, order: PurchaseOrder, by: User | None = None) -> PurchaseOrder:
    """Call an order off; of one that came in part, call off the rest. Returns the order."""
    order = locked(order, (Status.DRAFT, Status.SENT, Status.PARTLY_RECEIVED))
    if order.status == Status.PARTLY_RECEIVED:
        order.lines.filter(received_count=0).delete()
        order.lines.update(count=F("received_count"))
        order.status = Status.RECEIVED
    else:
        order.status = Status.CANCELLED
    order.save(update_fields=["status"])
    return order


def goods_of(order: PurchaseOrder) -> Decimal:
    """Return what the lines of an order come to, [currency]."""
    return PurchaseOrder.objects.with_totals().get(pk=order.pk).goods


def locked(order: PurchaseOrder, statuses: Container[str]) -> PurchaseOrder:
    """Lock an order and return it as it is now; refuse it when it is at another point."""
    rows = PurchaseOrder.objects.select_for_update(of=("self",)).select_related(
        "supplier", "studio"
    )
    order = rows.get(pk=order.pk)
    if order.status not in statuses:
        raise OrderRefused(
            f"{order} is {order.get_status_display().lower()}, so it stays as it is."
        )
    return order


def _renew_shipping(order: PurchaseOrder) -> None:
    order.shipping = terms.shipping(order.supplier, goods_of(order))
    order.save(update_fields=["shipping"])


def _price(pack: Pack, count: int, price: Decimal | None) -> Decimal:
    """Return the price of one pack: the one asked for, or the supplier's for so many."""
    return checked_price(terms.unit_price(pack, count) if price is None else price)


def _checked_count(count: int) -> int:
    if not 1 <= count <= MOST_PACKS:
        raise OrderRefused(f"Order from 1 to {MOST_PACKS:,} of a pack.")
    return count
