"""Every list of the studio as a file, and the whole studio as one archive, out and in."""

from collections.abc import Iterator
from contextlib import AbstractContextManager
from decimal import Decimal
from typing import IO

from django.core.exceptions import ValidationError

from inventory.models import Material
from inventory.stock import books
from inventory.stock import exports as stock_room
from inventory.stock.shelf import day_uses
from pricing.bench.pictures import restored_picture
from pricing.costing.lists import LISTS as OWN_LISTS
from pricing.models import (
    Appraisal,
    Channel,
    Commission,
    CommissionEvent,
    CommissionLine,
    ConsignedSet,
    Consignment,
    Customer,
    DayOff,
    FinishedPiece,
    Invoice,
    LabourStep,
    Palette,
    PaletteColour,
    Payment,
    Picture,
    PieceSet,
    Pour,
    PourLayer,
    Product,
    Quote,
    QuoteLine,
    ResinKit,
    Sale,
    SaleLine,
    SavedSurface,
    StudioCalendar,
    Technique,
    Topcoating,
    WorkingHours,
)
from pricing.older_archives import older
from studio.models import NumberSeries, Studio
from studio.transfer import Part, archive_studio, restoring, sweep
from studio.transfer.filling import Filled
from studio.transfer.parts import Keys

LISTS = {listing.name: listing for listing in (*stock_room.LISTS, *OWN_LISTS)}


def _quote_of_new_keys(quote: Quote, keys: Keys) -> None:
    """Let the inputs that a quote was frozen with name lines and materials by their new keys."""
    totals = quote.frozen["totals"]
    for name in ("net", "tax", "gross", "deposit"):
        if Decimal(totals[name]) != getattr(quote, name):
            raise ValidationError(f"Its {name} is not the one that it was frozen with.")
    if quote.frozen["studio"]["currency"] != quote.currency:
        raise ValidationError("Its currency is not the one that it was frozen with.")
    if quote.number is not None and quote.valid_until is None:
        raise ValidationError("It was sent, and says nothing of the day until which it is valid.")
    lines, materials = keys[CommissionLine], keys[Material]
    for price in quote.frozen["prices"]:
        price["material_id"] = materials.get(str(price["material_id"]))
    for line in quote.frozen["lines"]:
        line["line_id"] = lines.get(str(line["line_id"]))
        line["needs"] = {
            stage: [[materials[str(old)], amount] for old, amount in needs if str(old) in materials]
            for stage, needs in line["needs"].items()
        }


def _parts() -> tuple[Part, ...]:
    """Return every table of a studio, each after what its rows name."""
    return (
        Part(NumberSeries, is_given=True, name="number-series"),
        *stock_room.PARTS,
        Part(StudioCalendar),
        Part(WorkingHours),
        Part(DayOff),
        Part(Customer),
        Part(Technique, is_given=True),
        Part(LabourStep, owner="technique__studio", is_given=True),
        Part(ResinKit),
        Part(SavedSurface),
        Part(Palette),
        Part(PaletteColour, owner="palette__studio"),
        Part(Product),
        Part(Channel, is_given=True),
        Part(Commission),
        Part(CommissionLine, owner="commission__studio"),
        Part(CommissionEvent, owner="commission__studio"),
        Part(Quote, adapt=_quote_of_new_keys),
        Part(QuoteLine, owner="quote__studio"),
        Part(Pour),
        Part(PourLayer, owner="pour__studio"),
        Part(Topcoating),
        Part(PieceSet),
        Part(FinishedPiece),
        Part(Appraisal),
        Part(Sale),
        Part(SaleLine, owner="sale__studio"),
        Part(Consignment),
        Part(ConsignedSet, owner="consignment__studio"),
        Part(Payment),
        Part(Invoice),
        Part(Picture, bytes_of="full", ending=".jpg", adapt=restored_picture),
    )


PARTS = _parts()


def export_studio(studio: Studio, stream: IO[bytes]) -> None:
    """Write all of a studio to a binary stream as one zip of tables."""
    archive_studio(studio, PARTS, stream)


def importing(studio: Studio, stream: IO[bytes]) -> AbstractContextManager[Filled]:
    """Give what `import_studio` brings in, to be handed over in a transaction of the caller's.

    See `studio.transfer.restoring`.
    """
    return restoring(studio, PARTS, stream, proof=_proof, older=older)


def sweep_imports() -> str:
    """Remove what an import that was killed has left; returns a sentence, if any."""
    count = sweep(PARTS)
    return f"Removed {count} half of an archive." if count else ""


def _proof(studio: Studio) -> Iterator[str]:
    day_uses.fill(studio)
    return (f"{finding.row}: {finding.sentence}" for finding in books.check(studio))
