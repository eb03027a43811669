"""A quote as papers: the customer's, without internal cost, and the owner's cost sheet.

Both are made from the frozen numbers alone, so that the same quote is the same bytes each time.
"""

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from types import SimpleNamespace
from typing import Any

from pricing.costing.breakdown import Breakdown, breakdown
from pricing.costing.price import CostLine, price_parts
from pricing.fitness import purpose
from pricing.models import Quote
from pricing.models.commission import name_of
from studio.pdf import paper, render_pdf


def quote_pdf(quote: Quote) -> bytes:
    """Return the customer's quote as the bytes of a PDF."""
    return render_pdf("pricing/quoting/pdf/quote.html", quote_context(quote))


def cost_sheet_pdf(quote: Quote) -> bytes:
    """Return how the price came about, for the owner, as the bytes of a PDF."""
    return render_pdf("pricing/quoting/pdf/cost_sheet.html", cost_sheet_context(quote))


def file_name(quote: Quote) -> str:
    """Return what a quote's file is called, such as “quote-12-version-2.pdf”."""
    return f"{quote.label}.pdf".lower().replace(",", "").replace(" ", "-")


def quote_context(quote: Quote) -> dict[str, Any]:
    """Return what the customer's paper shows, and nothing of what the work costs."""
    frozen = quote.frozen
    totals = _numbers(frozen["totals"])
    lines = [
        {
            **_words(line),
            "quantity": line["quantity"],
            "unit_price": Decimal(line["unit_price"]),
            "amount": Decimal(line["amount"]),
            "is_free": line.get("is_free", False),
        }
        for line in frozen["lines"]
    ]
    return {
        **_frame(frozen),
        "lines": lines,
        "supplement": totals["supplement"],
        "shipping": totals["shipping"],
        "net": totals["net"],
        "tax": totals["tax"],
        "gross": totals["gross"],
        "deposit": totals["deposit"],
        "balance": totals["gross"] - totals["deposit"],
        "tax_rate": Decimal(frozen["terms"]["tax_rate"]),
        "tax_inclusive": frozen["terms"]["tax_inclusive"],
        "cautions": frozen["cautions"],
        "words": frozen["words"],
    }


def cost_sheet_context(quote: Quote) -> dict[str, Any]:
    """Return every input and amount of a quote, for the owner's eyes."""
    frozen = quote.frozen
    asking = frozen.get("asking", {})
    asked_lines = asking.get("lines") or [{}] * len(frozen["lines"])
    return {
        **_frame(frozen),
        "settings": _numbers(frozen["settings"]),
        "terms": _numbers(frozen["terms"]),
        "channel": frozen["channel"],
        "prices": [_numbers(one) for one in frozen["prices"]],
        "lines": [
            _cost_line(line, asked)
            for line, asked in zip(frozen["lines"], asked_lines, strict=True)
        ],
        "asking": _numbers({key: asking[key] for key in ASKED if key in asking}),
        "markup": markup_of(frozen["totals"]),
        "asking_prices": [_numbers(one) for one in asking.get("prices", [])],
        "totals": _numbers(frozen["totals"]),
        "goes": _goes(frozen),
        "resting": {
            "unknown": asking.get("unknown", []),
            "left_out": asking.get("left_out", []),
            "share": Decimal(asking.get("unknown_share", 0)),
        },
        "guesses": list(dict.fromkeys(one["guess"] for one in frozen["lines"] if one.get("guess"))),
        "risk": _numbers(frozen.get("risk", {})),
        "advice": frozen["advice"],
    }


def _frame(frozen: Mapping[str, Any]) -> dict[str, Any]:
    studio = SimpleNamespace(**frozen["studio"], measures=frozen["settings"]["measures"])
    sent = frozen.get("paper", {})
    names = ("sent_on", "valid_until", "ready_by")
    days = {name: date.fromisoformat(sent[name]) for name in names if name in sent}
    due_on = frozen["commission"]["due_on"]
    return {
        "studio": studio,
        "paper": paper(studio.locale),
        "label": sent.get("label", "Draft quote"),
        "is_draft": not sent,
        **days,
        "customer": frozen["customer"],
        "commission": frozen["commission"],
        "due_on": date.fromisoformat(due_on) if due_on else None,
    }


def _words(line: Mapping[str, Any]) -> dict[str, str]:
    """Name a line in two parts: what it is, and how it is finished and what for."""
    each = line["pieces"] // line["quantity"]
    coated = any(layer["layer"] == "topcoat" for layer in line["layers"])
    own = purpose(line.get("use", ""))
    resin, made_for = ", resin topcoat" if coated else "", f", {own}" if own else ""
    called = name_of(each, is_test=line.get("is_test", False))
    return {
        "what": f"{called}: {line['surface']}" if called else line["surface"],
        "finish": f"{line['technique']}, {line['palette']}{resin}{made_for}",
    }


def _goes(frozen: Mapping[str, Any]) -> Breakdown:
    """Return what the price is made of, in full."""
    totals = _numbers(frozen["totals"])
    amounts = {name: totals[name] for name in ("net", "tax", "fees", "profit")}
    parts = price_parts(cost_lines(frozen), **amounts)
    return breakdown(parts, frozen["studio"]["currency"])


def cost_lines(frozen: Mapping[str, Any]) -> list[CostLine]:
    """Return what the work of a frozen quote was to cost, off the shelf."""
    return [
        CostLine(
            kind=one["kind"],
            label=one["label"],
            amount=Decimal(one["amount"]),
            cautious=Decimal(one["cautious"]),
            minutes=Decimal(one["minutes"]),
            made_of=tuple((name, Decimal(part)) for name, part in one.get("made_of", ())),
        )
        for line in frozen["lines"]
        for one in line["cost_lines"]
    ]


def markup_of(totals: Mapping[str, str]) -> Decimal:
    """Return the profit of a frozen quote as a share of what making and sending cost, [-]."""
    net, fees, profit = (Decimal(totals[name]) for name in ("net", "fees", "profit"))
    spent = net - fees - profit
    return profit / spent if spent else Decimal(0)


def _cost_line(line: Mapping[str, Any], asked: Mapping[str, Any]) -> dict[str, Any]:
    """Return a line with the cost that its price rests on; of old quotes, that of the shelf."""
    line = {**line, **asked}
    return {
        **_numbers(line),
        **_words(line),
        "layers": [_numbers(layer) for layer in line["layers"]],
        "cost_lines": [_numbers(one) for one in line["cost_lines"]],
        "unit": _numbers(line["unit"]),
        "unit_steps": [(what, Decimal(amount)) for what, amount in line["unit_steps"]],
    }


ASKED = ("cost", "profit", "margin", "markup")
TEXT = {"material", "unit", "source", "label", "kind", "description", "surface", "technique"}
TEXT |= {"palette", "name", "layer", "measure", "measures", "costing", "price_by", "guess", "use"}


def _numbers(frozen: Mapping[str, Any]) -> dict[str, Any]:
    """Read frozen decimals back; what is text stays text."""
    return {
        name: Decimal(value) if isinstance(value, str) and name not in TEXT else value
        for name, value in frozen.items()
    }
