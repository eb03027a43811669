"""Every list of the studio as a file, and the whole studio as one archive, out and in."""

from collections.abc import Iterator
from contextlib import contextmanager
from decimal import Decimal
from typing import IO

from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.core.files import File
from django.urls import reverse

from inventory.buying.replacing import renew
from inventory.models import Material
from inventory.stock import books
from inventory.stock import exports as stock_room
from inventory.stock.holds import find_all
from inventory.stock.shelf import day_uses, month_ends
from pricing.bench.frozen_pours import layer_of_new_keys
from pricing.bench.judged_before import judge_as_logged
from pricing.bench.pictures import restored_picture
from pricing.costing.lists import LISTS as OWN_LISTS
from pricing.costing.on_hand_before import note_all
from pricing.costing.register_lists import LISTS as REGISTERS
from pricing.estimating.remembering import learn
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
    FinishedChange,
    FinishedPiece,
    GoneOn,
    Invoice,
    Judgement,
    LabourStep,
    PairedTest,
    Palette,
    PaletteColour,
    Payment,
    Picture,
    PieceSet,
    Posting,
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
    TileAnswer,
    Topcoating,
    UseChange,
    Weighing,
    WorkingHours,
)
from pricing.older_archives import older
from pricing.selling.booking import book_all
from studio import background, jobs
from studio.background import Outcome, Work
from studio.models import BackgroundTask, Closing, NumberSeries, Studio
from studio.transfer import ArchivePart, archive_studio, restoring, sweep
from studio.transfer.filling import Filled
from studio.transfer.parts import Keys

LISTS = {listing.name: listing for listing in (*stock_room.LISTS, *REGISTERS, *OWN_LISTS)}


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
    asking = quote.frozen.get("asking", {"prices": []})
    for price in (*quote.frozen["prices"], *asking["prices"]):
        price["material_id"] = materials.get(str(price["material_id"]))
    for line in quote.frozen["lines"]:
        line["line_id"] = lines.get(str(line["line_id"]))
        line["needs"] = {
            stage: [[materials[str(old)], amount] for old, amount in needs if str(old) in materials]
            for stage, needs in line["needs"].items()
        }


def _parts() -> tuple[ArchivePart, ...]:
    """Return every table of a studio, each after what its rows name."""
    return (
        ArchivePart(NumberSeries, is_given=True, name="number-series"),
        ArchivePart(Closing),
        *stock_room.PARTS,
        ArchivePart(StudioCalendar),
        ArchivePart(WorkingHours),
        ArchivePart(DayOff),
        ArchivePart(Customer),
        ArchivePart(Technique, is_given=True),
        ArchivePart(LabourStep, owner="technique__studio", is_given=True),
        ArchivePart(ResinKit),
        ArchivePart(SavedSurface),
        ArchivePart(Palette),
        ArchivePart(PaletteColour, owner="palette__studio"),
        ArchivePart(Product),
        ArchivePart(Channel, is_given=True),
        ArchivePart(Commission),
        ArchivePart(CommissionLine, owner="commission__studio"),
        ArchivePart(CommissionEvent, owner="commission__studio"),
        ArchivePart(Quote, adapt=_quote_of_new_keys),
        ArchivePart(QuoteLine, owner="quote__studio"),
        ArchivePart(Pour),
        ArchivePart(PourLayer, owner="pour__studio", adapt=layer_of_new_keys),
        ArchivePart(Topcoating),
        ArchivePart(PieceSet),
        ArchivePart(FinishedPiece),
        ArchivePart(Judgement, owner="piece__studio"),
        ArchivePart(UseChange, owner="piece_set__studio"),
        ArchivePart(Weighing),
        ArchivePart(PairedTest),
        ArchivePart(TileAnswer),
        ArchivePart(Appraisal),
        ArchivePart(Sale),
        ArchivePart(SaleLine, owner="sale__studio"),
        ArchivePart(Consignment),
        ArchivePart(ConsignedSet, owner="consignment__studio"),
        ArchivePart(GoneOn),
        ArchivePart(Posting),
        ArchivePart(FinishedChange),
        ArchivePart(Payment),
        ArchivePart(Invoice),
        ArchivePart(Picture, bytes_of="full", ending=".jpg", adapt=restored_picture),
    )


PARTS = _parts()


def export_studio(studio: Studio, stream: IO[bytes]) -> None:
    """Write all of a studio to a binary stream as one zip of tables."""
    archive_studio(studio, PARTS, stream)


@contextmanager
def importing(studio: Studio, stream: IO[bytes]) -> Iterator[Filled]:
    """Give what `import_studio` brings in, to be handed over in a transaction of the caller's.

    What materials cost to replace, and what its pours teach, is worked out once it is there. See
    `studio.transfer.restoring`.
    """
    with restoring(studio, PARTS, stream, proof=_proof, older=older) as filled:
        yield filled
    jobs.enqueue(renew, studio.pk)
    jobs.enqueue(learn, studio.pk)


def bring_in_later(*, studio: Studio, by: User, archive: File[bytes]) -> BackgroundTask:
    """Have an archive brought into an empty studio by the worker, as `importing` does."""
    return background.ask(
        studio=studio, by=by, kind="archive", title="Bringing in a whole studio", sent=archive
    )


@contextmanager
def _prepared(task: BackgroundTask) -> Iterator[Filled]:
    with task.sent.open("rb") as sent, importing(task.studio, sent) as filled:
        yield filled


def _hand_over(task: BackgroundTask, filled: Filled) -> Outcome:
    count = filled.hand_over()
    return Outcome(f"The studio is here: {count:,} rows.", reverse("in-and-out"))


ARCHIVE_WORK = Work(prepare=_prepared, act=_hand_over)


def sweep_imports() -> str:
    """Remove what an import that was killed has left; returns a sentence, if any."""
    count = sweep(PARTS)
    return f"Removed {count} half of an archive." if count else ""


def _proof(studio: Studio) -> Iterator[str]:
    day_uses.fill(studio)
    month_ends.fill(studio)
    judge_as_logged(studio)  # as up to 0.23
    if not studio.postings.exists():  # as up to 0.8
        book_all(studio)
    _keep_days(studio)
    return (f"{finding.row}: {finding.sentence}" for finding in books.check(studio))


def _keep_days(studio: Studio) -> None:
    """Begin with what was promised and on hand where an archive of before does not tell it."""
    lacks_changes = not studio.hold_changes.exists() and studio.holds.exists()
    lacks_finished = (
        not studio.finished_changes.exists() and studio.pieces.filter(state="good").exists()
    )
    if lacks_changes:
        find_all(studio)
    if lacks_finished:
        note_all(studio)
    if lacks_changes or lacks_finished:
        studio.days_kept_from = studio.today()
        studio.save(update_fields=["days_kept_from"])
