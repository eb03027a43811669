"""The only writer of stock: every change of the ledger is one of these, one transaction each."""

from inventory.stock.ledger.amounts import Receipt, StockMove
from inventory.stock.ledger.decanting import Vessel, decant
from inventory.stock.ledger.posting import post, receive, use
from inventory.stock.ledger.reversing import reverse
from inventory.stock.ledger.settling import (
    contents,
    open_bottle,
    recount,
    send_back,
    waste,
    weigh_in,
)

__all__ = [
    "Receipt",
    "StockMove",
    "Vessel",
    "contents",
    "decant",
    "open_bottle",
    "post",
    "receive",
    "recount",
    "reverse",
    "send_back",
    "use",
    "waste",
    "weigh_in",
]
