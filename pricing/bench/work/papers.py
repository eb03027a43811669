"""The day's work as a paper to hang at the bench."""

from pricing.bench.work.listing import WorkList
from studio.models import Studio
from studio.pdf import paper, render_pdf


def work_pdf(studio: Studio, day_work: WorkList) -> bytes:
    """Return a `WorkList` as the bytes of a PDF."""
    context = {"studio": studio, "paper": paper(studio.locale), "work": day_work}
    return render_pdf("pricing/bench/pdf/work.html", context)
