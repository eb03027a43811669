"""The day's work: what is poured together, and what follows each pour."""

from pricing.bench.work.finishing import Coating, Delivery, Packing
from pricing.bench.work.listing import WorkList, work_list
from pricing.bench.work.pouring import (
    Fetch,
    Job,
    Layer,
    Mix,
    Session,
    Short,
    pour_of_line,
    pour_of_plan,
)
from pricing.bench.work_shelf import Taken

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
    "pour_of_line",
    "pour_of_plan",
    "work_list",
]
