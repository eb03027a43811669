from collections import defaultdict
from decimal import Decimal
from zoneinfo import ZoneInfo

from django.db import migrations
from django.utils import timezone

NONE = (0, Decimal(0))
MOST = 500


def fill(apps, schema_editor):
    """Note what of pieces and sets came to hand and left it, and from when on days are known.

    What things had cost on the days between was not kept: they count at what they cost by now, and
    sets that were taken apart as if they had never been packed.
    """
    for studio in apps.get_model("studio", "Studio").objects.iterator():
        _Things(apps, studio).write()


class _Things:
    def __init__(self, apps, studio):
        self.studio, self.zone = studio, ZoneInfo(studio.time_zone)
        names = "FinishedPiece PieceSet SaleLine ConsignedSet FinishedChange"
        self.models = {name: apps.get_model("pricing", name) for name in names.split()}
        self.holds = apps.get_model("inventory", "Hold").objects.filter(studio=studio)
        self.sums = defaultdict(lambda: NONE)
        self.first = {}  # when the last piece of each set was there

    def write(self):
        self.pieces()
        self.sets()
        change = self.models["FinishedChange"]
        rows = [
            change(
                studio=self.studio,
                day=day,
                came=max(count, 0),
                left=max(-count, 0),
                cost=cost,
                **{of: key},
            )
            for (of, key, day), (count, cost) in self.sums.items()
            if (count, cost) != NONE
        ]
        change.objects.bulk_create(rows, batch_size=MOST)
        if rows or self.holds.exists():
            self.studio.days_kept_from = self.day(timezone.now())
            self.studio.save(update_fields=["days_kept_from"])

    def pieces(self):
        pieces = self.models["FinishedPiece"].objects.filter(studio=self.studio)
        pieces = pieces.filter(pour__entry__reversed_by=None)
        for piece in pieces.select_related("pour__entry", "piece_set", "spoiled_by__entry").order_by("pk"):
            day, cost = piece.pour.entry.booked_on, _cost(piece)
            if piece.state == "good" or piece.spoiled_by:
                self.add("pour_id", piece.pour_id, day, 1, cost)
            if piece.spoiled_by:
                day = max(day, piece.spoiled_by.entry.booked_on)
                self.add("pour_id", piece.pour_id, day, -1, -cost)
            if piece.piece_set:
                key, day = piece.piece_set.pk, max(day, piece.piece_set.made_on)
                self.first[key] = max(day, self.first.get(key, day))
                self.add("pour_id", piece.pour_id, day, -1, -cost)

    def sets(self):
        lost = self.models["ConsignedSet"].objects.filter(piece_set__studio=self.studio)
        gone_on = dict(lost.filter(outcome="lost").values_list("piece_set", "settled_on"))
        sales = defaultdict(list)
        lines = self.models["SaleLine"].objects.filter(sale__studio=self.studio)
        for line in lines.select_related("sale").order_by("pk"):
            sales[line.piece_set_id].append(line.sale)
        sets = self.models["PieceSet"].objects.filter(studio=self.studio, unpacked_at=None)
        for one in sets.order_by("pk"):
            cost, day = _cost(one), self.first.get(one.pk, one.made_on)
            self.add("piece_set_id", one.pk, day, 1, cost)
            for sale in sales[one.pk]:
                self.add("piece_set_id", one.pk, max(day, sale.booked_on), -1, -cost)
                if sale.refund_booked_on:
                    day = max(day, sale.refund_booked_on)
                    self.add("piece_set_id", one.pk, day, 1, cost)
            if one.written_off_at:
                off = gone_on.get(one.pk) or (
                    day if sales[one.pk] else self.day(one.written_off_at)
                )
                self.add("piece_set_id", one.pk, max(day, off), -1, -cost)

    def add(self, of, key, day, count, cost):
        before = self.sums[of, key, day]
        self.sums[of, key, day] = (before[0] + count, before[1] + cost)

    def day(self, moment):
        return moment.astimezone(self.zone).date()


def _cost(row):
    return row.cost_materials + row.cost_labour + row.cost_overhead


class Migration(migrations.Migration):

    dependencies = [
        ("pricing", "0020_days_kept"),
        ("inventory", "0014_fill_days"),
        ("studio", "0007_days_kept"),
    ]

    operations = [
        migrations.RunPython(fill),
    ]
