"""Weeks of a studio at random, with what it showed noted at the end of each day.

Acts go through the services, at the moment of the story's clock or, where a story may look back,
at an earlier one. What a service refuses is not done.
"""

from datetime import timedelta
from decimal import Decimal as D
from random import Random
from types import SimpleNamespace

from django.db import transaction

from inventory.stock import ledger as stock
from inventory.stock.promised import promised_works
from pricing.commissions import orders, owing, payments
from pricing.earnings.appraisals import appraise, withdraw_appraisal
from pricing.earnings.valuation import valuation
from pricing.models import FinishedPiece, Posting
from pricing.quoting import quotes
from pricing.selling import consigning, sales
from studio.errors import StudioError
from studio.models import Studio
from tests.factories import going_on
from tests.factories.bench import working_studio
from tests.factories.judged import coat_judged
from tests.factories.pricing import ChannelFactory
from tests.living.clock import Clock
from tests.pricing.bench.test_pours import log

PLACES = {"JPY": 0, "KWD": 3}
MATERIALS = ("white", "blue", "gold", "resin", "hardener", "tile", "box")


class Days:
    """One studio, its clock, and ``shown``: {day: what it showed at the day's end}."""

    def __init__(self, monkeypatch, seed, looks_back=False, **settings):
        self.dice, self.looks_back = Random(seed), looks_back
        self.clock = Clock()
        self.clock.govern(monkeypatch)
        self.bench = working_studio(**settings)
        self.studio = self.bench.studio
        for name in ("resin", "tile", "box", "white"):
            self.receive(getattr(self.bench, name))
        self.shop = ChannelFactory(studio=self.studio, is_consignment=True, percent_fee=D("0.4"))
        self.shown, self.done, self.refused = {}, {}, {}

    def live(self, acts):
        """Live so many acts, a few a day."""
        names = sorted(ACTS)
        for _ in range(acts):
            (name,) = self.dice.choices(names, [ACTS[one] for one in names])
            self.act(name)
            if self.dice.random() < 0.4:
                self.end_the_day()
        self.end_the_day()
        return self

    def act(self, name):
        try:
            with transaction.atomic():
                getattr(self, name)()
        except Impossible:
            return
        except StudioError as error:
            self.refused[name] = str(error)
            return
        self.done[name] = self.done.get(name, 0) + 1

    def end_the_day(self):
        studio = Studio.objects.get(pk=self.studio.pk)
        self.shown[studio.today()] = shown_now(studio)
        self.clock.go_on(hours=self.dice.randint(20, 60))

    # What is drawn

    def one(self, rows):
        keys = list(rows.order_by("pk").values_list("pk", flat=True))
        if not keys:
            raise Impossible
        return rows.get(pk=self.dice.choice(keys))

    def money(self, low, high):
        places = PLACES.get(self.studio.currency, 2)
        return round(D(self.dice.uniform(low, high)), places)

    def amount(self, low, high, unit="ml"):
        drawn = D(self.dice.uniform(low, high))
        return round(drawn, 0 if unit == "each" else 4)

    @property
    def when(self):
        """Now, or where the story may look back, sometimes a moment of the weeks before."""
        back = timedelta(0)
        if self.looks_back and self.dice.random() < 0.4:
            back = timedelta(hours=self.dice.randint(1, 900))
        return self.clock.now - back

    @property
    def day(self):
        return self.when.astimezone(self.studio.zone).date()

    @property
    def material(self):
        material = getattr(self.bench, self.dice.choice(MATERIALS))
        material.refresh_from_db()
        return material

    # What is done on the shelf

    def receive(self, material=None):
        material = material or self.material
        unit = material.unit
        quantity = self.amount(10, 60, unit) if unit == "each" else self.amount(100, 900)
        receipt = stock.Receipt(
            material, quantity, D(str(self.dice.randint(1, 99_999_999))) / 10**6
        )
        stock.receive(studio=self.studio, by=None, receipts=[receipt], happened_at=self.when)

    def use(self):
        material = self.material
        wanted = {material: self.amount(1, 9, material.unit)}
        stock.use(studio=self.studio, by=None, amounts=wanted, happened_at=self.when)

    def waste(self):
        bottle = self.one(self.studio.bottles.filter(remaining__gt=0))
        unit = bottle.material.unit
        wanted = min(bottle.remaining, self.amount(1, 20, unit))
        kwargs = {"bottle": bottle, "quantity": wanted, "happened_at": self.when}
        stock.waste(studio=self.studio, by=None, **kwargs)

    def undo(self):
        entry = self.one(self.studio.entries.filter(reverses=None, reversed_by=None))
        stock.reverse(studio=self.studio, by=None, entry=entry)

    # What is promised and owed

    def order(self):
        commission = orders.open_commission(
            studio=self.studio, by=None, customer=self.bench.customer, title="Coasters"
        )
        going_on.add_line(
            commission=commission,
            by=None,
            surface=self.bench.tile_size,
            technique=self.bench.bloom,
            palette=self.bench.palette,
            quantity=self.dice.randint(1, 2),
            pieces_each=self.dice.choice((1, 2, 4)),
            packaging=self.bench.box,
        )
        quote = quotes.draft_quote(commission=commission, by=None, shipping=self.money(0, 9))
        quote = going_on.send_quote(quote=quote, by=None, valid_days=365)

    def accept(self):
        quotes.accept_quote(quote=self.one(self.studio.quotes.filter(status="sent")))

    def decline(self):
        quotes.decline_quote(quote=self.one(self.studio.quotes.filter(status="sent")))

    def call_off(self):
        rows = self.studio.commissions.filter(status__in=("accepted", "in_work", "ready"))
        orders.move_on(commission=self.one(rows), status="cancelled", by=None)

    def pay(self):
        commission = self.one(self.studio.commissions)
        wanted = {"amount": self.money(0.5, 30), "paid_on": self.day}
        payments.take_payment(commission=commission, by=None, **wanted)

    def pay_back(self):
        commission = self.one(self.studio.commissions.exclude(payments=None).distinct())
        wanted = {"amount": self.money(0.5, 10), "paid_on": self.day}
        payments.give_back(commission=commission, by=None, **wanted)

    def strike(self):
        payment = self.one(self.studio.payments.filter(paid_on=self.studio.today()))
        payments.strike_payment(payment=payment, by=None, note="By mistake")

    # What is made and sold

    def pour(self):
        count = self.dice.randint(1, 4)
        wanted = {"count": count, "good_count": self.dice.randint(0, count)}
        lines = [None, *self._open_lines()]
        wanted |= {"line": self.dice.choice(lines), "minutes": D(self.dice.randint(0, 50))}
        log(self.bench, poured_at=self.when, **wanted)

    def _open_lines(self):
        rows = self.studio.commissions.filter(status__in=("accepted", "in_work"))
        return [one.lines.get() for one in rows.order_by("pk")]

    def coat(self):
        pour = self.one(self.studio.pours.filter(pieces__state="good").distinct())
        wanted = {"mixed_ml": self.amount(5, 30), "spoiled_count": self.dice.randint(0, 1)}
        moment = max(self.when, pour.poured_at)
        coat_judged(pour=pour, by=None, kit=self.bench.kit, coated_at=moment, **wanted)

    def pack(self):
        loose = FinishedPiece.objects.filter(studio=self.studio, state="good", piece_set=None)
        piece = self.one(loose)
        line = piece.pour.line
        if line and self.dice.random() < 0.9:
            pieces = loose.filter(pour__line=line)[: line.pieces_each]
            going_on.pack_set(studio=self.studio, by=None, name="", pieces=pieces, line=line)
            return
        pieces = loose.order_by("-pk")[: self.dice.randint(1, 3)]
        wanted = {"packaging": self.bench.box, "minutes": D(self.dice.randint(0, 9))}
        going_on.pack_set(studio=self.studio, by=None, name="Some", pieces=pieces, **wanted)

    def unpack(self):
        one = self.one(self.studio.sets.packed())
        back = self.dice.random() < 0.5
        sales.unpack_set(piece_set=one, by=None, packaging_back=back)

    def sell(self):
        one = self.one(self.studio.sets.for_sale())
        wanted = {"channel": self.bench.own_sale, "items": [(one, self.money(1, 60))]}
        later = self.dice.random() < 0.5
        going_on.sell(studio=self.studio, by=None, sold_on=self.day, pays_later=later, **wanted)

    def refund(self):
        sale = self.one(self.studio.sales.filter(refunded_at=None))
        wanted = {"returned": self.dice.random() < 0.6, "refunded_on": self.day}
        sales.refund(sale=sale, by=None, **wanted)

    def send(self):
        items = [(self.one(self.studio.sets.for_sale()), self.money(5, 60))]
        wanted = {"channel": self.shop, "items": items, "sent_on": self.day}
        going_on.send_out(studio=self.studio, by=None, **wanted)

    def settle(self):
        note = self.one(self.studio.consignments.filter(lines__outcome="out").distinct())
        one = note.lines.filter(outcome="out").first().piece_set
        act = self.dice.choice(("sold", "returned", "lost_sets"))
        items = [(one, self.money(5, 60))] if act == "sold" else [one]
        consigning.settle(consignment=note, by=None, on=self.day, **{act: items})

    def appraise(self):
        kind = self.dice.choice(("material", "bottle", "set"))
        rows = {
            "material": self.studio.materials.filter(on_hand__gt=0),
            "bottle": self.studio.bottles.filter(remaining__gt=0),
            "set": self.studio.sets.unsold(),
        }
        wanted = {"thing": self.one(rows[kind]), "value": self.money(0, 20), "reason": "Old"}
        appraise(studio=self.studio, by=None, **wanted)

    def withdraw(self):
        withdraw_appraisal(appraisal=self.one(self.studio.appraisals.filter(withdrawn_at=None)))


# By name, how often.
ACTS = {
    **{"receive": 4, "use": 5, "waste": 3, "undo": 5},
    **{"order": 5, "accept": 5, "decline": 1, "call_off": 1, "pay": 6, "pay_back": 1, "strike": 2},
    **{"pour": 9, "coat": 3, "pack": 9, "unpack": 2, "sell": 6, "refund": 2, "send": 3},
    **{"settle": 3, "appraise": 3, "withdraw": 1},
}


class Impossible(Exception):
    """There is no row of the kind that an act is of."""


def shown_now(studio):
    return shown(valuation(studio), owing.owed(studio), promised_works(studio))


def shown(report, owed, promised):
    """Return what pages show, as plain values."""
    return SimpleNamespace(
        materials={
            row.material.name: (row.quantity, row.cost, row.value) for row in report.materials
        },
        finished={row.label: (row.count, row.cost, row.value) for row in report.finished},
        owed={
            one.commission.number: (one.currency, one.agreed, one.paid, one.deposit_owed)
            for one in owed
        },
        promised={
            (work.work_id, one.hold.material.name): (one.hold.outstanding, one.covered)
            for work in promised
            for one in work.promises
        },
    )


def late_costs(studio):
    return Posting.objects.filter(studio=studio, kind="late").count()
