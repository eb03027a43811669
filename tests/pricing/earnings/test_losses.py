"""What was lost, each way by hand, and whole stories worked out a second time in fractions."""

import random
from collections import defaultdict
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal as D
from fractions import Fraction as F
from math import floor

import pytest
from django.urls import reverse

from inventory.models import Bottle, Entry, Movement
from inventory.stock import books
from inventory.stock import ledger as stock
from pricing.bench.pour_materials import LayerLog
from pricing.books import value_is_somewhere
from pricing.costing.price import Profit
from pricing.earnings.losses import KINDS, in_all, losses
from pricing.earnings.profit import cut, set_profit, whereabouts
from pricing.earnings.report import reports, shown_rows
from pricing.models import PieceSet
from pricing.selling import consigning, sales
from studio.money import minor_places
from tests.conftest import member
from tests.factories import going_on
from tests.factories.bench import working_studio
from tests.factories.pricing import ChannelFactory
from tests.pricing.bench.test_pours import log
from tests.pricing.quoting.test_quote_pages import text_of
from tests.pricing.selling.test_sales import pack, sell

pytestmark = pytest.mark.django_db
KEPT = {
    "base": LayerLog(D(100), kept_ml=D(50)),
    "colours": LayerLog(D(60)),
    "activator": LayerLog(D(8)),
}
POURED = datetime(2026, 1, 5, 12, tzinfo=UTC)
MATERIALS = ("revenue", "tax", "fees", "materials", "labour", "overhead")


@pytest.fixture
def bench():
    return working_studio()


def lost(bench):
    """Return {kind: (materials, labour, overhead)} of what was lost."""
    rows = in_all(losses(bench.studio))
    return {one.label: (one.cost.materials, one.cost.labour, one.cost.overhead) for one in rows}


def bottle_of(material):
    return Bottle.objects.filter(material=material).order_by("pk").first()


def act(bench, service, **more):
    return service(studio=bench.studio, by=None, **more)


def test_stock_is_lost_by_waste_by_counting_and_by_hand(bench):
    """White is 0.02 a mL, blue 0.04, gold 0.05: 10 mL of white thrown away, 5 mL of blue short at
    the count and 2 mL found later, 4 mL of gold taken for no piece."""
    act(bench, stock.waste, bottle=bottle_of(bench.white), quantity=D(10), why="Skinned")
    act(bench, stock.recount, bottle=bottle_of(bench.blue), quantity=D(495))
    act(bench, stock.recount, bottle=bottle_of(bench.blue), quantity=D(497))
    act(bench, stock.use, amounts={bench.gold: D(4)}, purpose="Taken by hand")

    assert lost(bench) == {
        KINDS["thrown_away"]: (D("0.20"), 0, 0),
        KINDS["short"]: (D("0.12"), 0, 0),
        KINDS["by_hand"]: (D("0.20"), 0, 0),
    }
    assert list(value_is_somewhere(bench.studio)) == []


def test_what_was_undone_or_sent_back_is_not_lost(bench):
    entry = act(bench, stock.waste, bottle=bottle_of(bench.white), quantity=D(10))
    act(bench, stock.reverse, entry=entry)
    act(bench, stock.send_back, bottle=bottle_of(bench.gold), quantity=D(100))

    assert lost(bench) == {}
    assert list(value_is_somewhere(bench.studio)) == []


def test_stock_past_its_day_is_told_by_itself(bench):
    today = bench.studio.today()
    for name, day in (("white", today), ("blue", today - timedelta(days=1))):
        bottle = bottle_of(getattr(bench, name))
        Bottle.objects.filter(pk=bottle.pk).update(expires_on=day)
        act(bench, stock.waste, bottle=bottle, quantity=D(10))

    assert lost(bench) == {
        KINDS["thrown_away"]: (D("0.20"), 0, 0),
        KINDS["spoiled"]: (D("0.40"), 0, 0),
    }


def test_run_off_kept_and_then_thrown_away_is_told_by_itself():
    """100 mL of base, 90 of them white, cost 1.80; 50 mL kept are worth half, as the base mix is:
    0.90. Thrown away, they are lost, and the pieces have cost so much less."""
    bench = working_studio(run_off_value="base")
    pour = log(bench, layers=KEPT)
    pot = pour.entry.movements.get(kind="reclaim").bottle

    act(bench, stock.waste, bottle=pot, quantity=D(50))

    assert lost(bench) == {KINDS["run_off"]: (D("0.90"), 0, 0)}
    assert whereabouts(bench.studio).loose.materials == D("6.20") - D("0.90")
    assert list(value_is_somewhere(bench.studio)) == []


def test_pours_sets_and_packing_that_came_to_nothing(bench):
    """A pour is 6.20 and 40 minutes (12.00 and 4.00), a box 1.20 and its packing 5 minutes (1.50
    and 0.50). One pour fails whole; one set is lost at a shop, one is refunded and gone, and of one
    the packing is undone and its pieces stay."""
    shop = ChannelFactory(studio=bench.studio, is_consignment=True, percent_fee=D("0.4"))
    more = {"material": bench.tile, "quantity": D(20), "value": D(10)}
    act(bench, stock.receive, receipts=[stock.Receipt(**more)], kind=Movement.Kind.OPENING)
    log(bench, good_count=0)
    at_shop, refunded, apart = (pack(bench, minutes=D(5), poured_at=POURED) for _ in range(3))
    sent = date(2026, 2, 1)
    note = act(bench, going_on.send_out, channel=shop, items=[(at_shop, D(50))], sent_on=sent)
    consigning.lost(consignment=note, by=None, sets=[at_shop], on=date(2026, 3, 3))
    sale = sell(bench, [(refunded, D(44))], sold_on=date(2026, 2, 2))
    sales.refund(sale=sale, by=None, returned=False, refunded_on=date(2026, 4, 4))
    sales.unpack_set(piece_set=apart, by=None, packaging_back=False)

    assert lost(bench) == {
        KINDS["pours"]: (D("6.20"), 12, 4),
        KINDS["packing"]: (D("1.20"), D("1.50"), D("0.50")),
        KINDS["at_shops"]: (D("7.40"), D("13.50"), D("4.50")),
        KINDS["written_off"]: (D("7.40"), D("13.50"), D("4.50")),
    }
    days = {one.kind: one.month for one in losses(bench.studio)}
    assert (days["at_shops"], days["written_off"]) == ("2026-03", "2026-04")
    assert books.check(bench.studio) == []


def test_a_refund_leaves_december_as_it_was(bench):
    """Sold in February and given back in April, taken apart, and its pieces sold anew in June."""
    one = pack(bench, minutes=D(5), poured_at=POURED)
    sale = sell(bench, [(one, D(44))], sold_on=date(2026, 2, 2))
    before = cut(set_profit(bench.studio), "month")

    sales.refund(sale=sale, by=None, refunded_on=date(2026, 4, 4))
    pieces = list(one.pieces.all())
    sales.unpack_set(piece_set=one, by=None)
    again = act(bench, going_on.pack_set, name="Anew", pieces=pieces, made_on=date(2026, 5, 1))
    sell(bench, [(again, D(33))], sold_on=date(2026, 6, 6))

    months = {one.label: one for one in cut(set_profit(bench.studio), "month")}
    assert months["2026-02"] == before[0]
    assert (months["2026-04"].sets, months["2026-04"].refunded) == (0, 1)
    assert months["2026-04"].profit.profit == -before[0].profit.profit
    assert (months["2026-06"].profit.revenue, months["2026-06"].profit.materials) == (33, D("6.20"))
    sizes = {row.size for row in set_profit(bench.studio)}
    assert sizes == {"Tile 10 × 10 cm"}
    assert books.check(bench.studio) == []


def test_a_refund_is_not_given_before_its_sale_or_in_days_to_come(bench):
    sale = sell(bench, [(pack(bench), D(44))])

    for days in (-1, 1):
        with pytest.raises(sales.SaleRefused, match="that has come"):
            sales.refund(
                sale=sale, by=None, refunded_on=bench.studio.today() + timedelta(days=days)
            )

    viewer, maker = member(bench.studio, "viewer"), member(bench.studio, "maker")
    form = {"why": "Chipped", "refunded_on": f"{bench.studio.today()}", "returned": "on"}
    page = reverse("sale-refund", args=[sale.number])
    assert viewer.client.post(page, form).status_code == 403
    assert maker.client.post(page, form).status_code == 302
    sale.refresh_from_db()
    assert sale.refunded_on == bench.studio.today()


def test_the_books_name_value_that_is_nowhere(bench):
    """A batch that took 2.00 of white and made nothing of it."""
    bottle = bottle_of(bench.white)
    entry = Entry.objects.create(studio=bench.studio, happened_at=POURED, booked_on=POURED.date())
    amounts = {"quantity": D(-100), "value": D(-2), "kind": "mix"}
    here = {"studio": bench.studio, "entry": entry, "bottle": bottle, "material": bench.white}
    Movement.objects.create(**here, **amounts)
    Bottle.objects.filter(pk=bottle.pk).update(remaining=bottle.remaining - 100, value=D(38))

    (found,) = value_is_somewhere(bench.studio)

    assert (found.check, found.row) == ("value", "Value of what came in")


def test_the_page_and_the_file_tell_what_was_lost(bench):
    act(bench, stock.waste, bottle=bottle_of(bench.white), quantity=D(10))
    sell(bench, [(pack(bench), D(44))])
    client = member(bench.studio, "maker", sees_costs=True).client

    words = text_of(client.get(reverse("profit")))
    by_month = text_of(client.get(reverse("profit"), {"by": "month"}))
    lines = client.get(reverse("profit-csv")).text.splitlines()

    # 44.00 less 4.00 of tax, 7.40, 12.00 and 4.00 leave 16.60; 0.20 is lost.
    assert "What was lost" in words and KINDS["thrown_away"] in words
    after = '<span class="label">Profit after losses</span><span class="big">$16.40</span>'
    assert after in words
    assert f"{bench.studio.today():%Y-%m}" in by_month and KINDS["thrown_away"] not in by_month
    assert lines[-1] == f",lost,,USD,{KINDS['thrown_away']},,,,,,,,,0.2,0,0,-0.2,0"


@pytest.mark.parametrize("count", (1, 3))
def test_losses_ask_the_same_however_many_there_are(bench, count, django_assert_num_queries):
    for _ in range(count):
        act(bench, stock.waste, bottle=bottle_of(bench.white), quantity=D(10))
        sale = sell(bench, [(pack(bench), D(44))])
        sales.refund(sale=sale, by=None, returned=False)

    # what was posted; movements, and those undone
    with django_assert_num_queries(3):
        losses(bench.studio)


# Whole stories, worked out a second time from what was told to the program alone.


def half_up(amount, unit):
    return floor(amount / unit + F(1, 2)) * unit


class Reference:
    """What each month earned and lost in a story, in plain fractions."""

    def __init__(self, currency, rate):
        self.unit, self.rate = F(1, 10 ** minor_places(currency)), rate
        self.earned = defaultdict(lambda: defaultdict(F))
        self.lost = defaultdict(F)
        self.shelf = F(60) / 2 + 12 * F(6, 5) + 40 + 20 + 25 + 30 + 30 + 14

    def book(self, day, sign, **amounts):
        for name, amount in amounts.items():
            self.earned[f"{day:%Y-%m}"][name] += sign * amount

    def tax(self, gross):
        return half_up(gross * self.rate / (1 + self.rate), self.unit)


# A pour of four tiles and its box, as the module above has it: 6.20 and 1.20.
POUR, BOX = F("6.2"), F("1.2")
LABOUR, OVERHEAD = F(12), F(4)
SET = {"materials": POUR + BOX, "labour": LABOUR, "overhead": OVERHEAD}


def months_from(dice, day):
    return day + timedelta(days=dice.randrange(0, 70))


def live(currency, seed):
    """Live a story at random; returns the bench and the reference of it."""
    dice = random.Random(seed)
    bench = working_studio(currency=currency, rounding_step=D(1), tax_rate=D("0.19"))
    reference = Reference(currency, F("0.19"))
    for material, count, worth in ((bench.tile, 40, 20), (bench.box, 2, "2.4")):
        receipt = stock.Receipt(material=material, quantity=D(count), value=D(worth))
        act(bench, stock.receive, receipts=[receipt], kind=Movement.Kind.OPENING)
    market = ChannelFactory(studio=bench.studio, percent_fee=D("0.065"), fixed_fee=D(1))
    shop = ChannelFactory(studio=bench.studio, percent_fee=D("0.35"), is_consignment=True)
    sets = [pack(bench, poured_at=POURED) for _ in range(9)]
    reference.shelf -= 9 * (POUR + BOX)
    start = date(2026, 1, 6)
    _sell_and_refund(dice, bench, reference, market, sets, start)
    one = sets.pop()
    note = act(bench, going_on.send_out, channel=shop, items=[(one, D(50))], sent_on=start)
    day = months_from(dice, start)
    consigning.lost(consignment=note, by=None, sets=[one], on=day)
    reference.lost["at_shops", f"{day:%Y-%m}"] += sum(SET.values())
    _lose_stock(dice, bench, reference)
    day = months_from(dice, start)
    log(bench, good_count=0, poured_at=datetime(day.year, day.month, day.day, 12, tzinfo=UTC))
    reference.lost["pours", f"{day:%Y-%m}"] += POUR + LABOUR + OVERHEAD
    reference.shelf -= POUR
    return bench, reference, len(sets)


def _sell_and_refund(dice, bench, reference, market, sets, start):
    unit = reference.unit
    while len(sets) > 3:
        sold = [sets.pop() for _ in range(dice.choice((1, 1, 2)))]
        prices = [unit * dice.randrange(1, 9999) for _ in sold]
        charged, paid = (unit * dice.randrange(0, 900) for _ in range(2))
        day = months_from(dice, start)
        sale = sell(
            bench,
            [(one, decimal(price)) for one, price in zip(sold, prices, strict=True)],
            channel=market,
            sold_on=day,
            shipping_charged=decimal(charged),
            shipping_paid=decimal(paid),
        )
        gross = sum(prices) + charged
        fees = half_up(sum(prices) * F("0.065") + 1, unit)
        costs = {name: len(sold) * amount for name, amount in SET.items()}
        reference.book(day, 1, revenue=gross, tax=reference.tax(gross), fees=fees, **costs)
        reference.book(day, 1, materials=paid)
        if dice.random() < 0.6:
            kept = unit * dice.randrange(0, int(fees / unit) + 1)
            back, returned = months_from(dice, day), dice.random() < 0.5
            sales.refund(
                sale=sale, by=None, fees_kept=decimal(kept), returned=returned, refunded_on=back
            )
            refund = {"revenue": gross, "tax": reference.tax(gross), "fees": fees - kept}
            reference.book(back, -1, **refund, **costs)
            if returned:
                sets[:0] = sold if dice.random() < 0.5 else []
            else:
                reference.lost["written_off", f"{back:%Y-%m}"] += sum(costs.values())


def _lose_stock(dice, bench, reference):
    for kind, material, each in (
        ("thrown_away", bench.white, F("0.02")),
        ("short", bench.blue, F("0.04")),
        ("by_hand", bench.gold, F("0.05")),
    ):
        quantity = F(dice.randrange(1, 900), 100)
        day = months_from(dice, date(2026, 1, 6))
        at = datetime(day.year, day.month, day.day, 12, tzinfo=UTC)
        bottle, told = bottle_of(material), decimal(quantity)
        if kind == "thrown_away":
            act(bench, stock.waste, bottle=bottle, quantity=told, happened_at=at)
        elif kind == "short":
            left = bottle.remaining - told
            act(bench, stock.recount, bottle=bottle, quantity=left, happened_at=at)
        else:
            act(bench, stock.use, amounts={material: told}, happened_at=at, purpose="By hand")
        reference.lost[kind, f"{day:%Y-%m}"] += quantity * each
        reference.shelf -= quantity * each


def decimal(amount):
    return D(amount.numerator) / D(amount.denominator)


@pytest.mark.parametrize(
    ("currency", "seed"), [("USD", 1), ("EUR", 2), ("JPY", 3), ("KWD", 4), ("KWD", 5)]
)
def test_a_story_earns_and_loses_what_fractions_say(currency, seed):
    bench, reference, left = live(currency, seed)

    rows = set_profit(bench.studio)
    months = {
        one.label: {name: F(getattr(one.profit, name)) for name in MATERIALS}
        for one in cut(rows, "month")
    }
    assert months == {
        month: {name: sums[name] for name in MATERIALS} for month, sums in reference.earned.items()
    }
    gone = defaultdict(F)
    for one in losses(bench.studio):
        gone[one.kind, one.month] += F(one.cost.total)
    assert gone == reference.lost
    shelf = sum(F(one.value) for one in Bottle.objects.filter(studio=bench.studio))
    assert shelf == reference.shelf
    assert books.check(bench.studio) == []
    assert PieceSet.objects.for_sale().count() >= left


@pytest.mark.parametrize(("currency", "seed"), [("EUR", 6), ("JPY", 7), ("KWD", 8), ("USD", 9)])
def test_what_is_shown_adds_up_down_and_across(currency, seed):
    bench, reference, _ = live(currency, seed)
    exact = set_profit(bench.studio)
    unit = reference.unit
    sums = {name: sum(F(getattr(row.profit, name)) for row in exact) for name in MATERIALS}
    rounded = {name: F(abs_half_up(amount, unit)) for name, amount in sums.items()}

    for by in ("size", "month", "channel"):
        (report,) = reports(bench.studio, by)
        for table in (report.rows, report.cuts):
            for name in MATERIALS:
                assert sum(F(getattr(row.profit, name)) for row in table) == rounded[name]
            assert sum(row.profit.profit for row in table) == report.total.profit
        assert all(F(row.profit.profit) == across(row.profit) for row in report.rows)
        assert sum(one.cost.total for one in report.lost) == report.lost_total.total
    for row, told in zip(exact, shown_rows(exact), strict=True):
        for name in MATERIALS:
            shown = F(getattr(told.profit, name))
            assert abs(shown - F(getattr(row.profit, name))) < unit
            assert not shown % unit


def abs_half_up(amount, unit):
    size = half_up(abs(amount), unit)
    return size if amount >= 0 else -size


def across(sums: Profit):
    revenue, *rest = (F(getattr(sums, name)) for name in MATERIALS)
    return revenue - sum(rest)
