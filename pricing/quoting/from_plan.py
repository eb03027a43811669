"""A plan made a commission: who asks for it, its pieces and, if wanted, its price, in one act."""

from datetime import date

from django.contrib.auth.models import User
from django.db import transaction

from pricing.commissions.orders import LineChanges, add_line, open_commission
from pricing.costing.planned_price import as_sold
from pricing.estimating.fitting import doubts_on
from pricing.models import Commission, Customer, Quote, ResinKit, SavedSurface
from pricing.models.use import Use
from pricing.quoting.quotes import draft_quote
from studio.models import Studio


@transaction.atomic
def open_planned(
    *,
    studio: Studio,
    by: User | None,
    customer: Customer,
    pieces: LineChanges,
    title: str,
    due_on: date | None = None,
    notes: str = "",
    is_priced: bool = False,
) -> tuple[Commission, Quote | None]:
    """Open a commission with one line; with ``is_priced`` a quote on the studio's terms is drafted.

    As many pieces as the studio sells together are a set, packed as it packs them.
    Raises what `open_commission`, `add_line` and `draft_quote` raise; then nothing of it is there.
    """
    commission = open_commission(
        studio=studio, by=by, customer=customer, title=title, due_on=due_on, notes=notes
    )
    if sold := as_sold(studio, {"kept": pieces["surface"], "count": pieces["quantity"], **pieces}):
        pieces = {
            **pieces,
            "quantity": pieces["quantity"] // sold.pieces_each,
            "pieces_each": sold.pieces_each,
            "packaging": sold.packaging,
        }
    add_line(commission=commission, by=by, **pieces)
    return commission, draft_quote(commission=commission, by=by) if is_priced else None


def only_use(size: SavedSurface, kit: ResinKit | None) -> str:
    """Return what a planned piece is for where it is fit for nothing else; empty where it is."""
    can_be_more = not doubts_on(size, "", kit)
    return "" if can_be_more or doubts_on(size, Use.LOOK, kit) else Use.LOOK
