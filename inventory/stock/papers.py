"""Shelf counts on paper."""

import zoneinfo

from django.utils import timezone

from inventory.stock.counts.report import CountReport
from studio.pdf import paper, render_pdf


def count_report(found: CountReport) -> bytes:
    """Return what a shelf count found, a `CountReport`, as the bytes of a PDF."""
    studio = found.count.studio
    context = {"studio": studio, "paper": paper(studio.locale), "report": found}
    with timezone.override(zoneinfo.ZoneInfo(studio.time_zone)):
        return render_pdf("inventory/stock/pdf/count_report.html", context)
