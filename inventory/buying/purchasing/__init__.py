"""Buying: work out what to buy, order it, receive it."""

from inventory.buying.purchasing.arrivals import Arrival, receive_arrivals
from inventory.buying.purchasing.deliveries import (
    receive_delivery,
    receive_order,
    shipping_to_come,
)
from inventory.buying.purchasing.orders import (
    add_line,
    cancel_order,
    edit_line,
    goods_of,
    make_orders,
    order_by_hand,
    send_order,
)
from inventory.buying.purchasing.planning import plan

__all__ = [
    "Arrival",
    "add_line",
    "cancel_order",
    "edit_line",
    "goods_of",
    "make_orders",
    "order_by_hand",
    "plan",
    "receive_arrivals",
    "receive_delivery",
    "receive_order",
    "send_order",
    "shipping_to_come",
]
