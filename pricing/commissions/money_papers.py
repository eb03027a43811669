"""Invoices, credit notes and receipts as papers, from what was recorded with them."""

from datetime import date
from decimal import Decimal
from types import SimpleNamespace

from pricing.commissions.cautions import cautions
from pricing.models import Invoice, Payment
from studio.pdf import paper, render_pdf


def invoice_pdf(invoice: Invoice) -> bytes:
    """Return an invoice or credit note as the bytes of a PDF, the same each time."""
    return render_pdf("pricing/commissions/pdf/invoice.html", invoice_context(invoice))


def receipt_pdf(payment: Payment) -> bytes:
    """Return the receipt of a payment as the bytes of a PDF."""
    return render_pdf("pricing/commissions/pdf/receipt.html", receipt_context(payment))


def file_name(paper_of: Invoice | Payment) -> str:
    """Return what the file of an invoice or receipt is called, such as “invoice-12.pdf”."""
    return f"{paper_of}.pdf".lower().replace(" ", "-")


def invoice_context(invoice: Invoice) -> dict[str, object]:
    """Return what stands on an invoice, read from what was frozen with it."""
    frozen = invoice.frozen
    sign = -1 if invoice.credits_id else 1
    studio = SimpleNamespace(**frozen["studio"])
    return {
        "studio": studio,
        "paper": paper(studio.locale),
        "label": frozen["paper"]["label"],
        "issued_on": date.fromisoformat(frozen["paper"]["issued_on"]),
        "due_on": date.fromisoformat(frozen["paper"]["due_on"]),
        "customer": frozen["customer"],
        "commission": frozen["commission"],
        "quote": frozen["quote"],
        "credits": frozen.get("credits", ""),
        "why": frozen.get("why", ""),
        "how_to_pay": frozen["how_to_pay"],
        "cautions": [] if invoice.credits_id else frozen.get("cautions", []),
        "lines": [
            (what, quantity, Decimal(each), sign * Decimal(amount))
            for what, quantity, each, amount in frozen["lines"]
        ],
        "net": invoice.net,
        "tax": invoice.tax,
        "gross": invoice.gross,
        "tax_rate": Decimal(frozen["tax_rate"]),
        "tax_inclusive": frozen["tax_inclusive"],
        "payments": [
            (date.fromisoformat(day), how, -Decimal(amount))
            for day, how, amount in frozen["payments"]
        ],
        "owed": Decimal(frozen["owed"]),
    }


def receipt_context(payment: Payment) -> dict[str, object]:
    """Return what stands on a receipt; the studio and the customer as they are now."""
    studio = payment.studio
    return {
        "studio": studio,
        "paper": paper(studio.locale),
        "payment": payment,
        "label": str(payment),
        "given_back": payment.amount < 0,
        "amount": abs(payment.amount),
        "owed": max(payment.owed_after, Decimal(0)),
        "commission": payment.commission,
        "customer": payment.commission.customer,
        "cautions": [] if payment.amount < 0 else cautions(payment.commission),
    }
