"""Buying: work out what to buy, order it, receive it."""

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
    send_order,
)
from inventory.buying.purchasing.planning import plan

__all__ = [
    "add_line",
    "cancel_order",
    "edit_line",
    "goods_of",
    "make_orders",
    "plan",
    "receive_delivery",
    "receive_order",
    "send_order",
    "shipping_to_come",
]
