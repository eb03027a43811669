from decimal import Decimal as D

import pytest

from inventory.errors import StockShortfall
from inventory.models import Hold
from inventory.stock import ledger as stock
from pricing.errors import SaleRefused, SetRefused
from pricing.models import Commission, FinishedPiece, PieceSet
from pricing.selling import sales
from studio.rows import NotYours
from tests.factories import going_on
from tests.factories.bench import working_studio
from tests.factories.inventory import MaterialFactory
from tests.factories.pricing import ChannelFactory, FinishedPieceFactory
from tests.pricing.bench.test_pours import log
from tests.pricing.commissions.test_commissions import accepted

pytestmark = pytest.mark.django_db


@pytest.fixture
def bench():
    return working_studio()


def pack(bench, poured_at=None, **more):
    """Pour four and pack them: today, or both on an earlier day."""
    pour = log(bench, count=4, good_count=4, poured_at=poured_at)
    wanted = {"name": "Four coasters", "pieces": pour.pieces.all(), "packaging": bench.box}
    wanted["made_on"] = poured_at and poured_at.date()
    return going_on.pack_set(studio=bench.studio, by=None, **wanted | more)


def sell(bench, items, **more):
    wanted = {"channel": bench.own_sale, "sold_on": bench.studio.today(), **more}
    return going_on.sell(studio=bench.studio, by=None, items=items, **wanted)


def test_a_piece_packed_without_a_name_is_called_after_its_surface(bench):
    pour = log(bench, count=4, good_count=4)

    one = going_on.pack_set(studio=bench.studio, by=None, name="", pieces=pour.pieces.all()[:1])

    assert one.name == bench.tile_size.name


def test_packing_takes_one_box_and_keeps_the_minutes_rate(bench):
    one = pack(bench, minutes=D(4))

    bench.box.refresh_from_db()
    assert (bench.box.on_hand, one.pieces.count(), one.labour_rate) == (9, 4, 18)
    assert one.number == 1


def test_a_set_takes_its_box_its_tissue_and_its_card_and_gives_them_back(bench):
    """A box at 1.20, tissue at 0.10 and a card at 0.25: packing takes 1.55, all in one entry."""
    tissue, card = packaging(bench, "tissue", "2"), packaging(bench, "card", "5")

    one = pack(bench, also=[tissue, card])

    taken = -sum(move.value for move in one.entry.movements.all())
    assert (taken, one.spent.materials) == (D("1.55"), D("7.75"))
    with pytest.raises(StockShortfall, match="lone ribbon"):
        pack(bench, also=[MaterialFactory(studio=bench.studio, name="lone ribbon", unit="each")])
    bench.box.refresh_from_db()
    assert bench.box.on_hand == 9
    sales.unpack_set(piece_set=one, by=None)
    assert set(on_hand(bench, bench.box, tissue, card)) == {10, 20}


def packaging(bench, name, worth):
    """Twenty of a packaging, worth so much together."""
    made = MaterialFactory(studio=bench.studio, name=name, kind="packaging", unit="each")
    receipt = stock.Receipt(material=made, quantity=D(20), value=D(worth))
    stock.receive(studio=bench.studio, by=None, receipts=[receipt])
    return made


def on_hand(bench, *materials):
    rows = bench.studio.materials.filter(pk__in=[one.pk for one in materials])
    return rows.values_list("on_hand", flat=True)


def test_a_piece_is_in_one_set_at_most(bench):
    one = pack(bench)

    with pytest.raises(SetRefused, match="Only good pieces that are in no set"):
        going_on.pack_set(studio=bench.studio, by=None, name="Again", pieces=one.pieces.all())


def test_a_failed_piece_is_not_packed(bench):
    pour = log(bench)

    with pytest.raises(SetRefused, match="Piece 4 of Pour 1"):
        going_on.pack_set(studio=bench.studio, by=None, name="", pieces=pour.pieces.all())

    assert not PieceSet.objects.exists()


def test_a_piece_of_another_studio_is_not_found(bench):
    with pytest.raises(NotYours):
        going_on.pack_set(studio=bench.studio, by=None, name="", pieces=[FinishedPieceFactory()])


def test_a_set_of_a_commission_is_as_it_was_ordered(bench):
    commission = accepted(bench, quantity=1, topcoat=bench.kit)
    line = commission.lines.get()
    pour = log(bench, line=line, good_count=4)
    four = list(pour.pieces.all())

    with pytest.raises(SetRefused, match="is 4 pieces, and 3 were chosen"):
        going_on.pack_set(studio=bench.studio, by=None, name="", pieces=four[:3], line=line)
    with pytest.raises(SetRefused, match="has a resin topcoat, and not every piece"):
        going_on.pack_set(studio=bench.studio, by=None, name="", pieces=four, line=line)

    going_on.log_topcoat(pour=pour, by=None, kit=bench.kit, mixed_ml=D(70))
    going_on.pack_set(studio=bench.studio, by=None, name="", pieces=four, line=line)

    commission.refresh_from_db()
    assert commission.status == Commission.Status.READY
    assert not Hold.objects.open().exists()


def test_no_more_sets_are_packed_for_a_line_than_were_ordered(bench):
    line = accepted(bench, quantity=1).lines.get()
    first, second = (log(bench, line=line, good_count=4).pieces.all() for _ in range(2))
    going_on.pack_set(studio=bench.studio, by=None, name="", pieces=first, line=line)

    with pytest.raises(SetRefused, match="are packed already"):
        going_on.pack_set(studio=bench.studio, by=None, name="", pieces=second, line=line)


def test_unpacking_puts_pieces_and_packaging_back(bench):
    one = pack(bench)

    assert sales.unpack_set(piece_set=one, by=None).unpacked_at is not None

    bench.box.refresh_from_db()
    assert (bench.box.on_hand, one.pieces.count()) == (10, 0)
    assert FinishedPiece.objects.filter(piece_set=None, state="good").count() == 4
    with pytest.raises(SetRefused, match="is not packed any more"):
        sales.unpack_set(piece_set=one, by=None, packaging_back=False)


def test_unpacking_what_was_ordered_moves_the_commission_back(bench):
    commission = accepted(bench, quantity=1)
    line = commission.lines.get()
    pieces = log(bench, line=line, good_count=4).pieces.all()
    one = going_on.pack_set(studio=bench.studio, by=None, name="", pieces=pieces, line=line)

    sales.unpack_set(piece_set=one, by=None)

    steps = commission.events.order_by("-pk").values_list("status", "note")
    assert list(steps[:2]) == [("in_work", f"{one} unpacked"), ("ready", "")]


def test_fees_are_the_channels_on_that_day(bench):
    """6.5 % of 60.00 goods and 8.00 shipping, 0.25 a sale and 0.20 an item: 4.42 + 0.25 + 0.40."""
    market = ChannelFactory(
        studio=bench.studio,
        percent_fee=D("0.065"),
        fixed_fee=D("0.25"),
        listing_fee=D("0.20"),
        fee_on_shipping=True,
    )
    items = [(pack(bench), D(30)), (pack(bench), D(30))]

    sale = sell(bench, items, channel=market, shipping_charged=D(8), shipping_paid=D("6.10"))

    market.percent_fee = D("0.5")
    market.save()
    sale.refresh_from_db()
    assert (sale.fees, sale.shipping_paid, sale.tax_rate) == (D("5.07"), D("6.10"), D("0.10"))


def test_a_set_is_sold_once(bench):
    one = pack(bench)
    sell(bench, [(one, D(30))])

    with pytest.raises(SaleRefused, match="is sold already"):
        sell(bench, [(one, D(35))])
    with pytest.raises(SetRefused, match="Refund the sale first"):
        sales.unpack_set(piece_set=one, by=None)


@pytest.mark.parametrize("count", (0, 2))
def test_a_sale_has_each_set_once(bench, count):
    one = pack(bench)

    with pytest.raises(SaleRefused, match="at least one set to sell, each once"):
        sell(bench, [(one, D(30))] * count)


def test_a_price_is_not_below_zero(bench):
    with pytest.raises(SaleRefused, match="below zero"):
        sell(bench, [(pack(bench), D(-1))])


def test_refunded_sets_are_for_sale_again(bench):
    one = pack(bench)
    sale = sell(bench, [(one, D(30))])

    sales.refund(sale=sale, by=None, why="Wrong blue")

    assert list(PieceSet.objects.for_sale()) == [one]
    with pytest.raises(SaleRefused, match="is refunded already"):
        sales.refund(sale=sale, by=None)
    assert sell(bench, [(one, D(28))]).number == 2


def test_sets_that_do_not_come_back_are_written_off(bench):
    one = pack(bench)

    sales.refund(sale=sell(bench, [(one, D(30))]), by=None, why="Broken", returned=False)

    assert not PieceSet.objects.for_sale().exists()
    with pytest.raises(SaleRefused, match="is not packed any more"):
        sell(bench, [(one, D(30))])


def test_a_channel_keeps_no_more_than_its_fees(bench):
    sale = sell(bench, [(pack(bench), D(30))])

    with pytest.raises(SaleRefused, match=r"between nothing and its fees of 0"):
        sales.refund(sale=sale, by=None, fees_kept=D(1))


def test_selling_what_was_commissioned_moves_it_to_paid_and_a_refund_back(bench):
    commission = accepted(bench, quantity=2)
    line = commission.lines.get()
    for _ in range(2):
        pour = log(bench, line=line, good_count=4)
        going_on.pack_set(
            studio=bench.studio, by=None, name="", pieces=pour.pieces.all(), line=line
        )
    quote = commission.quotes.get()
    items = sales.prices_quoted(commission)
    assert sum(price for _, price in items) == quote.gross

    sale = sell(bench, items)
    assert (sale.commission, sale.customer) == (commission, bench.customer)
    commission.refresh_from_db()
    assert commission.status == Commission.Status.PAID
    assert sales.prices_quoted(commission) == []

    sales.refund(sale=sale, by=None)
    commission.refresh_from_db()
    assert commission.status == Commission.Status.READY
    assert sales.prices_quoted(commission) == items
