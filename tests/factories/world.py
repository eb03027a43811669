"""A studio some weeks on: the demo's story, and beside it everything in every state it can be in.

Built by the services, as its people would; where a state takes days to come about (a quote that has
run out), the date is set back.
"""

from datetime import timedelta
from decimal import Decimal as D

from django.contrib.auth import get_user_model
from django.urls import reverse
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from inventory.buying import purchasing
from inventory.buying.purchasing.orders import add_line as add_order_line
from inventory.buying.replacing import renew
from inventory.stock import costing_changes, counts
from inventory.stock import ledger as stock
from pricing.bench import pours, topcoats
from pricing.bench.batches import mix_batch, undo_batch
from pricing.bench.judging import Seen, judge_pieces
from pricing.bench.moving import Noted, note_moves
from pricing.bench.paired import draw_test, pour_test, rate_test, reveal_test
from pricing.bench.pictures import add_pictures
from pricing.bench.pours import LayerLog
from pricing.bench.recovering import recover_surfaces
from pricing.bench.weighing import weigh_piece
from pricing.calendar import calendar_links, working_days
from pricing.commissions import orders as commissions
from pricing.commissions import payments, promised_day
from pricing.costing.catalogue import add_customer
from pricing.demo import shop, story
from pricing.demo.pictures import drawn_pour
from pricing.earnings import appraisals
from pricing.quoting import invoicing, quote_links
from pricing.quoting import quotes as quoting
from pricing.quoting.tiles import answer_tile
from pricing.selling import consigning, sales
from studio import background, people
from studio.closing import close_months, months_to_close, reopen_months
from studio.tokens import create_token
from tests.addresses import World
from tests.factories import going_on
from tests.factories.judged import pour_judged
from tests.factories.studio import MailFactory

LONG = "Wedding favours in the blues of the harbour at dusk, for eighty-four guests at long tables"
# Enough for all that is poured below: what came, and what it was worth.
MORE = {
    "Matt white wall paint": ("946", "16.40"),
    "Phthalo green": ("118", "5.90"),
    "Yellow ochre": ("118", "5.90"),
    "Coating resin, part A": ("473", "21"),
    "Coating hardener, part B": ("473", "21"),
}


def world():
    """Return a `World` with a row for every page, and rows in every state."""
    studio, owner = story.begin(1)
    made = World(studio, owner)
    for add in (
        _supplies,
        _shelf,
        _orders,
        _bench,
        _commissions,
        _selling,
        _counts,
        _people,
        _background,
    ):
        add(made)
    studio.refresh_from_db()
    *_, before_last, _ = months_to_close(studio)
    first = close_months(studio=studio, by=owner, up_to=before_last)
    reopen_months(closing=first, by=owner, why="A bill for freight came late")
    close_months(studio=studio, by=owner, up_to=before_last)
    return made


def _background(made):
    """A file that was made, one that is not yet, a mail that waits, and a job that failed."""
    path = reverse("list-file", args=["materials", "csv"])
    for _ in range(2):
        task = background.ask(
            studio=made.studio, by=made.user, kind="file", title="Materials as CSV", path=path
        )
        if not made.studio.background_tasks.exclude(ended_at=None).exists():
            background.do.call(task.pk)
    MailFactory(studio=made.studio, tries=1, problem="451 Try again later")
    job = DBTaskResult.objects.create(
        task_path=renew.module_path,
        args_kwargs={"args": [made.studio.pk], "kwargs": {}},
        backend_name="default",
        run_after=timezone.now(),
    )
    job.claim("somebody")
    job.set_failed(ValueError("no cover"))


def newcomer():
    """Return somebody with an account and no studio."""
    return people.sign_up(email="new@lanternfish.example", password="wet-tiles-drying", name="Eli")


def viewer(made):
    """Return the member who may only look."""
    return get_user_model().objects.get(memberships__studio=made.studio, memberships__role="viewer")


def _supplies(made):
    studio = made.studio
    supplier = studio.suppliers.create(
        name="Saltmarsh Pigment Works",
        lead_days=D("12.5"),
        lead_sd_days=D("3.5"),
        minimum_order=D("49.90"),
        shipping_fee=D("7.45"),
        notes="Closed in August.\nAsk for the batch sheet.",
    )
    pearl = studio.materials.create(
        name="Interference pearl, fine", kind="paint", unit="g", density_g_per_ml=D("1.3333")
    )
    studio.packs.create(
        supplier=supplier, material=pearl, size=D("62.5"), price=D("9.99"), label="Jar"
    )
    studio.materials.create(name="Old glitter", kind="other", archived_at=timezone.now())
    for row in (supplier, studio.packs.order_by("pk").first()):
        row.refresh_from_db()
    came = {pearl.name: ("61.3475", "9.876543"), shop.TILE: ("60", "23.5"), **MORE}
    stock.receive(
        studio=studio,
        by=made.user,
        receipts=[
            stock.Receipt(studio.materials.get(name=name), D(much), D(worth), place="Shelf 3")
            for name, (much, worth) in came.items()
        ],
    )


def _shelf(made):
    """Open, decant, use, waste and undo, by amounts that no spoon measures."""
    studio, by = made.studio, made.user
    today = studio.today()
    bottles = list(studio.bottles.filter(remaining__gt=30, material__unit="ml").order_by("pk"))
    stock.open_bottle(bottle=bottles[0], day=today - timedelta(days=3))
    stock.waste(studio=studio, by=by, bottle=bottles[1], quantity=D("1.2345"), why="Skinned over")
    small = stock.Vessel(capacity=D(30))
    stock.decant(studio=studio, by=by, bottle=bottles[2], into=small, quantity=D("12.5"))
    entry = stock.use(studio=studio, by=by, amounts={bottles[0].material: D("3.1416")}, why="Test")
    stock.reverse(studio=studio, by=by, entry=entry, why="Was not used")
    soon = studio.bottles.filter(material__name="Flow conditioner").first()
    soon.expires_on = today + timedelta(days=2)
    soon.save(update_fields=["expires_on"])


def _orders(made):
    """One order in each state."""
    studio, by = made.studio, made.user
    packs = {
        supplier: list(supplier.packs.filter(is_on_offer=True).order_by("pk"))
        for supplier in studio.suppliers.order_by("pk")
    }
    supplier = studio.suppliers.get(name="Thistledown Paint Store")
    for state in ("draft", "sent", "partly", "cancelled", "empty"):
        order = studio.purchase_orders.create(
            supplier=supplier, number=100 + studio.purchase_orders.count(), created_by=by
        )
        if state == "empty":
            continue
        for count, pack in enumerate(packs[supplier][:2], 3):
            add_order_line(order=order, pack=pack, count=count)
        if state in ("sent", "partly"):
            purchasing.send_order(order=order, by=by)
        if state == "partly":
            first = order.lines.first()
            purchasing.receive_order(order=order, by=by, counts={first: 1}, freight=D("6.95"))
        if state == "cancelled":
            purchasing.cancel_order(order=order, by=by)


def _counts(made):
    """A finished count, a cancelled one, and one open with bottles of each fate."""
    studio, by = made.studio, made.user
    finished = counts.start_count(studio=studio, by=by, kinds=("resin",))
    for line in finished.lines.all():
        counts.record(
            count=finished,
            by=by,
            bottle=line.bottle,
            quantity=line.bottle.remaining,
            confirmed=True,
        )
    counts.finish_count(count=finished, by=by)
    counts.cancel_count(count=counts.start_count(studio=studio, by=by, kinds=("paint",)), by=by)
    running = counts.start_count(studio=studio, by=by)
    first, second, third = running.lines.order_by("pk")[:3]
    counts.record(count=running, by=by, bottle=first.bottle, quantity=D("5.4321"), confirmed=True)
    counts.leave_out(count=running, by=by, bottle=second.bottle, why="At the fair")
    counts.record(count=running, by=by, bottle=third.bottle, quantity=D(7), confirmed=True)
    counts.put_back(count=running, by=by, bottle=third.bottle)


def _bench(made):
    studio, by = made.studio, made.user
    base = studio.recipes.get(name="White base coat")
    batch = mix_batch(studio=studio, by=by, recipe=base, volume_ml=D(50))
    undo_batch(batch=batch, by=by, why="Wrong white")
    mix_batch(studio=studio, by=by, recipe=base, volume_ml=D("41.667"), purpose="Test tiles")
    spare = _pour(made, count=2, good=2)
    pours.set_pour_aside(pour=spare, why="Spilled half of it")
    _judged(made)
    _paired(made)
    undone = _pour(made, count=1, good=1)
    pours.undo_pour(pour=undone, by=by, why="Logged twice")


def _judged(made):
    """Four tiles: one wiped after it had failed, a second with its picture, one left open."""
    pour = _pour(made, count=4, good=3)
    seen = Seen(1, "second", faults=["dust"], cells=3, pictures=[drawn_pour(5, story.BLUES)])
    judge_pieces(pour=pour, by=made.user, seen=[seen, Seen(2, "")])
    recover_surfaces(pour=pour, by=made.user, pieces=[4])


def _paired(made):
    """Pairs that are drawn, poured, rated and revealed; how their pour was moved is noted."""
    shelf = made.studio
    wanted = {
        "surface": shelf.surfaces.get(name=shop.TILE),
        "technique": shelf.techniques.get(slug="bloom"),
        "palette": shelf.palettes.get(name="Fern and ochre"),
    }
    _, wet, rated, revealed = (
        draw_test(studio=shelf, by=made.user, changes=["straw"], **wanted) for _ in range(4)
    )
    layers = {"base": LayerLog(D(40)), "colours": LayerLog(D(20))}
    pour = pours.log_pour(
        studio=shelf, by=made.user, count=6, minutes=D(9), layers=layers, **wanted
    )
    note_moves(pour=pour, noted=Noted(("tilt",), "torch", D(3), True, {("base", 0): D(5)}))
    weigh_piece(pour=pour, by=made.user, piece=1, grams=D("212.4"))
    for place, test in enumerate((wet, rated, revealed)):
        pour_test(test=test, pour=pour, first=2 * place + 1, second=2 * place + 2)
    for test in (rated, revealed):
        rate_test(test=test, by=made.user, first=4, second=2)
    reveal_test(test=revealed)


def _pour(made, count, good, line=None, surface=shop.TILE):
    studio = made.studio
    chosen = (
        {}
        if line
        else {
            "surface": studio.surfaces.get(name=surface),
            "technique": studio.techniques.get(slug="bloom"),
            "palette": studio.palettes.get(name="Fern and ochre"),
        }
    )
    return pour_judged(
        studio=studio,
        by=made.user,
        line=line,
        count=count,
        good_count=good,
        layers={
            "base": LayerLog(D("6.6667") * count, D(1), D("1.1111") * count),
            "colours": LayerLog(D("3.3333") * count),
            "activator": LayerLog(D("0.5") * count),
        },
        minutes=D("12.5"),
        **chosen,
    )


def _tiles(made, line):
    """A test tile poured twice: the first is not quite right, the second waits for its answer."""
    for place, caption in enumerate(("In the morning", "With more white")):
        line.refresh_from_db()
        pour = _pour(made, 1, 1, line=line)
        drawn = [drawn_pour(7 + place, story.BLUES)]
        add_pictures(thing=pour, by=made.user, pictures=drawn, caption=caption)
        if place == 0:
            answer_tile(pour=pour, accepted=False, name="Marlow", note="Less blue", by=made.user)


def _commissions(made):
    """One commission at each step, quotes in each state, their links, and money."""
    studio, by = made.studio, made.user
    in_a_month = studio.today() + timedelta(days=30)
    customer = add_customer(studio=studio, name="Marlow Fenn-Castellane & Daughters")
    customer.email, customer.address = "marlow@fenn.example", "9 Old Ropeworks\nMarlpool Quay"
    customer.save()
    studio.customers.create(name="Old customer", archived_at=timezone.now())

    def opened(title, **more):
        return commissions.open_commission(
            studio=studio, by=by, customer=customer, title=title, **more
        )

    def tiles(commission, quantity=3, coated=False):
        return going_on.add_line(
            commission=commission,
            by=by,
            surface=studio.surfaces.get(name=shop.TILE),
            technique=studio.techniques.get(slug="bloom"),
            palette=studio.palettes.get(name="Fern and ochre"),
            quantity=quantity,
            topcoat=studio.resin_kits.get() if coated else None,
        )

    def quoted(title, **more):
        commission = opened(title, **more)
        tiles(commission)
        draft = quoting.draft_quote(commission=commission, by=by, shipping=D("4.95"))
        return commission, going_on.send_quote(quote=draft, by=by)

    def link(quote):
        _, secret = quote_links.make_link(quote=quote, by=by)
        made.secrets["q"].append(secret)
        return secret

    opened("Asked, nothing added")
    tiles(opened(LONG, due_on=studio.today() + timedelta(days=2)), 84, coated=True)
    drafted = opened("With a draft", due_on=in_a_month)
    tiles(drafted)
    quoting.draft_quote(commission=drafted, by=by)
    link(quoted("Open to the customer")[1])
    _, seen = quoted("Seen by the customer")
    quoting.view_quote(quote=seen)
    link(seen)
    _, late = quoted("Run out")
    link(late)
    late.valid_until = studio.today() - timedelta(days=1)
    late.save(update_fields=["valid_until"])
    again, _ = quoted("Quoted twice")
    going_on.send_quote(quote=quoting.draft_quote(commission=again, by=by), by=by)
    _, declined = quoted("Declined")
    link(declined)
    quoting.decline_quote(quote=declined, name="Marlow", note="Too dear for us", by_link=True)
    cancelled, quote = quoted("Cancelled")
    quoting.accept_quote(quote=quote, by=by)
    commissions.move_on(commission=cancelled, status="cancelled", by=by, note="Moved away")

    accepted, quote = quoted("Accepted, deposit paid", due_on=in_a_month)
    link(quote)
    quoting.accept_quote(quote=quote, name="Marlow", by_link=True)
    payments.take_payment(commission=accepted, by=by, amount=D("5.37"), how="cash")
    promised_day.promise_day(commission=accepted, by=by, on=in_a_month)

    tested = opened("With a test tile")
    tiles(tested)
    tile = tiles(tested, 1)
    commissions.change_line(line=tile, by=by, is_test=True, is_free=True)
    draft = quoting.draft_quote(commission=tested, by=by)
    quote = going_on.send_quote(quote=draft, by=by)
    link(quote)
    quoting.accept_quote(quote=quote, by=by)
    _tiles(made, tile)

    working, quote = quoted("In work")
    quoting.accept_quote(quote=quote, by=by)
    _pour(made, 2, 1, line=working.lines.get())

    ready, quote = quoted("Ready to fetch")
    quoting.accept_quote(quote=quote, by=by)
    _packed(made, ready)

    delivered, quote = quoted("Delivered, owed")
    quoting.accept_quote(quote=quote, by=by)
    payments.take_payment(commission=delivered, by=by, amount=D(10))
    struck = payments.take_payment(commission=delivered, by=by, amount=D("0.5"))
    payments.strike_payment(payment=struck, by=by, note="Counted twice")
    _packed(made, delivered)
    _sell(made, delivered, pays_later=True)
    wrong = invoicing.issue_invoice(commission=delivered, by=by)
    invoicing.credit_invoice(invoice=wrong, by=by, why="Wrong address")
    invoicing.issue_invoice(commission=delivered, by=by)

    paid, quote = quoted("Paid")
    quoting.accept_quote(quote=quote, by=by)
    _packed(made, paid)
    _sell(made, paid)


def _packed(made, commission):
    line = commission.lines.get()
    pour = _pour(made, line.quantity, line.quantity, line=line)
    for piece in pour.pieces.all():
        going_on.pack_set(
            studio=made.studio, by=made.user, name="", pieces=[piece], line=line, minutes=D(2)
        )


def _sell(made, commission, **more):
    return going_on.sell(
        studio=made.studio,
        by=made.user,
        channel=made.studio.channels.get(name="Online market"),
        sold_on=made.studio.today(),
        items=sales.prices_quoted(commission),
        **more,
    )


def _selling(made):
    """Loose sets, one unpacked, a sale refunded, and a shop that has settled in part."""
    studio, by, today = made.studio, made.user, made.studio.today()
    pour = _pour(made, 9, 9)
    coat = going_on.log_topcoat(pour=pour, by=by, kit=studio.resin_kits.get(), mixed_ml=D(55))
    topcoats.undo_topcoat(coat=coat, by=by, why="Other kit")
    coated = _pour(made, 1, 1)
    going_on.log_topcoat(pour=coated, by=by, kit=studio.resin_kits.get(), mixed_ml=D("11.5"))
    sets = [
        going_on.pack_set(studio=studio, by=by, name=f"Fern tile {piece.number}", pieces=[piece])
        for piece in pour.pieces.order_by("number")[:8]
    ]
    add_pictures(thing=sets[0], by=by, pictures=[drawn_pour(3, story.BLUES)], caption="On the sill")
    sales.unpack_set(piece_set=sets[0], by=by, why="Chipped")
    sold = going_on.sell(
        studio=studio,
        by=by,
        channel=studio.channels.get(name="Card reader"),
        sold_on=today,
        items=[(sets[1], D("16.75"))],
        shipping_charged=D("3.20"),
    )
    sales.refund(sale=sold, by=by, why="Did not match the sofa", fees_kept=D("0.10"))
    going_on.sell(
        studio=studio,
        by=by,
        channel=studio.channels.get(name="Weekend fair"),
        sold_on=today,
        items=[(sets[2], D("18.25")), (sets[3], D("17.99"))],
        shipping_paid=D("0.45"),
    )
    shop_channel = studio.channels.get(name="Quayside gallery shop")
    note = going_on.send_out(
        studio=studio,
        by=by,
        channel=shop_channel,
        items=[(one, D("24.95")) for one in sets[4:7]],
        sent_on=today,
    )
    consigning.settle(
        consignment=note, by=by, on=today, sold=[(sets[4], D("24.95"))], returned=[sets[5]]
    )
    whole = going_on.send_out(
        studio=studio, by=by, channel=shop_channel, items=[(sets[5], D(20))], sent_on=today
    )
    consigning.settle(consignment=whole, by=by, on=today, lost_sets=[sets[5]])
    for thing in (studio.materials.get(name="Interference pearl, fine"), sets[7]):
        appraisals.appraise(
            studio=studio, by=by, thing=thing, value=D("1.37"), reason="Nobody asks for it"
        )


def _people(made):
    studio, by = made.studio, made.user
    for email in ("dee@lanternfish.example", "flo@lanternfish.example"):
        _, secret = people.invite(studio=studio, by=by, email=email, role="maker")
        made.secrets["join"].append(secret)
    create_token(studio=studio, user=by, label="Shop website")
    _, secret = calendar_links.make_calendar_link(studio=studio, user=by)
    made.secrets["calendar"].append(secret)
    working_days.take_days_off(
        studio=studio,
        first=studio.today() + timedelta(days=10),
        last=studio.today() + timedelta(days=12),
        reason="Fair",
    )
    costing_changes.change_costing(
        studio=studio,
        by=by,
        method="moving_average",
        from_day=studio.today() + timedelta(days=20),
    )
    people.open_studio(user=by, name="The other shed", time_zone="America/New_York")
