"""Papers for a shop, without costs: the note both sides sign, and what it has to pass on."""

from datetime import date

from pricing.models import ConsignedSet, Consignment
from pricing.readiness.fitting import words_of_sets
from pricing.selling.consigning import account
from studio.money import to_payable
from studio.pdf import paper, render_pdf

Outcome = ConsignedSet.Outcome


def note_pdf(consignment: Consignment) -> bytes:
    """Return the consignment note as the bytes of a PDF, to be signed at the shop."""
    return render_pdf("pricing/selling/pdf/consignment_note.html", note_context(consignment))


def statement_pdf(consignment: Consignment, day: date) -> bytes:
    """Return the settlement statement of a day as the bytes of a PDF."""
    return render_pdf(
        "pricing/selling/pdf/consignment_statement.html", statement_context(consignment, day)
    )


def note_context(consignment: Consignment) -> dict[str, object]:
    """Return what stands on the note: each set, its price, and the shop's share of it."""
    currency = consignment.currency
    lines = []
    for line in consignment.lines.all():
        share = to_payable(line.asked * consignment.share, currency)
        lines.append((line, share, line.asked - share))
    return {
        **_frame(consignment),
        "care": words_of_sets(line.piece_set for line, _, _ in lines),
        "lines": lines,
        "asked": sum(line.asked for line, _, _ in lines),
        "kept": sum(share for _, share, _ in lines),
        "passed_on": sum(rest for _, _, rest in lines),
    }


def statement_context(consignment: Consignment, day: date) -> dict[str, object]:
    """Return what was sold and what the shop passes on, what came back, is lost, is still there."""
    lines = list(consignment.lines.all())
    standing = [line for line in lines if line.sale_line and line.sale_line.is_live]
    given_back = [line for line in lines if line.sale_line and not line.sale_line.is_live]
    return {
        **_frame(consignment),
        "day": day,
        "care": words_of_sets(line.piece_set for line in lines),
        "sold": standing,
        "account": account(consignment, day),
        "others": [
            (title, rows)
            for title, rows in (
                ("Sold and refunded", given_back),
                ("Came back", [one for one in lines if one.outcome == Outcome.RETURNED]),
                ("Lost or broken", [one for one in lines if one.outcome == Outcome.LOST]),
                ("Still at the shop", [one for one in lines if one.outcome == Outcome.OUT]),
            )
            if rows
        ],
    }


def file_name(consignment: Consignment, kind: str) -> str:
    """Return what such a paper's file is called, such as “consignment-3-note.pdf”."""
    return f"consignment-{consignment.number}-{kind}.pdf"


def _frame(consignment: Consignment) -> dict[str, object]:
    studio = consignment.studio
    return {"studio": studio, "paper": paper(studio.locale), "consignment": consignment}
