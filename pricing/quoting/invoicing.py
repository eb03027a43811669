"""Invoices: issued from the accepted quote, numbered without gaps, taken back by a credit note."""

from datetime import timedelta
from decimal import Decimal

from django.contrib.auth.models import User
from django.db import transaction

from pricing.commissions.cautions import cautions
from pricing.commissions.owing import CommissionAccount, account
from pricing.costing.price import tax_inside
from pricing.errors import InvoiceRefused
from pricing.models import Commission, Invoice, Quote
from pricing.quoting.papers import quote_context
from studio.closing import booked_day, hold_months
from studio.money import minor_unit
from studio.numbering import next_number
from studio.text import one_line

LONGEST_WHY = 200
STUDIO = ("name", "address", "email", "phone", "tax_number", "currency", "locale")


@transaction.atomic
def issue_invoice(
    *, commission: Commission, by: User | None, due_days: int | None = None
) -> Invoice:
    """Issue the invoice of an accepted commission; returns it.

    It asks for what was agreed, less what was paid until then, and is frozen with all that stands
    on it. Raises `InvoiceRefused` where nothing was accepted and where an invoice stands already.
    """
    commission = _locked(commission)
    studio = commission.studio
    quote: Quote | None = commission.accepted_quote
    if quote is None:
        raise InvoiceRefused(f"{commission} has no accepted quote, so there is nothing to invoice.")
    standing = commission.invoices.filter(credits=None, credited_by=None).first()
    if standing is not None:
        raise InvoiceRefused(f"{standing} stands for {commission}. Credit it first to issue anew.")
    days = studio.invoice_days if due_days is None else due_days
    frozen, sums = _content(quote, account(commission))
    today = booked_day(hold_months(studio.pk), studio.today())
    invoice = Invoice(
        studio=studio,
        number=next_number(studio, "invoice"),
        commission=commission,
        issued_on=today,
        due_on=today + timedelta(days=days),
        currency=quote.currency,
        by=by,
        **sums,
    )
    return _frozen(invoice, frozen)


@transaction.atomic
def credit_invoice(*, invoice: Invoice, by: User | None, why: str) -> Invoice:
    """Take a whole invoice back by a credit note, which has a number of its own; returns it."""
    commission = _locked(invoice.commission)
    invoice = Invoice.objects.select_for_update().get(pk=invoice.pk)
    if invoice.credits_id or Invoice.objects.filter(credits=invoice).exists():
        raise InvoiceRefused(f"{invoice} is credited already, or is a credit note itself.")
    why = one_line(why)
    if not why:
        raise InvoiceRefused("Say why the invoice is taken back: it is printed on the credit note.")
    if len(why) > LONGEST_WHY:
        raise InvoiceRefused(f"That is too long; {LONGEST_WHY} characters are enough to say why.")
    studio = commission.studio
    today = booked_day(hold_months(studio.pk), studio.today())
    note = Invoice(
        studio=studio,
        number=next_number(studio, "invoice"),
        commission=commission,
        issued_on=today,
        due_on=today,
        currency=invoice.currency,
        net=-invoice.net,
        tax=-invoice.tax,
        gross=-invoice.gross,
        by=by,
        credits=invoice,
    )
    content = {name: value for name, value in invoice.frozen.items() if name != "paper"}
    return _frozen(note, content | {"credits": str(invoice), "why": why})


def _frozen(invoice: Invoice, frozen: dict[str, object]) -> Invoice:
    invoice.frozen = frozen | {
        "paper": {
            "label": str(invoice),
            "issued_on": invoice.issued_on.isoformat(),
            "due_on": invoice.due_on.isoformat(),
        }
    }
    invoice.save()
    return invoice


def _content(quote: Quote, now: CommissionAccount) -> tuple[dict[str, object], dict[str, Decimal]]:
    """Return what stands on an invoice as plain data, and its sums."""
    studio, commission = quote.studio, now.commission
    paper = quote_context(quote)
    rate, minor = paper["tax_rate"], minor_unit(quote.currency)
    changed = now.agreed - quote.gross
    changed_tax = tax_inside(abs(changed), rate, minor).copy_sign(changed)
    sums = {
        "net": quote.net + changed - changed_tax,
        "tax": quote.tax + changed_tax,
        "gross": now.agreed,
    }
    rows = [
        (f"{line['what']}, {line['finish']}", line["quantity"], line["unit_price"], line["amount"])
        for line in paper["lines"]
    ]
    with_tax = paper["tax_inclusive"]
    extra = (
        ("Up to our minimum charge", paper["supplement"]),
        ("Shipping", paper["shipping"]),
        ("Change of price at hand-over", changed if with_tax else changed - changed_tax),
    )
    rows += [(what, 1, amount, amount) for what, amount in extra if amount]
    payments = commission.payments.filter(reverses=None, reversed_by=None).order_by("number")
    return {
        "studio": {name: getattr(studio, name) for name in STUDIO} | {"currency": quote.currency},
        "how_to_pay": studio.how_to_pay,
        "customer": {
            name: getattr(commission.customer, name) for name in ("name", "address", "email")
        },
        "commission": {"number": commission.number, "title": commission.title},
        "quote": quote.label,
        "lines": [[what, quantity, str(each), str(sum_)] for what, quantity, each, sum_ in rows],
        "cautions": cautions(commission),
        "tax_rate": str(rate),
        "tax_inclusive": with_tax,
        "payments": [
            [one.paid_on.isoformat(), one.get_how_display(), str(one.amount)] for one in payments
        ],
        "paid": str(now.paid),
        "owed": str(now.owed),
    }, sums


def _locked(commission: Commission) -> Commission:
    Commission.objects.select_for_update().get(pk=commission.pk)
    return Commission.objects.select_related("studio", "customer").get(pk=commission.pk)
