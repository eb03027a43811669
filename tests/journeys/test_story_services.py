"""The studio's week by the services alone: from a request to the profit on each set."""

from decimal import Decimal as D

import pytest

from inventory.models import Hold, Material, Movement
from pricing.bench.pours import LayerLog
from pricing.commissions import orders as commissions
from pricing.commissions.stock_checks import stock_check
from pricing.earnings import profit
from pricing.models import Commission, FinishedPiece, PieceSet
from pricing.quoting import quotes as quoting
from pricing.selling import sales
from tests.factories import going_on
from tests.factories.bench import working_studio
from tests.factories.inventory import MaterialFactory
from tests.factories.judged import pour_judged
from tests.factories.pricing import ChannelFactory
from tests.factories.studio import MembershipFactory

Status = Commission.Status


@pytest.mark.django_db
def test_from_request_to_profit_per_set():
    bench = working_studio()
    studio = bench.studio
    ada = MembershipFactory(studio=studio).user
    commission = commissions.open_commission(
        studio=studio, by=ada, customer=bench.customer, title="Coasters and a canvas"
    )
    coasters = going_on.add_line(
        commission=commission,
        by=ada,
        surface=bench.tile_size,
        technique=bench.bloom,
        palette=bench.palette,
        quantity=2,
        pieces_each=4,
        topcoat=bench.kit,
        packaging=bench.box,
    )
    canvas = going_on.add_line(
        commission=commission,
        by=ada,
        surface=bench.canvas_size,
        technique=bench.bloom,
        palette=bench.palette,
    )

    quote = going_on.send_quote(quote=quoting.draft_quote(commission=commission, by=ada), by=ada)
    check = stock_check(commission)
    assert check.short == ()
    assert quote.gross == quote.net + quote.tax > 0

    quoting.accept_quote(quote=quote, by=ada)
    held = {hold.material.name: hold.outstanding for hold in Hold.objects.open()}
    assert held["tile"] == 8 and held["canvas"] == 1 and held["box"] == 2
    assert held["white"] == next(
        line.needed for line in check.lines if line.material.name == "white"
    )

    first = _pour(studio, ada, coasters, count=8, good_count=7, base="220", colours="120")
    spare = _pour(studio, ada, coasters, count=2, good_count=1, base="56", colours="30")
    commission.refresh_from_db()
    assert commission.status == Status.IN_WORK
    for pour in (first, spare):
        going_on.log_topcoat(
            pour=pour, by=ada, kit=bench.kit, mixed_ml=D(20) * pour.good_count, minutes=D(20)
        )
    pieces = list(FinishedPiece.objects.filter(state="good").order_by("pk"))
    sets = [
        going_on.pack_set(
            studio=studio, by=ada, name="", pieces=pieces[start : start + 4], line=coasters
        )
        for start in (0, 4)
    ]
    big = _pour(studio, ada, canvas, count=1, good_count=1, base="300", colours="110")
    sets.append(
        going_on.pack_set(studio=studio, by=ada, name="", pieces=big.pieces.all(), line=canvas)
    )
    commission.refresh_from_db()
    assert commission.status == Status.READY
    assert not Hold.objects.open().exists()

    market = ChannelFactory(
        studio=studio, name="Market", percent_fee=D("0.065"), fixed_fee=D("0.25")
    )
    items = sales.prices_quoted(commission)
    assert sum(price for _, price in items) == quote.gross
    sale = going_on.sell(
        studio=studio,
        by=ada,
        channel=market,
        sold_on=studio.today(),
        items=items,
        shipping_charged=D("9.00"),
        shipping_paid=D("7.35"),
    )
    commission.refresh_from_db()
    assert commission.status == Status.PAID
    assert [event.status for event in commission.events.all()] == [
        Status.ENQUIRY,
        Status.QUOTED,
        Status.ACCEPTED,
        Status.IN_WORK,
        Status.READY,
        Status.DELIVERED,
        Status.PAID,
    ]

    rows = profit.set_profit(studio)
    whole = profit.total(rows)
    assert {row.piece_set for row in rows} == set(sets)
    assert whole.revenue == quote.gross + 9
    assert whole.fees == sale.fees == ((quote.gross * D("0.065")) + D("0.25")).quantize(D("0.01"))
    assert whole.profit == (
        whole.revenue - whole.fees - whole.tax - whole.materials - whole.labour - whole.overhead
    )
    left = -worth(Movement.objects.exclude(kind="opening"))
    assert whole.materials == left + D("7.35")
    for by in profit.CUTS:
        assert sum(one.profit.profit for one in profit.cut(rows, by)) == whole.profit
    opening = worth(Movement.objects.filter(kind="opening"))
    assert worth(Material.objects) == opening - left
    assert PieceSet.objects.packed().count() == 3


def worth(rows):
    return sum(rows.values_list("value", flat=True))


def _pour(studio, by, line, *, count, good_count, base, colours):
    return pour_judged(
        studio=studio,
        by=by,
        line=line,
        count=count,
        good_count=good_count,
        minutes=D(60),
        layers={
            "base": LayerLog(D(base), left_ml=D(10), kept_ml=D(15)),
            "colours": LayerLog(D(colours)),
            "activator": LayerLog(D(8)),
        },
    )


@pytest.mark.django_db
def test_what_is_short_is_named_and_the_pour_waits():
    bench = working_studio()
    MaterialFactory(studio=bench.studio, name="unrelated")
    commission = commissions.open_commission(
        studio=bench.studio, by=None, customer=bench.customer, title="Three canvases"
    )
    going_on.add_line(
        commission=commission,
        by=None,
        surface=bench.canvas_size,
        technique=bench.bloom,
        palette=bench.palette,
        quantity=3,
    )
    (short,) = [line for line in stock_check(commission).short if line.material == bench.canvas]
    assert (short.needed, short.on_hand, short.missing) == (3, 2, 1)
