"""Costs are written by the act that changes them, and proved another way by the books."""

import random
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal as D

import pytest

from inventory.models import Movement
from inventory.stock import books
from inventory.stock import ledger as stock
from pricing.bench import pours, topcoats
from pricing.earnings.losses import losses
from pricing.earnings.profit import set_profit, whereabouts
from pricing.models import FinishedPiece, PieceSet, Posting
from pricing.models.cost import COLUMNS
from pricing.selling import booking, consigning, sales
from studio.errors import StudioError
from tests.factories import going_on
from tests.factories.bench import working_studio
from tests.factories.judged import coat_judged
from tests.factories.pricing import ChannelFactory
from tests.pricing.bench.test_pours import log
from tests.pricing.commissions.test_commissions import accepted
from tests.pricing.earnings.test_losses import POURED
from tests.pricing.selling.test_sales import pack, sell

pytestmark = pytest.mark.django_db
# By hand, as the tests of pours have it: a pour of four tiles takes 6.20 of materials and 40
# minutes, at 18.00 and 6.00 an hour 12.00 and 4.00; a box is 1.20, 80 mL of resin 4.80.
POUR, BOX, RESIN = D("6.20"), D("1.20"), D("4.80")


@pytest.fixture
def bench():
    bench = working_studio()
    for material, count in ((bench.tile, 200), (bench.box, 50)):
        receipt = stock.Receipt(material=material, quantity=D(count), value=D(count) / 2)
        if material == bench.box:
            receipt = stock.Receipt(material=material, quantity=D(count), value=D(count) * BOX)
        stock.receive(studio=bench.studio, by=None, receipts=[receipt], kind=Movement.Kind.OPENING)
    return bench


def spent(row):
    row.refresh_from_db()
    return (row.spent.materials, row.spent.labour, row.spent.overhead, row.spent.minutes)


def postings(**of_what):
    rows = Posting.objects.filter(**of_what).order_by("pk")
    return [(one.kind, one.day, one.materials) for one in rows]


def coat(bench, pour, **more):
    wanted = {"kit": bench.kit, "mixed_ml": D(80), **more}
    return coat_judged(pour=pour, by=None, **wanted)


def moment(day):
    return datetime(day.year, day.month, day.day, 12, tzinfo=UTC)


def test_a_set_costs_its_pieces_and_its_packing(bench):
    one = pack(bench, minutes=D(5))

    assert spent(one) == (POUR + BOX, D("13.50"), D("4.50"), 45)
    assert {piece.spent.materials for piece in one.pieces.all()} == {POUR / 4}


def test_what_is_undone_is_taken_off_again(bench):
    pour = log(bench, good_count=4)
    topcoat = coat(bench, pour, minutes=D(10))
    piece = pour.pieces.first()
    coated = spent(piece)

    topcoats.undo_topcoat(coat=topcoat, by=None, why="Twice")
    alone = spent(piece)
    stock.reverse(studio=bench.studio, by=None, entry=pour.entry, why="Twice")

    assert coated == ((POUR + RESIN) / 4, D("3.75"), D("1.25"), D("12.5"))
    assert alone == (POUR / 4, 3, 1, 10)
    assert spent(piece) == (0, 0, 0, 0)
    assert books.check(bench.studio) == []


def test_a_pour_of_which_nothing_lived_is_lost_until_its_line_carries_it(bench):
    line = accepted(bench, quantity=1).lines.get()
    first, second = date(2026, 3, 2), date(2026, 4, 3)
    failed = log(bench, line=line, good_count=0, poured_at=moment(first))
    alone = postings(pour=failed)

    good = log(bench, line=line, good_count=4, poured_at=moment(second))

    assert alone == [("pours", first, POUR)]
    assert postings(pour=failed) == [*alone, ("pours", second, -POUR)]
    assert {piece.spent.materials for piece in good.pieces.all()} == {POUR * 2 / 4}
    assert books.check(bench.studio) == []


def test_what_a_sold_set_comes_to_cost_later_is_a_row_of_that_day(bench):
    """Two of four pieces are packed and sold in March. In May the other two are coated: the whole
    pour carries it, so that half of 4.80 is of the set that is sold."""
    march, may = date(2026, 3, 2), date(2026, 5, 4)
    pour = log(bench, good_count=4, poured_at=moment(march))
    pieces = list(pour.pieces.all())
    one = going_on.pack_set(
        studio=bench.studio, by=None, name="Two", pieces=pieces[:2], made_on=march
    )
    sale = sell(bench, [(one, D(44))], sold_on=march)
    before = [row.profit for row in set_profit(bench.studio)]

    coat(bench, pour, coated_at=moment(may))

    late, sold = set_profit(bench.studio)
    assert [sold.profit] == before
    assert (late.kind, late.day, late.profit.materials, late.profit.revenue) == (
        *("late", may),
        *(RESIN / 2, 0),
    )
    assert spent(one)[0] == (POUR + RESIN) / 2
    assert books.check(bench.studio) == []

    sales.refund(sale=sale, by=None, returned=False)

    assert sum(row.profit.materials for row in set_profit(bench.studio)) == 0
    (gone,) = losses(bench.studio)
    assert gone.cost.materials == (POUR + RESIN) / 2
    assert books.check(bench.studio) == []


def test_what_a_lost_set_comes_to_cost_later_is_lost_too(bench):
    pour = log(bench, good_count=4, poured_at=POURED)
    pieces, made_on = list(pour.pieces.all()), POURED.date()
    wanted = {"name": "Two", "pieces": pieces[:2], "made_on": made_on}
    one = going_on.pack_set(studio=bench.studio, by=None, **wanted)
    shop = ChannelFactory(studio=bench.studio, is_consignment=True)
    note = going_on.send_out(
        studio=bench.studio, by=None, channel=shop, items=[(one, D(40))], sent_on=made_on
    )
    consigning.lost(consignment=note, by=None, sets=[one], on=date(2026, 2, 2))

    coat(bench, pour, coated_at=moment(date(2026, 3, 3)))

    assert postings(piece_set=one) == [
        ("at_shops", date(2026, 2, 2), POUR / 2),
        ("at_shops", date(2026, 3, 3), RESIN / 2),
    ]
    assert books.check(bench.studio) == []


class Someone:
    """Somebody who does at random whatever can be done, and is refused the rest."""

    def __init__(self, bench, seed):
        self.bench, self.dice = bench, random.Random(seed)
        self.studio, self.day = bench.studio, date(2026, 1, 5)
        commission = accepted(bench, quantity=6)
        self.line = commission.lines.get()
        self.shop = ChannelFactory(
            studio=self.studio, is_consignment=True, percent_fee=D("0.4"), fixed_fee=D("0.3")
        )

    def live(self, days):
        acts = (
            *(self.pour, self.pour, self.coat, self.pack, self.pack, self.sell, self.refund),
            *(self.unpack, self.undo_pour, self.undo_coat, self.consign, self.settle),
        )
        done = 0
        for _ in range(days):
            self.day += timedelta(days=self.dice.randrange(0, 3))
            try:
                self.dice.choice(acts)()
                done += 1
            except (StudioError, IndexError):  # IndexError: there is none to choose from
                continue
        return done

    def any(self, rows):
        return self.dice.choice(list(rows))

    def pour(self):
        count = self.dice.randrange(1, 5)
        log(
            self.bench,
            line=self.dice.choice([None, self.line]),
            count=count,
            good_count=self.dice.choice([0, count, count, self.dice.randrange(0, count + 1)]),
            minutes=D(self.dice.randrange(0, 700)) / 10,
            poured_at=moment(self.day),
        )

    def coat(self):
        pour = self.any(self.studio.pours.standing())
        wanted = {"coated_at": moment(self.day), "minutes": D(self.dice.randrange(0, 90)) / 7}
        wanted["minutes"] = round(wanted["minutes"], 2)
        coat(self.bench, pour, mixed_ml=D(7), spoiled_count=self.dice.choice([0, 0, 1]), **wanted)

    def pack(self):
        loose = list(self.studio.pieces.filter(state="good", piece_set=None))
        pieces = self.dice.sample(loose, min(len(loose), self.dice.randrange(1, 5)))
        line = self.dice.choice([None, self.line])
        box = self.dice.choice([None, self.bench.box])
        going_on.pack_set(
            studio=self.studio,
            by=None,
            name="Some",
            pieces=pieces,
            line=line,
            packaging=box,
            minutes=D(self.dice.randrange(0, 20)),
            made_on=self.day,
        )

    def sell(self):
        sets = list(self.studio.sets.for_sale())
        sold = self.dice.sample(sets, min(len(sets), self.dice.randrange(1, 4)))
        items = [(one, D(self.dice.randrange(0, 9000)) / 100) for one in sold]
        sell(self.bench, items, sold_on=self.day, shipping_paid=D("3.33"), shipping_charged=D(4))

    def refund(self):
        sale = self.any(self.studio.sales.filter(refunded_at=None))
        kept = min(sale.fees, D("0.10"))
        returned = self.dice.random() < 0.6
        sales.refund(sale=sale, by=None, fees_kept=kept, returned=returned, refunded_on=self.day)

    def unpack(self):
        sales.unpack_set(
            piece_set=self.any(self.studio.sets.unsold()),
            by=None,
            packaging_back=self.dice.random() < 0.5,
        )

    def undo_pour(self):
        pour = self.any(self.studio.pours.standing())
        pours.undo_pour(pour=pour, by=None, why="Twice")

    def undo_coat(self):
        topcoat = self.any(self.studio.topcoatings.standing())
        topcoats.undo_topcoat(coat=topcoat, by=None, why="Twice")

    def consign(self):
        sets = list(self.studio.sets.for_sale())
        items = [(one, D(40)) for one in self.dice.sample(sets, min(len(sets), 2))]
        going_on.send_out(
            studio=self.studio, by=None, channel=self.shop, items=items, sent_on=self.day
        )

    def settle(self):
        note = self.any(self.studio.consignments.filter(lines__outcome="out"))
        fates = {"sold": [], "returned": [], "lost_sets": []}
        for line in note.lines.filter(outcome="out"):
            fate = self.dice.choice(list(fates))
            fates[fate].append((line.piece_set, D(40)) if fate == "sold" else line.piece_set)
        consigning.settle(consignment=note, by=None, on=self.day, **fates)


@pytest.mark.parametrize("seed", range(3))
def test_whatever_is_done_is_kept_as_the_books_count_it(bench, seed):
    someone = Someone(bench, seed)

    done = someone.live(140)

    assert done > 30
    assert books.check(bench.studio) == []
    kinds = {kind for kind, _, _ in postings(studio=bench.studio)}
    assert kinds >= {"sold", "refunded", "pours"}


def test_what_an_archive_of_before_brings_is_counted_as_the_acts_wrote_it(bench):
    Someone(bench, 11).live(110)
    costs = list(FinishedPiece.objects.order_by("pk").values_list(*COLUMNS))
    costs += list(PieceSet.objects.order_by("pk").values_list(*COLUMNS))
    where = whereabouts(bench.studio)
    Posting._base_manager.all().delete()
    FinishedPiece.objects.update(**dict.fromkeys(COLUMNS, 0))
    PieceSet.objects.update(**dict.fromkeys(COLUMNS, 0))

    booking.book_all(bench.studio)

    again = list(FinishedPiece.objects.order_by("pk").values_list(*COLUMNS))
    assert [*again, *PieceSet.objects.order_by("pk").values_list(*COLUMNS)] == costs
    assert whereabouts(bench.studio) == where
    assert books.check(bench.studio) == []


@pytest.mark.parametrize(
    ("model", "column", "row"),
    [
        (FinishedPiece, "cost_materials", "Piece 1 of Pour 1"),
        (PieceSet, "cost_labour", "Set 1: Four coasters"),
        (Posting, "revenue", "Sale 1"),
        (Posting, "overhead", "Set 1: Four coasters in Sale 1"),
    ],
)
def test_the_books_name_the_row_that_differs(bench, model, column, row):
    sell(bench, [(pack(bench), D(44))])
    first = model._base_manager.earliest("pk")
    wrong = getattr(first, column) + D("0.001")
    model._base_manager.filter(pk=first.pk).update(**{column: wrong})

    found = {one.row: one for one in books.check(bench.studio)}

    assert found[row].check == "costs"
    assert column.removeprefix("cost_") in found[row].sentence
