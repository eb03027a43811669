"""Shelf counts on paper."""

import zoneinfo
from collections.abc import Mapping

from django.utils import timezone

from inventory.stock.counts.report import CountReport
from studio.pdf import paper, render_pdf


def count_report(report: CountReport, sees: Mapping[str, bool]) -> bytes:
    """Return what a shelf count found as the bytes of a PDF; ``sees`` is what its reader sees."""
    studio = report.count.studio
    context = {"studio": studio, "paper": paper(studio.locale), "report": report, "sees": sees}
    with timezone.override(zoneinfo.ZoneInfo(studio.time_zone)):
        return render_pdf("inventory/stock/pdf/count_report.html", context)
