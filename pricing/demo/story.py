"""The story of one commission, lived through the services: enquiry to profit."""

from collections.abc import Mapping
from datetime import timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

from django.contrib.auth.models import User
from django.utils import timezone

from inventory.buying import purchasing
from inventory.buying.alerts import alerts
from inventory.buying.replacing import renew_replacement_costs
from inventory.models import Bottle, Material
from pricing.bench.batches import mix_batch
from pricing.bench.judging import Seen, Verdict, judge_pieces
from pricing.bench.pictures import add_pictures
from pricing.bench.pour_materials import LayerLog
from pricing.bench.pours import log_pour
from pricing.bench.topcoats import log_topcoat
from pricing.calendar.what_if import earliest_promise
from pricing.commissions import orders as commissions
from pricing.commissions.promised_day import promise_day
from pricing.commissions.stock_checks import stock_check
from pricing.costing.catalogue import add_customer
from pricing.demo import shelves, shop
from pricing.demo.clock import Clock
from pricing.demo.pictures import drawn_pour
from pricing.demo.shop import CANVAS, TILE
from pricing.estimating.remembering import learn_hand
from pricing.fitness import HOT, LOOK
from pricing.models import Commission, Pour
from pricing.quoting import quotes as quoting
from pricing.readiness.standing import Standing, standing_of
from pricing.selling.consigning import send_out
from pricing.selling.sales import pack_set, prices_quoted, sell
from studio.models import Studio
from studio.units import format_volume

# How many days the story has lived at the end of each stage: paint and resin take their time. It
# ends on the day on which the demo is loaded.
DAYS = {"stocked": 0, "quoted": 0, "poured": 19, "sold": 47}
STAGES = tuple(DAYS)
# Days until the customer answers, until what was ordered comes, and to spare in what is promised.
ANSWERED, CAME, SPARE = 2, 3, 7
# What each pour really took: mixed, left in the cups, scraped back, [mL].
TILES_TOOK = {
    "base": ("275", "12", "84"),
    "colours": ("118", "6", "0"),
    "activator": ("9", "1", "0"),
}
# The tiles' base coat is mixed beforehand, and what is left of it goes on to the canvas.
BASE_MIXED, BASE_TRACE = Decimal(330), Decimal(6)
CANVAS_FROM_MIX = Decimal(30)
CANVAS_TOOK = {
    "base": ("462", "20", "150"),
    "colours": ("84", "4", "0"),
    "activator": ("5", "1", "0"),
}
ROOM_C, HUMIDITY = Decimal(21), Decimal(45)  # [°C], [%]
BLUES = ("#f4efe6", "#14365c", "#1f5f8b", "#5b9bb5", "#16707a")


def begin(seed: int, until: str = "sold") -> tuple[Studio, User]:
    """Build the demo studio and live through the story as far as a stage; its last day is today."""
    # In its own zone, since days of 24 hours would go astray where its clocks change.
    now = timezone.now().astimezone(ZoneInfo(shelves.STUDIO["time_zone"]))
    with Clock(now - timedelta(days=DAYS[until])).governs() as clock:
        studio, owner = shop.build(seed)
        _know_better(studio)
        _live(studio, owner, clock, STAGES.index(until))
    _know_better(studio)
    return studio, owner


def _know_better(studio: Studio) -> None:
    """Do what the worker does at night with what is there."""
    renew_replacement_costs(studio=studio)
    learn_hand(studio=studio)


def _live(studio: Studio, owner: User, clock: Clock, stage: int) -> None:
    if stage < 1:
        return
    commission = quote(studio, owner)
    if stage >= 2:
        clock.go_on(days=ANSWERED)
        _accept_and_order(studio, owner, commission)
        clock.go_on(days=CAME)
        _receive(studio, owner)
        _pour(studio, owner, commission)
        _judge_and_coat(studio, owner, clock)
    if stage >= 3:
        _judge_and_sell(studio, owner, clock, commission)
        _consign(studio, owner)


def quote(studio: Studio, owner: User) -> Commission:
    """Write down what the customer asks for, and send the quote for it."""
    customer = add_customer(
        studio=studio, name=shelves.CUSTOMER["name"], email=shelves.CUSTOMER["email"]
    )
    commission = commissions.open_commission(
        studio=studio,
        by=owner,
        customer=customer,
        title="Coasters and a canvas",
        due_on=studio.today() + timedelta(days=49),
        notes=shelves.CUSTOMER["notes"],
    )
    add_pictures(
        thing=commission,
        by=owner,
        pictures=[drawn_pour(1, BLUES)],
        kind="colours",
        caption="These blues, from her kitchen",
    )
    add_lines(studio, owner, commission)
    short = stock_check(commission).short
    noted = "; ".join(
        f"{_amount(line.missing, line.material)} of {line.material}" for line in short
    )
    commissions.change_commission(
        commission=commission,
        by=owner,
        notes=f"{commission.notes}\nShort when asked: {noted or 'nothing'}.",
    )
    earliest = earliest_promise(commission)
    assert earliest is not None  # all of it is still to be made
    promise_day(commission=commission, by=owner, on=earliest.ready_on + timedelta(days=SPARE))
    card = studio.channels.get(name=shelves.BY_CARD)
    draft = quoting.draft_quote(commission=commission, by=owner, channel=card)
    quoting.send_quote(quote=draft, by=owner)
    return commission


def add_lines(studio: Studio, owner: User, commission: Commission) -> None:
    """Add what the customer asks for: two sets of coasters under resin, and a canvas."""
    bloom = studio.techniques.get(slug="bloom")
    palette = studio.palettes.get(name="Harbour dusk")
    commissions.add_line(
        commission=commission,
        by=owner,
        surface=studio.surfaces.get(name=TILE),
        technique=bloom,
        palette=palette,
        quantity=2,
        pieces_each=4,
        topcoat=studio.resin_kits.get(),
        packaging=studio.materials.get(name="Coaster box, kraft"),
        use=HOT,
    )
    commissions.add_line(
        commission=commission,
        by=owner,
        surface=studio.surfaces.get(name=CANVAS),
        technique=bloom,
        palette=palette,
        packaging=studio.materials.get(name="Canvas sleeve and board"),
        use=LOOK,
    )


def _accept_and_order(studio: Studio, owner: User, commission: Commission) -> None:
    before = _alerts(studio)
    quoting.accept_quote(quote=commission.quotes.get(), name=commission.customer.name)
    commissions.change_commission(
        commission=commission,
        by=owner,
        notes=f"{_notes(commission)}\nAlerts before acceptance: {before}.\n"
        f"Alerts after: {_alerts(studio)}.",
    )
    orders = purchasing.make_orders(studio=studio, by=owner, plan=purchasing.plan(studio=studio))
    for order in orders:
        purchasing.send_order(order=order, by=owner)


def _receive(studio: Studio, owner: User) -> None:
    for order in studio.purchase_orders.order_by("number"):
        purchasing.receive_order(
            order=order,
            by=owner,
            counts={line: line.count for line in order.lines.all()},
            received_on=studio.today(),
            freight=order.shipping,
            reference=f"Invoice {order.number:04}",
        )


def _pour(studio: Studio, owner: User, commission: Commission) -> None:
    tiles, canvas = commission.lines.all()
    assert tiles.topcoat is not None  # as it was ordered
    base = mix_batch(
        studio=studio,
        by=owner,
        commission=commission,
        recipe=tiles.palette.base,
        volume_ml=BASE_MIXED,
        trace_seconds=BASE_TRACE,
        purpose="Tiles, then the canvas",
        place="Bench",
    ).bottle
    assert base is not None  # as of every batch that is mixed
    poured = log_pour(
        studio=studio,
        by=owner,
        line=tiles,
        count=9,
        layers=_layers(TILES_TOOK, (base, Decimal(TILES_TOOK["base"][0]))),
        minutes=Decimal(80),
        room_c=ROOM_C,
        humidity_percent=HUMIDITY,
    )
    add_pictures(
        thing=poured, by=owner, pictures=[drawn_pour(2, BLUES)], caption="Tile 3, before the resin"
    )
    log_pour(
        studio=studio,
        by=owner,
        line=canvas,
        count=1,
        layers=_layers(CANVAS_TOOK, (base, CANVAS_FROM_MIX)),
        minutes=Decimal(35),
        room_c=ROOM_C,
        humidity_percent=HUMIDITY,
    )


def _judge_and_coat(studio: Studio, owner: User, clock: Clock) -> None:
    """Look at nine dry tiles, a corner of the last bare, and coat those that came out well."""
    tiles = _pours(studio)[0]
    assert tiles.line is not None and tiles.line.topcoat is not None  # as they were ordered
    clock.go_on(days=(_standing(tiles).dry_on - studio.today()).days)
    seen = [Seen(number, Verdict.GOOD, cells=4, composition=4) for number in range(1, 8)]
    seen.append(Seen(8, Verdict.GOOD, cells=5, composition=5, pictures=[drawn_pour(4, BLUES)]))
    bare = Seen(
        9, Verdict.FAILED, faults=["bare_corner"], cells=3, composition=2, note="Ran off too soon"
    )
    judge_pieces(pour=tiles, by=owner, seen=[*seen, bare])
    log_topcoat(
        pour=tiles,
        by=owner,
        kit=tiles.line.topcoat,
        mixed_ml=Decimal(152),
        minutes=Decimal(45),
        room_c=ROOM_C,
        humidity_percent=HUMIDITY,
    )


def _judge_and_sell(studio: Studio, owner: User, clock: Clock, commission: Commission) -> None:
    """Look at all that is cured, pack it, and sell it."""
    tiles, canvas = _pours(studio)
    cured_on = max(_standing(one).planned_on for one in (tiles, canvas))
    clock.go_on(days=(cured_on - studio.today()).days)
    clear = [Seen(number, Verdict.GOOD, composition=5) for number in range(1, 9)]
    judge_pieces(pour=tiles, by=owner, seen=clear)
    judge_pieces(pour=canvas, by=owner, seen=[Seen(1, Verdict.GOOD, cells=4, composition=5)])
    for line in commission.lines.all():
        pieces = list(
            studio.pieces.filter(pour__line=line, state="good").order_by("pour", "number")
        )
        for first in range(0, len(pieces), line.pieces_each):
            pack_set(
                studio=studio,
                by=owner,
                name="",
                pieces=pieces[first : first + line.pieces_each],
                line=line,
                minutes=Decimal(6),
            )
    sell(
        studio=studio,
        by=owner,
        channel=studio.channels.get(name=shelves.BY_CARD),
        how="card",
        sold_on=studio.today(),
        items=prices_quoted(commission),
    )


def _consign(studio: Studio, owner: User) -> None:
    """Leave four tiles poured for stock with a shop."""
    loose = studio.pieces.filter(pour__line=None, pour__surface__name=TILE, state="good")
    first = list(loose.order_by("pour", "number")[:4])
    piece_set = pack_set(
        studio=studio,
        by=owner,
        name="Four wall tiles",
        pieces=first,
        minutes=Decimal(6),
        use=LOOK,
    )
    send_out(
        studio=studio,
        by=owner,
        channel=studio.channels.get(name=shelves.ON_CONSIGNMENT),
        items=[(piece_set, Decimal(48))],
        sent_on=studio.today(),
        due_back_on=studio.today() + timedelta(days=60),
    )


def _pours(studio: Studio) -> tuple[Pour, Pour]:
    """Return what was poured for the customer: the tiles, and the canvas."""
    tiles, canvas = studio.pours.exclude(line=None).order_by("number")
    return tiles, canvas


def _standing(pour: Pour) -> Standing:
    (found,) = standing_of([pour]).values()
    return found


def _layers(
    took: Mapping[str, tuple[str, str, str]], base_from: tuple[Bottle, Decimal]
) -> dict[str, LayerLog]:
    """Return what each layer took; so much of the base came from a bottle of mix."""
    return {
        layer: LayerLog(
            Decimal(mixed),
            Decimal(left),
            Decimal(kept),
            mixes=(base_from,) if layer == "base" else (),
        )
        for layer, (mixed, left, kept) in took.items()
    }


def _alerts(studio: Studio) -> str:
    open_alerts = alerts(studio)
    names = ", ".join(f"{one.material} ({one.kind.replace('_', ' ')})" for one in open_alerts)
    return f"{len(open_alerts)}: {names}" if open_alerts else "none"


def _notes(commission: Commission) -> str:
    commission.refresh_from_db()
    return commission.notes


def _amount(quantity: Decimal, material: Material) -> str:
    return str(quantity.normalize()) if material.unit == "each" else format_volume(quantity)
