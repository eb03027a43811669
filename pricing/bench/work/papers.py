"""The day's work as a paper to hang at the bench."""

from studio.pdf import paper, render_pdf


def work_pdf(studio, found):
    """Return a `WorkList` as the bytes of a PDF."""
    context = {"studio": studio, "paper": paper(studio.locale), "work": found}
    return render_pdf("pricing/bench/pdf/work.html", context)
