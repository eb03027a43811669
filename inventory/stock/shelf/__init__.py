"""The shelf under an act: its rows locked, changed in memory, written with each day's use."""

from inventory.stock.shelf.bottles import Shelf, local_day
from inventory.stock.shelf.costs import COMES_IN, cost_of

__all__ = ["COMES_IN", "Shelf", "cost_of", "local_day"]
