from decimal import Decimal as D

import pytest

from inventory.models import Movement
from inventory.stock import books
from inventory.stock import ledger as stock
from pricing.books import CHECKS
from pricing.earnings import profit
from pricing.earnings.losses import losses
from pricing.models import FinishedPiece, PieceSet
from pricing.models.cost import NOTHING
from pricing.selling import sales
from tests.factories.bench import working_studio
from tests.factories.judged import coat_judged
from tests.factories.pricing import ChannelFactory
from tests.pricing.bench.test_pours import log
from tests.pricing.commissions.test_commissions import accepted
from tests.pricing.selling.test_sales import pack, sell

pytestmark = pytest.mark.django_db


@pytest.fixture
def bench():
    return working_studio()


def test_profit_of_a_set_is_worked_out_from_what_it_took(bench):
    """By hand: a pour of 4 takes 6.20 of materials (see bench.test_pours) and 40 minutes, a box is
    1.20 and packing 5 minutes. 45 minutes at 18.00 are 13.50, at 6.00 4.50. The market takes a
    tenth of 44.00 and 0.60; tax is a tenth on top of 40.00."""
    market = ChannelFactory(studio=bench.studio, percent_fee=D("0.10"), fixed_fee=D("0.60"))
    one = pack(bench, minutes=D(5))

    sell(bench, [(one, D(44))], channel=market)

    (row,) = profit.set_profit(bench.studio)
    assert (row.profit.revenue, row.profit.tax, row.profit.fees) == (D(44), D(4), D(5))
    assert (row.profit.materials, row.profit.labour, row.profit.overhead) == (
        D("7.40"),
        D("13.50"),
        D("4.50"),
    )
    assert row.profit.profit == D(44) - 4 - 5 - D("7.40") - D("13.50") - D("4.50")
    assert (row.size, row.technique, row.palette, row.pieces) == (
        "Tile 10 × 10 cm",
        "Bloom",
        "Tide",
        4,
    )


def test_a_set_without_packaging_costs_the_minutes_of_packing(bench):
    one = pack(bench, packaging=None, minutes=D(5))

    spent = PieceSet.objects.get(pk=one.pk).spent

    # 40 minutes of pouring and 5 of packing, at 18.00 and 6.00 an hour.
    assert (spent.minutes, spent.labour, spent.overhead) == (45, D("13.50"), D("4.50"))


def test_work_that_was_undone_costs_nothing(bench):
    pour = log(bench)
    stock.reverse(studio=bench.studio, by=None, entry=pour.entry, why="Twice")

    assert {piece.spent for piece in pour.pieces.all()} == {NOTHING}
    assert profit.whereabouts(bench.studio).total == NOTHING


def test_pieces_that_lived_carry_those_that_failed(bench):
    """Three of four lived, so each carries a third of 6.20, to the millionth."""
    pour = log(bench)

    shares = [piece.spent.materials for piece in pour.pieces.filter(state="good")]
    assert shares == [D("2.066667"), D("2.066667"), D("2.066666")]
    assert profit.whereabouts(bench.studio).loose.materials == D("6.20")


def test_a_pour_of_which_nothing_lived_goes_to_the_other_pieces_of_its_line(bench):
    line = accepted(bench, quantity=1).lines.get()
    log(bench, line=line, good_count=0)
    second = log(bench, line=line, good_count=4)

    assert profit.whereabouts(bench.studio).lost == NOTHING
    assert sum(piece.spent.materials for piece in second.pieces.all()) == D("12.40")


def test_a_pour_of_which_nothing_lived_is_lost_when_nothing_can_carry_it(bench):
    log(bench, good_count=0)

    where = profit.whereabouts(bench.studio)

    assert where.lost.materials == where.total.materials == D("6.20")


def test_a_topcoat_is_carried_by_the_pieces_it_did_not_spoil(bench):
    pour = log(bench, good_count=4)
    coat_judged(pour=pour, by=None, kit=bench.kit, mixed_ml=D(80), minutes=D(30), spoiled_count=2)

    alive = FinishedPiece.objects.filter(state="good")
    assert [piece.spent.materials for piece in alive] == [(D("6.20") + D("4.80")) / 2] * 2
    assert [piece.spent.minutes for piece in alive] == [35, 35]


def test_work_done_at_an_older_rate_keeps_it(bench):
    one = pack(bench)
    bench.studio.labour_rate = D(90)
    bench.studio.save()

    sell(bench, [(one, D(44))])

    (row,) = profit.set_profit(bench.studio)
    assert row.profit.labour == 12  # 40 minutes at 18.00


def test_what_a_sale_pays_once_is_shared_by_price(bench):
    sale = sell(
        bench,
        [(pack(bench), D(30)), (pack(bench), D(60))],
        channel=ChannelFactory(studio=bench.studio, fixed_fee=D("1.00")),
        shipping_charged=D("9.00"),
        shipping_paid=D("10.00"),
    )

    rows = profit.set_profit(bench.studio)

    assert [row.profit.revenue for row in rows] == [33, 66]
    assert [row.profit.fees for row in rows] == [D("0.333"), D("0.667")]
    whole = profit.total(rows)
    assert (whole.revenue, whole.fees, whole.tax) == (99, sale.fees, 9)
    assert whole.materials == 2 * D("7.40") + 10


def test_a_refund_is_a_row_of_its_own_and_leaves_the_sale_as_it_was(bench):
    """By hand: 44.00 with a tenth of tax in it on top of 40.00, 4.40 of fees, 7.40 of materials and
    6.00 of shipping, 40 minutes: 12.00 of labour and 4.00 of overhead. So 6.20 were earned. All but
    the shipping and 0.40 of the fees comes back."""
    market = ChannelFactory(studio=bench.studio, percent_fee=D("0.10"))
    one = pack(bench)
    sale = sell(bench, [(one, D(44))], channel=market, shipping_paid=D(6))
    before = profit.set_profit(bench.studio)

    sales.refund(sale=sale, by=None, fees_kept=D("0.40"))

    back, sold = profit.set_profit(bench.studio)
    assert [sold.profit] == [row.profit for row in before]
    assert sold.profit.profit == D(44) - 4 - D("4.40") - D("13.40") - 12 - 4
    assert (sold.is_refund, back.is_refund) == (False, True)
    assert vars(back.profit) == {
        "revenue": -44,
        "tax": -4,
        "fees": -4,
        "materials": D("-7.40"),
        "labour": -12,
        "overhead": -4,
        "minutes": -40,
    }
    assert sold.profit.profit + back.profit.profit == -D("6.40")
    assert profit.whereabouts(bench.studio).for_sale.materials == D("7.40")


def test_a_set_refunded_and_sold_again_costs_once(bench):
    one = pack(bench)
    sales.refund(sale=sell(bench, [(one, D(44))]), by=None)
    sales.refund(sale=sell(bench, [(one, D(40))]), by=None, returned=False)

    rows = profit.set_profit(bench.studio)

    assert profit.total(rows).materials == 0
    assert profit.whereabouts(bench.studio).lost.materials == D("7.40")
    (gone,) = losses(bench.studio)
    assert (gone.kind, gone.cost.materials) == ("written_off", D("7.40"))


def a_busy_week(bench):
    """Sold, for sale, loose, lost, undone, unpacked and refunded, all at once."""
    tiles = stock.Receipt(material=bench.tile, quantity=D(20), value=D(10))
    stock.receive(studio=bench.studio, by=None, receipts=[tiles], kind=Movement.Kind.OPENING)
    log(bench, good_count=0)
    log(bench)
    first, second, third = pack(bench), pack(bench), pack(bench)
    sell(bench, [(first, D("31.50"))], shipping_charged=D(4), shipping_paid=D("3.20"))
    sales.refund(sale=sell(bench, [(second, D(29))]), by=None, returned=False)
    sales.unpack_set(piece_set=third, by=None, packaging_back=False)
    undone = log(bench)
    stock.reverse(studio=bench.studio, by=None, entry=undone.entry, why="Twice")
    pack(bench)


@pytest.mark.parametrize("settings", [{}, {"costing": "moving_average", "run_off_value": "base"}])
def test_costs_add_up_to_what_left_the_ledger(settings):
    bench = working_studio(**settings)
    a_busy_week(bench)

    where = profit.whereabouts(bench.studio)

    opening = sum(Movement.objects.filter(kind="opening").values_list("value", flat=True))
    everything = sum(Movement.objects.values_list("value", flat=True))
    assert where.total.materials == opening - everything
    assert min(part.materials for part in (where.sold, where.for_sale, where.loose, where.lost)) > 0
    rows = profit.set_profit(bench.studio)
    assert profit.total(rows).materials - D("3.20") == where.sold.materials
    assert sum(one.cost.materials for one in losses(bench.studio)) == where.lost.materials


def test_every_cut_has_the_same_total(bench):
    a_busy_week(bench)
    rows = profit.set_profit(bench.studio)

    for by in profit.CUTS:
        cuts = profit.cut(rows, by)
        assert sum(one.profit.profit for one in cuts) == profit.total(rows).profit, by
        assert sum(one.sets + one.refunded for one in cuts) == len(rows)


def test_a_busy_week_passes_the_books(bench):
    a_busy_week(bench)
    accepted(bench)

    assert books.check(bench.studio) == []
    assert set(CHECKS) <= set(books.checks)


def test_the_books_name_pieces_that_do_not_agree_with_their_pour(bench):
    pour = log(bench)
    pour.pieces.filter(number=1).update(state="failed", verdict="failed")

    found = books.check(bench.studio)
    wrong = [one.row for one in found if one.check == "pieces"]
    assert wrong == ["Pour 1", "Piece 1 of Pour 1"]


def test_the_books_name_stock_held_for_finished_work(bench):
    commission = accepted(bench)
    type(commission).objects.filter(pk=commission.pk).update(status="paid")

    found = {finding.check for finding in books.check(bench.studio)}

    assert found == {"promises"}


@pytest.mark.parametrize("count", (1, 3))
def test_profit_asks_the_same_however_much_is_sold(bench, count, django_assert_num_queries):
    for _ in range(count):
        sell(bench, [(pack(bench), D(44))])

    # what was posted, with lines, sets and sales; the pieces of the sets
    with django_assert_num_queries(2):
        profit.set_profit(bench.studio)


def test_another_studios_sales_are_not_in_it(bench):
    other = working_studio()
    sell(other, [(pack(other), D(44))])

    assert profit.set_profit(bench.studio) == []
