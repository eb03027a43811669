"""The day's work: what is poured together, and what follows each pour."""

from pricing.work.finishing import Coating, Delivery, Packing
from pricing.work.listing import WorkList, work_list
from pricing.work.pouring import Fetch, Job, Layer, Mix, Session, Short
from pricing.work.shelf import Taken

__all__ = [
    "Coating",
    "Delivery",
    "Fetch",
    "Job",
    "Layer",
    "Mix",
    "Packing",
    "Session",
    "Short",
    "Taken",
    "WorkList",
    "work_list",
]
