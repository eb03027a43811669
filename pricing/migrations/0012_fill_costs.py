from collections import defaultdict
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from math import floor
from zoneinfo import ZoneInfo

from django.db import migrations

from studio.amounts import Total
from studio.money import allocate, minor_unit

COST = ("materials", "labour", "overhead", "minutes")
NONE = (Decimal(0),) * 4
MOST = 500


def fill(apps, schema_editor):
    """Write what everything has cost up to now, and post what was earned and lost, on its day.

    Sales are posted at what their sets cost today, as they were reported; what comes later is a
    posting of its own.
    """
    for studio in apps.get_model("studio", "Studio").objects.iterator():
        _Books(apps, studio).write()


class _Books:
    def __init__(self, apps, studio):
        self.studio, self.zone, self.new = studio, ZoneInfo(studio.time_zone), []
        names = "Pour Topcoating FinishedPiece PieceSet Sale SaleLine ConsignedSet Posting"
        self.models = {name: apps.get_model("pricing", name) for name in names.split()}
        self.entries = apps.get_model("inventory", "Entry").objects.filter(studio=studio)
        rows = self.entries.order_by().values_list("pk", "reversed_by")
        self.uses = {
            key: (Decimal(0), True) if undone else (-value, False)
            for key, undone, value in rows.annotate(Total("movements__value"))
        }

    def rows(self, name, **more):
        return self.models[name].objects.filter(studio=self.studio, **more)

    def write(self):
        self.pieces()
        self.sets()
        self.sales()
        self.models["Posting"].objects.bulk_create(self.new, batch_size=MOST)

    def pieces(self):
        pours = {one.pk: one for one in self.rows("Pour")}
        cost = {key: self.act(pour) for key, pour in pours.items()}
        ended = {key: pour.poured_at for key, pour in pours.items()}
        for coat in self.rows("Topcoating"):
            took = self.act(coat)
            cost[coat.pour_id] = _plus(cost[coat.pour_id], took)
            if any(took):
                ended[coat.pour_id] = max(ended[coat.pour_id], coat.coated_at)
        pieces = list(self.rows("FinishedPiece", state="good").order_by("-pour__number", "number"))
        of_pour, of_line = defaultdict(list), defaultdict(list)
        for piece in pieces:
            of_pour[piece.pour_id].append(piece.pk)
            if line := pours[piece.pour_id].line_id:
                of_line[line].append(piece.pk)
        self.carried = defaultdict(lambda: NONE)
        for key, pour in pours.items():
            if carriers := of_pour[key] or of_line[pour.line_id]:
                equal = [1] * len(carriers)
                columns = [allocate(amount, equal, 6) for amount in cost[key]]
                for carrier, *part in zip(carriers, *columns, strict=True):
                    self.carried[carrier] = _plus(self.carried[carrier], part)
            elif any(cost[key]):
                day = self.day(ended[key])
                self.post("pours", day, self.studio.currency, cost[key], pour_id=key)
        self.keep("FinishedPiece", pieces, [self.carried[one.pk] for one in pieces])
        self.of_set = defaultdict(lambda: NONE)
        for piece in pieces:
            if key := piece.piece_set_id:
                self.of_set[key] = _plus(self.of_set[key], self.carried[piece.pk])

    def sets(self):
        sets = list(self.rows("PieceSet"))
        self.spent = {one.pk: _plus(self.of_set[one.pk], self.act(one)) for one in sets}
        self.keep("PieceSet", sets, [self.spent[one.pk] for one in sets])
        broken = self.models["ConsignedSet"].objects.filter(
            piece_set__studio=self.studio, outcome="lost"
        )
        at_shops = {one.piece_set_id: one for one in broken.select_related("consignment")}
        refunded = {
            line.piece_set_id: line.sale
            for line in self.lines().filter(is_live=False).order_by("sale__refunded_at")
        }
        own = self.studio.currency
        for one in sets:
            cost, of_what = self.spent[one.pk], {"piece_set_id": one.pk}
            if one.unpacked_at:
                if any(cost):
                    self.post("packing", self.day(one.unpacked_at), own, cost, **of_what)
            elif one.written_off_at and one.pk in at_shops:
                line = at_shops[one.pk]
                day = line.settled_on or self.day(one.written_off_at)
                self.post("at_shops", day, line.consignment.currency, cost, **of_what)
            elif one.written_off_at:
                sale = refunded.get(one.pk)
                day = (sale and sale.refunded_on) or self.day(one.written_off_at)
                self.post("written_off", day, sale.currency if sale else own, cost, **of_what)
        self.apart = {one.pk for one in sets if one.unpacked_at}

    def lines(self):
        lines = self.models["SaleLine"].objects.filter(sale__studio=self.studio)
        return lines.select_related("sale")

    def sales(self):
        by_sale = defaultdict(list)
        for line in self.lines().order_by("sale", "pk"):
            by_sale[line.sale].append(line)
        for sale, lines in by_sale.items():
            weights = [line.price for line in lines]
            weights = weights if any(weights) else [1] * len(lines)
            gross = sum((line.price for line in lines), sale.shipping_charged)
            tax = _tax_inside(gross, sale.tax_rate, minor_unit(sale.currency))
            back = sale.fees - sale.fees_kept
            amounts = [sale.shipping_charged, tax, sale.fees, sale.shipping_paid, back]
            shares = zip(*(allocate(amount, weights, 3) for amount in amounts), strict=True)
            for line, (charged, tax, fees, shipping, fees_back) in zip(lines, shares, strict=True):
                cost, what = self.sold(line), {"line_id": line.pk}
                sums = {"revenue": line.price + charged, "tax": tax, "fees": fees}
                sums["shipping"] = shipping
                self.post("sold", sale.sold_on, sale.currency, cost, **what, **sums)
                if sale.refunded_on:
                    sums = {"revenue": -line.price - charged, "tax": -tax, "fees": -fees_back}
                    cost = tuple(-amount for amount in cost)
                    self.post("refunded", sale.refunded_on, sale.currency, cost, **what, **sums)

    def sold(self, line):
        if line.booked:
            return tuple(Decimal(line.booked[name]) for name in COST)
        return NONE if line.piece_set_id in self.apart else self.spent[line.piece_set_id]

    def act(self, act):
        materials, undone = self.uses.get(act.entry_id, (Decimal(0), False))
        minutes = Decimal(0) if undone else act.minutes
        work = [
            (minutes * rate / 60).quantize(Decimal("0.000001"), ROUND_HALF_UP)
            for rate in (act.labour_rate, act.overhead_rate)
        ]
        return (materials, *work, minutes)

    def keep(self, name, rows, costs):
        for row, cost in zip(rows, costs, strict=True):
            for part, amount in zip(COST, cost, strict=True):
                setattr(row, f"cost_{part}", amount)
        columns = [f"cost_{part}" for part in COST]
        self.models[name].objects.bulk_update(rows, columns, batch_size=MOST)

    def post(self, kind, day, currency, cost, **more):
        more |= dict(zip(COST, cost, strict=True))
        posting = self.models["Posting"](kind=kind, day=day, currency=currency, **more)
        posting.studio = self.studio
        self.new.append(posting)

    def day(self, moment):
        return moment.astimezone(self.zone).date()


def _plus(one, other):
    return tuple(a + b for a, b in zip(one, other, strict=True))


def _tax_inside(gross, rate, unit):
    """Return the tax in a price, rounded half up to a unit."""
    rate = Fraction(rate)
    units = Fraction(gross) * rate / (1 + rate) / Fraction(unit)
    return floor(units + Fraction(1, 2)) * unit


class Migration(migrations.Migration):
    dependencies = [("pricing", "0011_kept_costs")]

    operations = [migrations.RunPython(fill)]
