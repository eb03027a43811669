"""The shelf under an act: its rows locked, changed in memory, written with each day's use."""

from inventory.stock.shelf.bottles import Shelf, local_day

__all__ = ["Shelf", "local_day"]
