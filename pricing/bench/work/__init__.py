"""The day's work: what is poured together, and what follows each pour."""

from pricing.bench.work.finishing import Coating, Packing, WorkDelivery
from pricing.bench.work.listing import WorkList, work_list
from pricing.bench.work.pouring import (
    Fetch,
    MissingMaterial,
    Mix,
    Session,
    WorkJob,
    WorkLayer,
    pour_of_line,
    pour_of_plan,
)
from pricing.bench.work_shelf import Portion

__all__ = [
    "Coating",
    "Fetch",
    "MissingMaterial",
    "Mix",
    "Packing",
    "Portion",
    "Session",
    "WorkDelivery",
    "WorkJob",
    "WorkLayer",
    "WorkList",
    "pour_of_line",
    "pour_of_plan",
    "work_list",
]
