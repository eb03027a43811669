"""Closed months stay: an example by hand, who may close, what is refused, and stories at random."""

import csv
import io
from datetime import UTC, date, datetime
from decimal import Decimal as D

import openpyxl
import pytest
from django.urls import reverse

from inventory.models import Entry
from inventory.stock import books
from inventory.stock import ledger as stock
from pricing.books import closed_months_stay
from pricing.commissions import orders, payments
from pricing.earnings.report import reports
from pricing.earnings.views.closing import files_of
from pricing.models import Posting
from pricing.selling import sales
from studio.closing import ClosingRefused, end_of_month, reopen_months
from studio.models import Closing
from studio.periods import Period
from tests.conftest import member
from tests.factories.bench import working_studio
from tests.factories.everything import one_of_everything
from tests.factories.going_on import WITH
from tests.factories.pricing import CustomerFactory
from tests.pricing.bench.test_pours import log
from tests.pricing.commissions.test_commissions import accepted
from tests.pricing.earnings.closed_months import MAY, Story, close, given, noon
from tests.pricing.earnings.test_losses import act, bottle_of
from tests.pricing.selling.test_sales import pack, sell

pytestmark = pytest.mark.django_db
LATE = date(2026, 5, 28)
JUNE = date(2026, 6, 1)
WORDS = "May 2026 is closed: this is booked on 1 June 2026."


@pytest.fixture
def bench():
    bench = working_studio(tax_rate=D(0))
    bench.owner = member(bench.studio, "owner")
    return bench


def test_a_month_by_hand(bench):
    """A set that cost 23.40 is sold for 40.00 in May and earns 16.60; May is closed. Then another
    sale of 28 May for 44.00 is written down, the first is refunded as of 29 May, and a waste of
    10 mL of white, 0.20, of 3 May is undone: June has 20.60 less 16.60, and 0.20 comes back."""
    first, second = (pack(bench, poured_at=noon(date(2026, 5, day))) for day in (2, 4))
    sale = sell(bench, [(first, D(40))], sold_on=date(2026, 5, 20))
    white = bottle_of(bench.white)
    waste = act(
        bench, stock.waste, bottle=white, quantity=D(10), happened_at=noon(date(2026, 5, 3))
    )
    close(bench)
    before = given(bench, MAY)

    late = sell(bench, [(second, D(44))], sold_on=LATE)
    sales.refund(sale=sale, by=None, refunded_on=date(2026, 5, 29))
    undone = stock.reverse(studio=bench.studio, by=None, entry=waste, happened_at=noon(LATE))

    sale.refresh_from_db()
    assert (late.sold_on, late.booked_on) == (LATE, JUNE)
    assert (sale.refunded_on, sale.refund_booked_on) == (date(2026, 5, 29), JUNE)
    assert (undone.happened_at, undone.booked_on) == (noon(LATE), JUNE)
    assert given(bench, MAY) == before
    (may,) = reports(bench.studio, "month", Period(date(2026, 5, 1), MAY))
    (june,) = reports(bench.studio, "month", Period(JUNE, date(2026, 6, 30)))
    assert (may.total.profit, may.lost_total.total) == (D("16.60"), D("0.20"))
    assert (june.total.profit, june.lost_total.total) == (D("4.00"), D("-0.20"))
    assert books.check(bench.studio) == []


def test_what_the_craft_goes_by_keeps_its_own_day(bench):
    close(bench)

    pour = log(bench, poured_at=noon(LATE))
    receipt = stock.Receipt(material=bench.white, quantity=D(100), value=D(3))
    came = act(bench, stock.receive, receipts=[receipt], happened_at=noon(LATE))

    assert (pour.poured_at, pour.entry.happened_at) == (noon(LATE), noon(LATE))
    assert pour.entry.booked_on == came.booked_on == JUNE
    assert bench.studio.bottles.get(movements__entry=came).received_on == LATE
    assert bench.studio.day_uses.filter(material=bench.white, day=LATE).exists()


@pytest.mark.parametrize(
    ("day", "booked"),
    [(date(2026, 5, 31), JUNE), (JUNE, JUNE), (date(2026, 6, 2), date(2026, 6, 2))],
)
def test_the_last_day_closed_is_the_last_that_moves(bench, day, booked):
    piece_set = pack(bench, poured_at=noon(date(2026, 5, 2)))
    close(bench)

    assert sell(bench, [(piece_set, D(40))], sold_on=day).booked_on == booked
    assert Posting.objects.get(kind="sold").day == booked


def test_a_month_is_over_where_the_studio_stands(bench, monkeypatch):
    """At 23:30 UTC on 30 June it is July in Auckland, and still June in Chicago."""
    monkeypatch.setattr(
        "django.utils.timezone.now", lambda: datetime(2026, 6, 30, 23, 30, tzinfo=UTC)
    )
    bench.studio.time_zone = "America/Chicago"
    bench.studio.save()
    with pytest.raises(ClosingRefused, match=r"June 2026 is not over yet\. Close it from 1 July"):
        close(bench, date(2026, 6, 30))
    bench.studio.time_zone = "Pacific/Auckland"
    bench.studio.save()

    assert close(bench, date(2026, 6, 30)).up_to == date(2026, 6, 30)


def test_months_are_closed_whole_and_one_after_the_other(bench):
    with pytest.raises(ClosingRefused, match="give the last day of one, such as 2026-05-31"):
        close(bench, LATE)
    close(bench)
    for day in (MAY, date(2026, 4, 30)):
        with pytest.raises(ClosingRefused, match="closed already: all is closed up to 31 May 2026"):
            close(bench, day)
    assert bench.studio.closed_up_to == MAY
    assert Closing.objects.count() == 1


def test_the_last_closing_alone_is_opened_again_and_says_why(bench):
    april, may = close(bench, date(2026, 4, 30)), close(bench)
    for closing, why, words in (
        (april, "A bill came late", "Only the last closing"),
        (may, "  ", "Say why"),
        (may, "x" * 201, "too long"),
    ):
        with pytest.raises(ClosingRefused, match=words):
            reopen_months(closing=closing, by=None, why=why)

    opened = reopen_months(closing=may, by=bench.owner.user, why="A bill came late")

    assert (opened.why, opened.by, opened.reopens) == ("A bill came late", bench.owner.user, may)
    bench.studio.refresh_from_db()
    assert bench.studio.closed_up_to == date(2026, 4, 30)
    piece_set = pack(bench, poured_at=noon(date(2026, 5, 2)))
    assert sell(bench, [(piece_set, D(40))], sold_on=LATE).booked_on == LATE
    with pytest.raises(ClosingRefused, match="Only the last closing"):
        reopen_months(closing=may, by=None, why="Twice")
    close(bench)
    assert closed_finds(bench) == []


def closed_finds(bench):
    return [str(found) for found in closed_months_stay(bench.studio)]


def test_the_books_find_what_was_booked_in_a_closed_month(bench):
    close(bench)
    entry = Entry.objects.create(
        studio=bench.studio, happened_at=noon(LATE), booked_on=LATE, purpose="Sneaked in"
    )
    bench.studio.closed_up_to = date(2026, 4, 30)
    bench.studio.save()

    names = [found.row for found in closed_months_stay(bench.studio)]

    assert names == [str(entry), "Months closed"]


# Who may, from page and API


def test_the_stock_value_of_a_closed_month_stays_as_it_was_given(bench):
    """A best-before day that is written down later changes what the day is told as, and no more."""
    more = [stock.Receipt(one, D(500), D(9)) for one in (bench.white, bench.blue, bench.gold)]
    stock.receive(studio=bench.studio, by=None, receipts=more, happened_at=noon(MAY))
    told = bench.owner.client.get(f"/valuation/rows.csv?as_of={MAY}").content
    closing = close(bench)
    page, book = (
        reverse("closing-stock", args=[closing.pk, extension]) for extension in ("csv", "xlsx")
    )
    bench.white.bottles.update(expires_on=date(2026, 5, 1))

    assert bench.owner.client.get(f"/valuation/rows.csv?as_of={MAY}").content != told
    assert bench.owner.client.get(page).content == told
    (sheet,) = openpyxl.load_workbook(io.BytesIO(bench.owner.client.get(book).content))
    rows = list(csv.reader(io.StringIO(told.decode("utf-8-sig"))))
    assert [row[5] for row in rows[1:]] == ["9"] * 3
    costs = [row[rows[0].index("Cost")].value for row in list(sheet)[1:]]
    assert len(costs) == len(rows) - 1 == 3
    assert costs == [9] * 3  # numbers, no text
    opened = reopen_months(closing=closing, by=None, why="Freight came late")
    for key, extension in ((opened.pk, "csv"), (closing.pk, "pdf")):
        gone = reverse("closing-stock", args=[key, extension])
        assert bench.owner.client.get(gone).status_code == 404
    assert bench.owner.api.get(f"/api/v1/closings/{opened.pk}/stock-value/").status_code == 404


@pytest.mark.parametrize("role", ["maker", "viewer"])
def test_only_an_owner_closes(bench, role):
    closing, person = close(bench), member(bench.studio, role, sees_costs=role == "maker")

    for answer in (
        person.client.get(reverse("closing")),
        person.client.post(reverse("closing"), {"up_to": "2026-06-30"}),
        person.client.post(reverse("closing-reopen", args=[closing.pk]), {"why": "Me"}),
        person.api.get("/api/v1/closings/"),
        person.api.post("/api/v1/closings/", {"up_to": "2026-06-30"}),
        person.api.post(f"/api/v1/closings/{closing.pk}/reopen/", {"why": "Me"}),
    ):
        assert answer.status_code == 403
    assert Closing.objects.count() == 1


def test_a_closing_of_another_studio_is_not_found(bench):
    closing, stranger = close(bench), member(working_studio().studio, "owner")

    page = reverse("closing-reopen", args=[closing.pk])
    assert stranger.client.get(page).status_code == 404
    assert stranger.client.post(page, {"why": "Me"}).status_code == 404
    sent = {"why": "Me"}
    assert stranger.api.post(f"/api/v1/closings/{closing.pk}/reopen/", sent).status_code == 404
    assert stranger.api.get("/api/v1/closings/").data["results"] == []
    assert stranger.api.post("/api/v1/closings/", {"up_to": "2026-05-31"}).status_code == 201
    piece_set = pack(bench, poured_at=noon(date(2026, 5, 2)))
    assert sell(bench, [(piece_set, D(40))], sold_on=date(2026, 6, 3)).booked_on.month == 6


def test_a_month_is_closed_and_opened_from_the_page(bench):
    page = bench.owner.client.get(reverse("closing")).content.decode()
    assert "No month is closed." in page

    done = bench.owner.client.post(reverse("closing"), {"up_to": "2026-10-31"}, follow=True)
    closing = Closing.objects.get()
    assert "All is closed up to the end of October 2026." in done.content.decode()
    for name, address in files_of(closing):
        assert f'<a href="{address.replace("&", "&amp;")}">{name}</a>' in done.content.decode()
    again = bench.owner.client.post(reverse("closing"), {"up_to": "2026-05-31"})
    assert (again.status_code, Closing.objects.count()) == (422, 1)
    opening = reverse("closing-reopen", args=[closing.pk])
    assert bench.owner.client.post(opening, {"why": ""}).status_code == 422
    opened = bench.owner.client.post(opening, {"why": "Freight came late"}, follow=True)
    words = opened.content.decode()
    assert "Freight came late" in words
    assert "Reopened: October 2026" in words
    assert "Opened again" in words


def test_a_month_is_closed_and_opened_by_the_api(bench):
    api = bench.owner.api
    made = api.post("/api/v1/closings/", {"up_to": "2026-05-31"})
    assert (made.status_code, made.data["up_to"]) == (201, "2026-05-31")
    refused = api.post("/api/v1/closings/", {"up_to": "2026-05-31"})
    assert (refused.status_code, refused.data["code"]) == (409, "closing_refused")
    assert api.post("/api/v1/closings/", {"up_to": "May"}).status_code == 400
    opened = api.post(f"/api/v1/closings/{made.data['id']}/reopen/", {"why": "Freight"})
    assert (opened.status_code, opened.data["reopens"]) == (201, made.data["id"])
    rows = api.get("/api/v1/closings/").data["results"]
    assert [row["why"] for row in rows] == ["Freight", ""]


# What moved says so


def test_a_sale_that_moved_says_so(bench):
    piece_set = pack(bench, poured_at=noon(date(2026, 5, 2)))
    close(bench)
    sent = {"channel": bench.own_sale.pk, "sold_on": "2026-05-28", "shipping_charged": "0"}
    sent |= {"shipping_paid": "0", f"price_{piece_set.pk}": "40", "how": "other"}

    told = bench.owner.api.post(
        "/api/v1/sales/",
        {
            "channel": bench.own_sale.pk,
            "sold_on": "2026-05-28",
            "items": [{"set": piece_set.number, "price": "40"}],
            **WITH,
        },
    )

    assert (told.status_code, told.data["booked_on"]) == (201, "2026-06-01")
    assert told.data["sold_on"] == "2026-05-28"
    for page in (reverse("sale", args=[told.data["number"]]), reverse("sales")):
        assert "28 May 2026, booked on 1 Jun 2026" in bench.owner.client.get(page).content.decode()
    refund = reverse("sale-refund", args=[told.data["number"]])
    sent = {"why": "Cracked", "refunded_on": "2026-05-30", "returned": "on", "fees_kept": "0"}
    page = bench.owner.client.post(refund, sent, follow=True).content.decode()
    assert WORDS in page
    assert "Refunded 30 May 2026, booked on 1 Jun 2026" in page
    in_june = bench.owner.client.get(reverse("sales") + "?from=2026-06-01&to=2026-06-30")
    assert "Sale 1," in in_june.content.decode()


def test_an_entry_that_moved_says_so(bench):
    bottle = bottle_of(bench.white)
    close(bench)

    told = bench.owner.api.post(
        "/api/v1/uses/",
        {
            "amounts": [{"material": bench.white.pk, "quantity": "10"}],
            "happened_at": "2026-05-28T12:00:00Z",
        },
    )

    assert (told.status_code, told.data["booked_on"]) == (201, "2026-06-01")
    page = bench.owner.client.get(reverse("entry", args=[told.data["id"]])).content.decode()
    assert "<dt>Booked on</dt><dd>1 Jun 2026</dd>" in page
    listed = bench.owner.client.get(reverse("entries") + "?from=2026-06-01&to=2026-06-01")
    assert "booked on 1 Jun 2026" in listed.content.decode()
    file = bench.owner.client.get(reverse("list-file", args=["ledger", "csv"]))
    assert "2026-06-01" in file.content.decode()
    assert bottle.code in file.content.decode()


def test_a_payment_that_moved_or_is_struck_says_so(bench):
    commission = accepted(bench)
    paid = payments.take_payment(commission=commission, by=None, amount=D(10), paid_on=LATE)
    close(bench)
    before = given(bench, MAY)
    page = reverse("commission", args=[commission.number])

    sent = {"amount": "5", "how": "cash", "paid_on": "2026-05-28", "note": ""}
    pay = reverse("payment-new", args=[commission.number])
    done = bench.owner.client.post(pay, sent, follow=True).content.decode()
    struck = bench.owner.client.post(
        reverse("payment-strike", args=[paid.number]), {"why": "Typed twice"}, follow=True
    ).content.decode()

    assert WORDS in done
    assert WORDS in struck
    assert "28 May 2026, booked on 1 Jun 2026" in bench.owner.client.get(page).content.decode()
    rows = bench.studio.payments.order_by("number").values_list("paid_on", "booked_on")
    assert list(rows) == [(LATE, LATE), (LATE, JUNE), (LATE, JUNE)]
    assert given(bench, MAY) == before


def test_money_of_a_closed_month_keeps_its_customer(bench):
    commission = accepted(bench)
    other = CustomerFactory(studio=bench.studio, name="Ash Rowan")
    payments.take_payment(commission=commission, by=None, amount=D(10), paid_on=LATE)
    close(bench, date(2026, 4, 30))
    orders.change_commission(commission=commission, by=None, customer=other)
    close(bench)

    with pytest.raises(ClosingRefused, match="Open a new commission for the other customer"):
        orders.change_commission(commission=commission, by=None, customer=bench.customer)

    orders.change_commission(commission=commission, by=None, customer=other, title="Other words")
    commission.refresh_from_db()
    assert (commission.customer, commission.title) == (other, "Other words")


@pytest.mark.parametrize("count", (1, 3))
def test_the_page_asks_the_same_however_many_closings_there_are(
    bench, count, django_assert_num_queries
):
    for month in range(1, count + 1):
        close(bench, end_of_month(date(2026, month, 1)))
    bench.owner.client.get(reverse("closing"))

    # session, user, membership, the last closing, all of them
    with django_assert_num_queries(5):
        bench.owner.client.get(reverse("closing"))


def test_everything_there_is_can_be_closed_over(studio):
    one_of_everything(studio)
    one_of_everything(studio)

    assert [f"{row.up_to}" for row in studio.closings.all()] == ["2001-02-28", "2001-01-31"]
    assert list(closed_months_stay(studio)) == []


# Stories at random: whatever is late or undone, what was given stays byte for byte.


@pytest.mark.parametrize("seed", range(4))
def test_what_was_given_stays_whatever_is_late_or_undone(bench, seed):
    story = Story(bench, seed)
    story.live(30)
    was = {}
    for month in range(1, 6):
        up_to = end_of_month(date(2026, month, 1))
        close(bench, up_to)
        was[up_to] = given(bench, up_to)
        story.live(15)
        for closed, before in was.items():
            now = given(bench, closed)
            assert {name for name, said in now.items() if said != before[name]} == set()

    assert books.check(bench.studio) == []
    moved = bench.studio.entries.filter(booked_on__gt=date(2026, 1, 31))
    assert moved.exists()
