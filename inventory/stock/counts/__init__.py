"""Shelf counts: a walk along the shelf, bottle after bottle, and what the books had wrong."""

from inventory.stock.counts.checks import CHECKS
from inventory.stock.counts.lines import leave_out, put_back, record
from inventory.stock.counts.reading import missed, next_line, open_counts, progress
from inventory.stock.counts.report import CountReport, report
from inventory.stock.counts.sessions import cancel_count, finish_count, start_count

__all__ = [
    "CHECKS",
    "CountReport",
    "cancel_count",
    "finish_count",
    "leave_out",
    "missed",
    "next_line",
    "open_counts",
    "progress",
    "put_back",
    "record",
    "report",
    "start_count",
]
