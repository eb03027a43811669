"""What must hold between the bench's records and the ledger, checked with the books."""

from collections import Counter
from collections.abc import Callable, Iterator
from fractions import Fraction
from typing import Any, TypeVar

from django.db.models import (
    Count,
    Exists,
    F,
    Max,
    Model,
    OuterRef,
    Prefetch,
    Q,
    QuerySet,
    Subquery,
)

from inventory.models import Bottle, Entry, Hold, Movement
from inventory.stock.books import Finding
from inventory.words import listed
from pricing.bench.pictures import digest
from pricing.commissions.commission_holds import HELD_IN
from pricing.costing.on_hand import changes_that_differ
from pricing.earnings.losses import losses
from pricing.earnings.profit import whereabouts
from pricing.earnings.recount import pieces_that_differ, postings_that_differ, sets_that_differ
from pricing.models import (
    Commission,
    ConsignedSet,
    FinishedPiece,
    Invoice,
    Judgement,
    Payment,
    Picture,
    PieceSet,
    Posting,
    Pour,
    Quote,
    SaleLine,
)
from studio.amounts import Minus, Plus, Total
from studio.models import Closing, NumberSeries, Studio
from studio.money import ZERO

State = FinishedPiece.State
Rows = TypeVar("Rows", bound=QuerySet[Any])


def pieces_agree(studio: Studio | None) -> Iterator[Finding]:
    """A pour that stands has a piece for each poured, and counts its judged and its good ones."""
    pours = _mine(Pour.objects.all(), studio).select_related("studio")
    rows = pours.annotate(
        undone=Count("entry__reversed_by", distinct=True),
        made=Count("pieces", distinct=True),
        living=Count("pieces", filter=Q(pieces__state=State.GOOD), distinct=True),
        spoiled=Count("pieces", filter=Q(pieces__spoiled_by__isnull=False), distinct=True),
        gone=Count("pieces", filter=Q(pieces__state=State.UNDONE), distinct=True),
        judged=Count("pieces", filter=~Q(pieces__verdict=""), distinct=True),
    )
    for pour in rows.iterator():
        if pour.undone:
            agrees = pour.gone == pour.made
        else:
            agrees = pour.made == pour.count and pour.living + pour.spoiled == pour.good_count
            agrees &= pour.judged == pour.judged_count
        if not agrees:
            yield Finding(
                "pieces",
                pour.studio.name,
                str(pour),
                f"it has {pour.made} pieces, {pour.living} good, {pour.spoiled} spoiled by resin "
                f"and {pour.gone} undone, and {pour.judged} are judged; it says {pour.good_count} "
                f"of {pour.count} were good as paint and {pour.judged_count} are judged.",
            )


def judgements_agree(studio: Studio | None) -> Iterator[Finding]:
    """A piece is what was judged of it last: with its topcoat, or else as paint."""
    last = Judgement.objects.filter(piece=OuterRef("pk")).order_by("stage")  # coated before dry
    rows = _mine(FinishedPiece.objects.exclude(state=State.UNDONE), studio)
    rows = rows.annotate(judged=Subquery(last.values("verdict")[:1]))
    differing = rows.exclude(verdict=F("judged")).exclude(verdict="", judged=None)
    for piece in differing.select_related("studio", "pour"):
        sentence = f"it is kept as “{piece.verdict}”, and was judged “{piece.judged or ''}” last."
        yield Finding("pieces", piece.studio.name, str(piece), sentence)


def run_off_agrees(studio: Studio | None) -> Iterator[Finding]:
    """Run-off is worth no more than its share of what its layers took, which is what was used.

    Worked out anew from what each layer took, by volume; a pour logged before that was kept is
    passed over.
    """
    moves = Movement.objects.filter(kind__in=("use", "reclaim")).select_related("material")
    rows = _mine(Pour.objects.all(), studio).exclude(layers__took_value=None)
    rows = rows.filter(layers__isnull=False).select_related("studio").distinct()
    rows = rows.prefetch_related("layers", Prefetch("entry__movements", moves))
    for pour in rows.iterator(chunk_size=500):
        layers, values = pour.layers.all(), {"use": ZERO, "reclaim": ZERO}
        for move in pour.entry.movements.all():
            if move.material.unit != "each":  # the surfaces are no paint
                values[move.kind] += move.value
        used, worth = -values["use"], values["reclaim"]
        took = sum((layer.took_value or ZERO for layer in layers), ZERO)
        most = sum(
            Fraction(layer.took_value or ZERO) * Fraction(layer.kept_ml) / Fraction(layer.mixed_ml)
            for layer in layers
        )
        wrong = []
        if took != used:
            wrong.append(f"its layers took {took}, and {used} of paint was used")
        if worth > most:
            wrong.append(f"its run-off is worth {worth}, more than its share of what was taken")
        if wrong:
            yield Finding("run-off", pour.studio.name, str(pour), f"{listed(wrong)}.")


def sets_agree(studio: Studio | None) -> Iterator[Finding]:
    """A packed set holds pieces and one taken apart holds none; what is sold is packed."""
    sets = _mine(PieceSet.objects.all(), studio).with_sold().select_related("studio")
    holding = sets.annotate(held=Count("pieces"))
    empty = Q(unpacked_at=None, held=0) | Q(unpacked_at__isnull=False, held__gt=0)
    for one in holding.filter(empty | Q(is_sold=True, unpacked_at__isnull=False)):
        state = "is taken apart" if one.unpacked_at else "is packed"
        sold = " and is sold" if one.is_sold else ""
        yield Finding(
            "sets", one.studio.name, str(one), f"it {state}, holds {one.held} pieces{sold}."
        )


def consignments_agree(studio: Studio | None) -> Iterator[Finding]:
    """A set at a shop is packed and not sold; what a shop sold has its sale, nothing else has."""
    lines = ConsignedSet.objects.select_related("consignment__studio", "piece_set", "sale_line")
    home = {"restoring": None} if studio is None else {"pk": studio.pk}
    lines = lines.filter(**{f"consignment__studio__{name}": is_ for name, is_ in home.items()})
    gone = Q(piece_set__unpacked_at__isnull=False) | Q(piece_set__written_off_at__isnull=False)
    is_sold = Exists(SaleLine.objects.filter(piece_set=OuterRef("piece_set"), is_live=True))
    has_sale = Q(sale_line__isnull=False)
    wrong = (Q(outcome="sold") & ~has_sale) | (~Q(outcome="sold") & has_sale)
    lines = lines.annotate(is_sold=is_sold)
    for one in lines.filter(Q(outcome="out") & (gone | Q(is_sold=True)) | wrong):
        state = one.get_outcome_display().lower()
        sale = f"its sale is {one.sale_line}" if one.sale_line else "it has no sale"
        if one.outcome == "out":
            sale = "and the set is sold, taken apart or written off"
        yield Finding(
            "consignments",
            one.consignment.studio.name,
            str(one),
            f"it says “{state}”, {sale}.",
        )


def promises_agree(studio: Studio | None) -> Iterator[Finding]:
    """Only commissions that are accepted or in work hold stock."""
    idle = _mine(Commission.objects.all(), studio).exclude(status__in=HELD_IN)
    works = {commission.work_id: commission for commission in idle}
    for hold in _mine(Hold.objects.all(), studio).open().select_related("studio", "material"):
        if hold.work_id in works:
            status = works[hold.work_id].get_status_display().lower()
            yield Finding(
                "promises",
                hold.studio.name,
                str(hold),
                f"{hold.outstanding} is still held, and the commission is {status}.",
            )


def costs_agree(studio: Studio | None) -> Iterator[Finding]:
    """What pieces and sets have cost, and what was posted of it, is what the ledger says."""
    for one in [studio] if studio else Studio.objects.filter(restoring=None):
        for wrong in (pieces_that_differ, sets_that_differ, postings_that_differ):
            yield from (Finding("costs", one.name, *what) for what in wrong(one))


def what_is_on_hand_agrees(studio: Studio | None) -> Iterator[Finding]:
    """What is on hand of pieces and sets is what the changes of it add up to."""
    for of, key, off in changes_that_differ(studio):
        thing = (
            (PieceSet if of == "piece_set" else Pour).objects.select_related("studio").get(pk=key)
        )
        sentence = (
            f"its changes add up to {off.count} more on hand than there are, worth {off.cost}."
        )
        yield Finding("on hand", thing.studio.name, str(thing), sentence)


def value_is_somewhere(studio: Studio | None) -> Iterator[Finding]:
    """What came in is on hand, sold, in pieces and sets, lost, or was used for nothing.

    Both sides in value, to the last digit; what was sent back did not come in.
    """
    for one in [studio] if studio else Studio.objects.filter(restoring=None):
        standing = Movement.objects.filter(studio=one, entry__reversed_by=None)
        came = standing.filter(kind__in=("opening", "receipt", "return"))
        value_in = came.aggregate(total=Total("value"))["total"]
        on_hand = Bottle.objects.filter(studio=one).aggregate(total=Total("value"))["total"]
        where = whereabouts(one)
        gone = sum((loss.cost.materials for loss in losses(one)), ZERO)
        made = where.sold.materials + where.for_sale.materials + where.loose.materials
        if value_in != on_hand + made + gone:
            yield Finding(
                "value",
                one.name,
                "Value of what came in",
                f"{value_in} came in; {on_hand} is on hand, {made} is in pieces and sets sold or "
                f"not, and {gone} is lost.",
            )


def quotes_agree(studio: Studio | None) -> Iterator[Finding]:
    """Quotes are numbered without gaps, and add up: net and tax to the total, lines to the net."""
    quotes = _mine(Quote.objects.all(), studio).select_related("studio")
    for quote in quotes.annotate(off=Minus("gross", "net", "tax")).exclude(off=0):
        yield Finding(
            "quotes",
            quote.studio.name,
            str(quote),
            f"its net {quote.net} and tax {quote.tax} do not add up to {quote.gross}.",
        )
    series = NumberSeries.objects.filter(name="quote").select_related("studio")
    series = _mine(series, studio)
    numbered = Counter(
        quotes.exclude(number=None).order_by().values_list("studio", "number").distinct()
    )
    highest = dict(
        quotes.exclude(number=None).order_by().values_list("studio").annotate(Max("number"))
    )
    for one in series:
        count = sum(1 for studio_id, _ in numbered if studio_id == one.studio_id)
        if not count == highest.get(one.studio_id, 0) == one.last:
            yield Finding(
                "quotes",
                one.studio.name,
                "Numbers of quotes",
                f"{one.last} were given out, and {count} quotes carry one.",
            )


def money_agrees(studio: Studio | None) -> Iterator[Finding]:
    """Invoices and receipts are numbered without gaps; a credit note is its invoice's opposite."""
    for name, model in (("invoice", Invoice), ("receipt", Payment)):
        series = _mine(NumberSeries.objects.filter(name=name), studio).select_related("studio")
        for one in series:
            rows = model.objects.filter(studio=one.studio_id)
            seen = rows.aggregate(count=Count("pk"), highest=Max("number"))
            if not seen["count"] == (seen["highest"] or 0) == one.last:
                yield Finding(
                    "money",
                    one.studio.name,
                    f"Numbers of {name}s",
                    f"{one.last} were given out, and {seen['count']} {name}s carry one.",
                )
    notes = _mine(Invoice.objects.exclude(credits=None), studio).select_related("studio")
    left = {f"left_{name}": Plus(name, f"credits__{name}") for name in ("gross", "net", "tax")}
    notes = notes.annotate(**left).exclude(**dict.fromkeys(left, 0))
    for note in notes.defer("frozen"):
        yield Finding("money", note.studio.name, str(note), "it is not its invoice's opposite.")
    struck = _mine(Payment.objects.exclude(reverses=None), studio).select_related("studio")
    for payment in struck.annotate(left=Plus("amount", "reverses__amount")).exclude(left=0):
        name = payment.studio.name
        yield Finding("money", name, str(payment), "it is not its payment's opposite.")


def pictures_are_whole(studio: Studio | None) -> Iterator[Finding]:
    """A picture's bytes are those that were kept, and it is of something in its own studio."""
    rows = _mine(Picture.objects.defer(None).defer("small"), studio)
    rows = rows.select_related("studio", "commission", "pour", "piece_set")
    for picture in rows.iterator(chunk_size=10):  # each with all its bytes
        if (len(picture.full), digest(picture.full)) != (picture.size_bytes, picture.sha256):
            wrong = "its bytes are not those that were kept."
        elif picture.thing.studio_id != picture.studio_id:
            wrong = "it is of another studio's work."
        else:
            continue
        yield Finding("pictures", picture.studio.name, str(picture), wrong)


def closed_months_stay(studio: Studio | None) -> Iterator[Finding]:
    """Nothing is booked in a month after it was closed, and each studio knows its last closing."""
    dated: tuple[tuple[type[Model], str, str], ...] = (
        (Entry, "booked_on", "recorded_at"),
        (Posting, "day", "recorded_at"),
        (Payment, "booked_on", "recorded_at"),
        (Invoice, "issued_on", "issued_at"),
    )
    closings = Closing.objects.filter(reopens=None).select_related("studio", "reopened_by")
    for closing in _mine(closings, studio):
        until = closing.reopened_by.recorded_at if hasattr(closing, "reopened_by") else None
        for model, day, moment in dated:
            late = {f"{day}__lte": closing.up_to, f"{moment}__gt": closing.recorded_at}
            rows = model._default_manager.filter(studio=closing.studio, **late)
            for row in rows.filter(**{f"{moment}__lt": until}) if until else rows:
                sentence = f"it was booked after {closing.month} was closed, in what was closed."
                yield Finding("closing", closing.studio.name, str(row), sentence)
    for one in [studio] if studio else Studio.objects.filter(restoring=None):
        last = one.closings.standing().first()
        if one.closed_up_to != (last.up_to if last else None):
            sentence = f"{one.closed_up_to} is kept as the last day closed, and it is another."
            yield Finding("closing", one.name, "Months closed", sentence)


CHECKS: list[Callable[[Studio | None], Iterator[Finding]]] = [
    pieces_agree,
    judgements_agree,
    run_off_agrees,
    sets_agree,
    consignments_agree,
    promises_agree,
    costs_agree,
    what_is_on_hand_agrees,
    value_is_somewhere,
    quotes_agree,
    money_agrees,
    pictures_are_whole,
    closed_months_stay,
]


def _mine(rows: Rows, studio: Studio | None) -> Rows:
    return rows.filter(studio__restoring=None) if studio is None else rows.filter(studio=studio)
