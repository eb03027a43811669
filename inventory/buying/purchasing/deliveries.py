"""Deliveries: bottles on the shelf at landed cost, and what was learned of packs and prices."""

import zoneinfo
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime, time
from decimal import Decimal

from django.contrib.auth.models import User
from django.db import transaction

from inventory.buying.purchasing.learning import learned
from inventory.buying.purchasing.orders import Status, locked
from inventory.errors import BadAmount, NotInStudio, OrderRefused
from inventory.models import Delivery, Entry, Material, Movement, OrderLine, PurchaseOrder, Supplier
from inventory.stock import ledger as stock
from inventory.stock.costing import CostingError, DeliveryLine, landed
from inventory.stock.ledger import Receipt
from inventory.stock.locks import lock_materials
from inventory.validators import checked_price, checked_quantity, checked_value
from studio.errors import in_words
from studio.models import Studio
from studio.money import ZERO, MoneyError, minor_places
from studio.text import shortened

ONE = Decimal(1)
MOST_BOTTLES = 5_000


def shipping_to_come(order: PurchaseOrder) -> Decimal:
    """Return the shipping of an order as long as nobody says otherwise: with what comes first."""
    return ZERO if order.lines.filter(received_count__gt=0).exists() else order.shipping


@transaction.atomic
def receive_order(
    *,
    order: PurchaseOrder,
    by: User,
    counts: Mapping[OrderLine, int],
    received_on: date | None = None,
    prices: Mapping[OrderLine, Decimal] | None = None,
    freight: Decimal = ZERO,
    duty: Decimal = ZERO,
    discount: Decimal = ZERO,
    reference: str = "",
    currency: str | None = None,
    rate: Decimal = ONE,
) -> Delivery:
    """Receive an order, all of it or in part; returns the `Delivery`.

    ``counts`` is {line: packs that came} and ``prices`` {line: price of one pack}, where it is not
    the one on the order. Freight and duty less discount are shared by price; each pack becomes a
    bottle, and packs learn their price. Amounts are in ``currency``, of which one unit is worth
    ``rate`` in the studio's. Raises `OrderRefused` for more than is still to come.
    """
    studio = order.studio
    lock_materials(studio, order.lines.values_list("pack__material", flat=True))
    order = locked(order, (Status.DRAFT, Status.SENT, Status.PARTLY_RECEIVED))
    lines = {line.pk: line for line in order.lines.select_related("pack__material")}
    arrivals = _counts_that_came(lines, counts)
    invoice_prices = {line.pk: price for line, price in (prices or {}).items()}
    receipts = [
        stock.Receipt(
            material=line.pack.material,
            quantity=line.pack.size,
            value=invoice_prices.get(line.pk, line.unit_price),
            pack=line.pack,
        )
        for line, count in arrivals
        for _ in range(count)
    ]
    delivery = receive_delivery(
        studio=studio,
        by=by,
        supplier=order.supplier,
        receipts=receipts,
        received_on=received_on,
        freight=freight,
        duty=duty,
        discount=discount,
        reference=reference,
        currency=currency,
        rate=rate,
        order=order,
        bought={line.pack_id: line.count for line in lines.values()},
        purpose=str(order),
    )
    for line, count in arrivals:
        line.received_count += count
        line.save(update_fields=["received_count"])
    order.sent_on = order.sent_on or delivery.received_on
    _renew_status(order)
    return delivery


@transaction.atomic
def receive_delivery(
    *,
    studio: Studio,
    by: User,
    receipts: Iterable[Receipt],
    supplier: Supplier | None = None,
    received_on: date | None = None,
    freight: Decimal = ZERO,
    duty: Decimal = ZERO,
    discount: Decimal = ZERO,
    reference: str = "",
    currency: str | None = None,
    rate: Decimal = ONE,
    kind: str = Movement.Kind.RECEIPT,
    order: PurchaseOrder | None = None,
    bought: Mapping[int, int] | None = None,
    why: str = "",
    purpose: str = "",
) -> Delivery:
    """Receive bottles with or without an order; returns the `Delivery`.

    The ``value`` of each `stock.Receipt` is what the invoice asks for that pack; what it is worth
    on the shelf is that less its share of the discount, plus its share of freight and duty. Each
    becomes a bottle, and equal packs of whole items one lot. A
    supplier named here is remembered as selling such packs at such prices; ``bought`` is {pack key:
    packs ordered together}, where that is not what came.
    """
    receipts = list(receipts)
    if not 1 <= len(receipts) <= MOST_BOTTLES:
        raise BadAmount(f"A delivery brings from 1 to {MOST_BOTTLES:,} bottles.")
    if supplier is not None and supplier.studio_id != studio.pk:
        raise NotInStudio("There is no supplier like that in this studio.")
    currency = _checked_currency(studio, currency, rate)
    receipts = [_at_home(receipt, rate) for receipt in receipts]
    extras = {
        name: checked_price(extra)
        for name, extra in (("discount", discount), ("freight", freight), ("duty", duty))
    }
    receipts = _landed(receipts, {name: checked_value(x * rate) for name, x in extras.items()})
    today = studio.today()
    received_on = received_on or today
    lock_materials(studio, {receipt.material.pk for receipt in receipts})
    if supplier is not None and kind == Movement.Kind.RECEIPT:
        receipts = learned(
            studio=studio,
            supplier=supplier,
            receipts=receipts,
            received_on=received_on,
            bought=bought or {},
        )
    entry = stock.receive(
        studio=studio,
        by=by,
        receipts=_as_lots(receipts),
        kind=kind,
        delivery={
            "supplier": supplier,
            "order": order,
            "received_on": received_on,
            "reference": reference,
            "currency": currency,
            "rate": rate,
            **extras,
        },
        happened_at=None if received_on == today else _noon(studio, received_on),
        received_on=received_on,
        why=why,
        purpose=purpose or (shortened(f"Delivery from {supplier}", 80) if supplier else ""),
    )
    return entry.delivery


def _counts_that_came(
    lines: Mapping[int, OrderLine], counts: Mapping[OrderLine, int]
) -> list[tuple[OrderLine, int]]:
    arrivals: list[tuple[OrderLine, int]] = []
    for named, count in counts.items():
        line = lines.get(named.pk)
        if line is None:
            raise NotInStudio("There is no line like that on this order.")
        left = line.count - line.received_count
        if not 0 <= count <= left:
            raise OrderRefused(f"Of {line.pack.material}, {line.pack}, {left} are still to come.")
        if count:
            arrivals.append((line, count))
    if not arrivals:
        raise OrderRefused("Say how many of each came; at least one pack must have.")
    return arrivals


def _checked_currency(studio: Studio, currency: str | None, rate: Decimal) -> str:
    currency = currency or studio.currency
    with in_words(MoneyError):
        minor_places(currency)
    if not rate.is_finite() or not Decimal("0.00000001") <= rate < 1_000_000:
        raise BadAmount("An exchange rate is above zero: one unit of the invoice in your currency.")
    if currency == studio.currency and rate != 1:
        raise BadAmount(f"The invoice is in {currency}, the studio's own, so its rate is 1.")
    return currency


def _at_home(receipt: Receipt, rate: Decimal) -> Receipt:
    """Turn what the invoice asks for a bottle into the studio's currency; that is its price."""
    if receipt.value is None:
        raise BadAmount("A value is a plain number.")
    value = checked_value(checked_price(receipt.value) * rate)
    return replace(receipt, value=value, price=checked_price(value))


def _landed(receipts: Sequence[Receipt], extras: Mapping[str, Decimal]) -> list[Receipt]:
    """Give each bottle its landed cost."""
    lines = [
        DeliveryLine(checked_quantity(each.material, each.quantity), each.value or ZERO)
        for each in receipts
    ]
    with in_words(CostingError):
        values = landed(lines, **extras)
    return [replace(each, value=value) for each, value in zip(receipts, values, strict=True)]


def _as_lots(receipts: Iterable[Receipt]) -> list[Receipt]:
    """Put equal packs of whole items together, one lot of each: amount, value and price add up."""
    lots: dict[object, Receipt] = {}
    for place, each in enumerate(receipts):
        key: object = place
        if each.material.unit == Material.Unit.EACH and not each.code:
            facts = (each.material.pk, each.pack and each.pack.pk, each.quantity, each.price)
            key = (*facts, each.expires_on, each.place)
        lot = lots.get(key)
        if lot is None:
            lots[key] = each
            continue
        lots[key] = replace(
            lot,
            quantity=lot.quantity + each.quantity,
            value=(lot.value or ZERO) + (each.value or ZERO),
            price=(lot.price or ZERO) + (each.price or ZERO),
        )
    return list(lots.values())


def _noon(studio: Studio, day: date) -> datetime:
    """Return the middle of a day on the studio's wall clock."""
    return datetime.combine(day, time(12), zoneinfo.ZoneInfo(studio.time_zone))


def take_back(entry: Entry, by: User) -> None:
    """When a delivery is undone, what it brought is still to come of its order."""
    delivery = getattr(entry, "delivery", None)
    if delivery is None or delivery.order_id is None:
        return
    order = PurchaseOrder.objects.select_for_update().get(pk=delivery.order_id)
    came: Counter[int | None] = Counter()
    for bottle in delivery.bottles.select_related("pack", "material"):
        came[bottle.pack_id] += bottle.pack_count
    for line in order.lines.filter(pack__in=[key for key in came if key]):
        line.received_count = max(line.received_count - came[line.pack_id], 0)
        line.save(update_fields=["received_count"])
    _renew_status(order)


def _renew_status(order: PurchaseOrder) -> None:
    counts = list(order.lines.values_list("received_count", "count"))
    if all(received == ordered for received, ordered in counts):
        order.status = Status.RECEIVED
    elif any(received for received, _ in counts):
        order.status = Status.PARTLY_RECEIVED
    else:
        order.status = Status.SENT
    order.save(update_fields=["status", "sent_on"])
