"""What a bookkeeper is given of a month, and a story at random that comes late and undoes."""

import random
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal as D

from inventory.models import Bottle
from inventory.stock import ledger as stock
from pricing.commissions import payments
from pricing.earnings.closing import close_months
from pricing.earnings.profit import CUTS
from pricing.earnings.report import reports
from pricing.earnings.views.closing import LISTS, files_of
from pricing.selling import consigning, sales
from studio.errors import StudioError
from studio.periods import Period
from tests.factories import going_on
from tests.factories.pricing import ChannelFactory
from tests.pricing.bench.test_pours import log
from tests.pricing.commissions.test_commissions import accepted
from tests.pricing.earnings.test_losses import act
from tests.pricing.selling.test_sales import pack, sell

MAY = date(2026, 5, 31)


def noon(day):
    return datetime(day.year, day.month, day.day, 12, tzinfo=UTC)


def close(bench, day=MAY):
    return close_months(studio=bench.studio, by=bench.owner.user, up_to=day)


def given(bench, up_to):
    """Return every file and report of the month that ends on a day, as bytes or as text."""
    closing = bench.studio.closings.standing().get(up_to=up_to)
    files = {name: bench.owner.client.get(address) for name, address in files_of(closing)}
    assert {answer.status_code for answer in files.values()} == {200}
    found = {name: answer.content for name, answer in files.items()}
    assert len(found) == 2 + len(LISTS)
    asked = {"from": up_to.replace(day=1).isoformat(), "to": up_to.isoformat()}
    period = Period(up_to.replace(day=1), up_to)
    for by in CUTS:
        found[by] = repr(
            [
                (one.currency, one.cuts, one.total, one.lost, one.lost_total)
                for one in reports(bench.studio, by, period)
            ]
        )
        answer = bench.owner.api.get("/api/v1/profit/cuts/", {**asked, "by": by})
        found[f"api {by}"] = answer.content
    at = f"/api/v1/closings/{closing.pk}/stock-value/"
    found["api stock"] = bench.owner.api.get(at, {"as": "csv"}).content
    assert found["api stock"] == found["Stock value"]
    for name in ("payments", "invoices", "profit"):
        found[f"api {name}"] = bench.owner.api.get(f"/api/v1/{name}/", asked).content
    return found


class Story:
    """Acts of six months in no order, with months closed in between."""

    def __init__(self, bench, seed):
        self.bench, self.dice = bench, random.Random(seed)
        self.sets, self.sold, self.paid, self.pours = [], [], [], []
        self.undoable = []
        self.shop = ChannelFactory(studio=bench.studio, percent_fee=D("0.35"), is_consignment=True)
        for material, count, worth in ((bench.tile, 400, 200), (bench.box, 60, 72)):
            receipt = stock.Receipt(material=material, quantity=D(count), value=D(worth))
            act(bench, stock.receive, receipts=[receipt])
        for material in (bench.white, bench.blue, bench.gold):
            receipt = stock.Receipt(material=material, quantity=D(5000), value=D(120))
            act(bench, stock.receive, receipts=[receipt])
        self.commission = accepted(bench)

    def day(self):
        return date(2026, 1, 1) + timedelta(days=self.dice.randrange(0, 181))

    def pack(self):
        self.sets.append(pack(self.bench, poured_at=noon(self.day())))

    def sell(self):
        if self.sets:
            one = self.sets.pop()
            day = max(self.day(), one.made_on)
            self.sold.append(sell(self.bench, [(one, D(self.dice.randrange(20, 60)))], sold_on=day))

    def refund(self):
        if self.sold:
            sale = self.sold.pop(self.dice.randrange(len(self.sold)))
            day = max(self.day(), sale.sold_on)
            sales.refund(
                sale=sale,
                by=None,
                refunded_on=day,
                returned=self.dice.random() < 0.5,
                why="Cracked",
            )

    def lose_at_shop(self):
        if self.sets:
            one = self.sets.pop()
            sent = one.made_on
            note = act(
                self.bench,
                going_on.send_out,
                channel=self.shop,
                items=[(one, D(50))],
                sent_on=sent,
            )
            day = max(self.day(), sent)
            consigning.lost(consignment=note, by=None, sets=[one], on=day)

    def waste(self):
        bottle = self.bottle()
        done = act(
            self.bench, stock.waste, bottle=bottle, quantity=D(3), happened_at=noon(self.day())
        )
        self.undoable.append(done)

    def count(self):
        bottle = self.bottle()
        left = bottle.remaining + D(self.dice.choice((-5, -2, 4)))
        done = act(
            self.bench, stock.recount, bottle=bottle, quantity=left, happened_at=noon(self.day())
        )
        self.undoable.append(done)

    def use(self):
        material = self.dice.choice((self.bench.white, self.bench.gold))
        done = act(self.bench, stock.use, amounts={material: D(4)}, happened_at=noon(self.day()))
        self.undoable.append(done)

    def pour_badly(self):
        pour = log(self.bench, good_count=0, poured_at=noon(self.day()))
        self.undoable.append(pour.entry)

    def keep_until(self):
        """Find that a bottle keeps for less than was thought."""
        bottle = self.bottle()
        Bottle.objects.filter(pk=bottle.pk).update(expires_on=self.day())

    def undo(self):
        if self.undoable:
            entry = self.undoable.pop(self.dice.randrange(len(self.undoable)))
            at = self.dice.choice((None, noon(self.day())))
            stock.reverse(studio=self.bench.studio, by=None, entry=entry, happened_at=at)

    def pay(self):
        self.paid.append(
            payments.take_payment(
                commission=self.commission, by=None, amount=D(1), paid_on=self.day()
            )
        )

    def strike(self):
        if self.paid:
            payment = self.paid.pop(self.dice.randrange(len(self.paid)))
            payments.strike_payment(payment=payment, by=None, note="Typed twice")

    def bottle(self):
        rows = self.bench.studio.bottles.filter(remaining__gt=50, material__unit="ml")
        return self.dice.choice(list(rows.order_by("pk")))

    ACTS = (
        *(pack, pack, sell, sell, refund, lose_at_shop, waste, count, use, pour_badly),
        *(keep_until, undo, undo, pay, strike),
    )

    def live(self, count):
        for _ in range(count):
            try:
                self.dice.choice(self.ACTS)(self)
            except StudioError:
                continue  # what was refused has done nothing, and the story goes on
