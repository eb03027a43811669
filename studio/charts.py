"""Numbers to SVG that may stand in a page under the strict policy and in a PDF alike."""

from decimal import Decimal

from django.utils.html import format_html

BAR_WIDTH, BAR_HEIGHT = 200, 14


def stock_bar(on_hand, held=0, reorder_point=0, full=None, label=""):
    """Draw how much of a shelf is free and promised, with a mark where reordering is due.

    Parameters
    ----------
    on_hand, held, reorder_point : Decimal
        Amounts in one unit, not negative, [mL, g or each]
    full : Decimal, optional
        What the whole bar stands for, [the same]; the largest of the three amounts when left out.
    label : str
        What is read out instead of the picture, [-]; a silent picture when empty.

    Returns
    -------
    svg : SafeString
        An inline SVG of classes ``ground``, ``free`` and ``held``, [-]
    """
    on_hand, held, mark = (max(Decimal(x or 0), Decimal(0)) for x in (on_hand, held, reorder_point))
    whole = max(Decimal(full or 0), on_hand, mark, held) or Decimal(1)
    promised = min(held, on_hand)
    x = {name: round(float(amount / whole) * BAR_WIDTH, 1) for name, amount in (
        ("free", on_hand - promised), ("promised", promised), ("mark", mark)
    )}
    named = format_html('role="img" aria-label="{}"', label) if label else 'aria-hidden="true"'
    tick = (
        format_html('<path d="M{} 0V14" stroke="currentColor" stroke-width="2"/>', x["mark"])
        if mark
        else ""
    )
    return format_html(
        '<svg class="stock-bar" viewBox="0 0 200 14" preserveAspectRatio="none" {}>'
        '<rect class="ground" y="2" width="200" height="10" rx="3"/>'
        '<rect class="free" y="2" width="{}" height="10" rx="3"/>'
        '<rect class="held" y="2" x="{}" width="{}" height="10" rx="3"/>{}</svg>',
        _safe(named), x["free"], x["free"], x["promised"], tick,
    )


def _safe(text):
    from django.utils.safestring import mark_safe

    return mark_safe(text)
