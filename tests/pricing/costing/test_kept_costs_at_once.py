"""Coating, packing, selling and undoing of the same pours at once leave the costs as they are."""

from decimal import Decimal as D

import pytest
from django.conf import settings

from inventory.models import Movement
from inventory.stock import books
from inventory.stock import ledger as stock
from pricing.bench import pours
from pricing.models import PieceSet, Sale
from pricing.selling import sales
from studio.errors import StudioError
from tests.factories import going_on
from tests.factories.bench import working_studio
from tests.factories.judged import coat_judged
from tests.inventory.stock.test_concurrency import at_once
from tests.pricing.bench.test_pours import log
from tests.pricing.commissions.test_commissions import accepted

pytestmark = pytest.mark.django_db(transaction=True, available_apps=settings.INSTALLED_APPS)


def test_what_is_done_to_the_same_pieces_at_once_is_counted_whole():
    bench = working_studio()
    studio, today = bench.studio, bench.studio.today()
    for material, count in ((bench.tile, 40), (bench.box, 20)):
        receipt = stock.Receipt(material=material, quantity=D(count), value=D(count))
        stock.receive(studio=studio, by=None, receipts=[receipt], kind=Movement.Kind.OPENING)
    line = accepted(bench, quantity=3).lines.get()
    alone = log(bench, count=12, good_count=12)
    mine = log(bench, line=line, count=8, good_count=8)
    wanted = {"studio": studio, "by": None, "packaging": bench.box}
    pieces = {pour: list(pour.pieces.order_by("number")) for pour in (alone, mine)}
    packed = [
        going_on.pack_set(name="Two", pieces=pieces[pour][start : start + 2], **wanted)
        for pour in (alone, mine)
        for start in (0, 2)
    ]

    def coat(pour, spoiled=0):
        more = {"kit": bench.kit, "mixed_ml": D(8), "spoiled_count": spoiled}
        return lambda: coat_judged(pour=pour, by=None, **more)

    def pack(pour, start):
        chosen = pieces[pour][start : start + 2]
        return lambda: going_on.pack_set(name="Two", pieces=chosen, **wanted)

    def sell(*sets):
        items = [(one, D(30)) for one in sets]
        more = {"channel": bench.own_sale, "sold_on": today, "items": items}
        return lambda: going_on.sell(studio=studio, by=None, **more)

    def unpack(one):
        return lambda: sales.unpack_set(piece_set=one, by=None)

    found = at_once(
        *(coat(alone), coat(alone, 1), coat(mine), coat(mine, 1)),
        *(pack(alone, 4), pack(alone, 6), pack(mine, 4)),
        *(sell(packed[0], packed[3]), sell(packed[2]), unpack(packed[1])),
        lambda: log(bench, line=line, count=2, good_count=0),
        lambda: log(bench, line=line, count=2, good_count=1),
        lambda: pours.undo_pour(pour=alone, by=None, why="Twice"),
    )

    assert sum(not isinstance(one, StudioError) for one in found) > 6
    assert books.check(studio) == []
    assert PieceSet.objects.count() >= 4
    refunds = [
        lambda sale=sale: sales.refund(sale=sale, by=None, returned=False)
        for sale in Sale.objects.all()
    ]
    at_once(coat(alone), coat(mine), *refunds)
    assert books.check(studio) == []
