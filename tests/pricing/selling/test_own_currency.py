"""A sale, payment or note keeps its currency and tax rule when the studio changes its own."""

import csv
import io
import re
from decimal import Decimal as D

import pytest
from django.urls import reverse

from pricing.commissions import owing, payments
from pricing.commissions.money_papers import receipt_context
from pricing.earnings import profit
from pricing.earnings.report import compared, reports
from pricing.errors import QuoteNotOpen
from pricing.models import Payment, Sale
from pricing.quoting import quotes as quoting
from pricing.quoting.invoicing import issue_invoice
from pricing.selling import consigning, sales
from pricing.selling.consignment_papers import note_context
from studio.preferences import change_settings
from tests.conftest import member
from tests.factories import going_on
from tests.factories.bench import working_studio
from tests.factories.pricing import ChannelFactory
from tests.pricing.bench.test_pours import log
from tests.pricing.commissions.test_commissions import accepted, add_tiles, opened
from tests.pricing.quoting.test_quote_pages import text_of
from tests.pricing.selling.test_sales import pack, sell

pytestmark = pytest.mark.django_db


@pytest.fixture
def bench():
    return working_studio(currency="EUR", locale="en_IE")


def change(bench, **settings):
    """Change the studio as its settings page does; rows read before know nothing of it."""
    change_settings(studio=bench.studio, **settings)
    bench.studio.refresh_from_db()


def to_kuwait(bench):
    change(bench, currency="KWD", tax_rate=D("0.20"), tax_inclusive=True)


def test_a_sale_stays_in_its_currency_and_under_its_tax_rule(bench):
    first = sell(bench, [(pack(bench), D(44))])

    to_kuwait(bench)
    second = sell(bench, [(pack(bench), D("12.345"))])

    first.refresh_from_db()
    assert (first.currency, first.tax_rate, first.tax_inclusive) == ("EUR", D("0.10"), False)
    assert (second.currency, second.tax_rate, second.tax_inclusive) == ("KWD", D("0.20"), True)
    # By hand: a tenth on top of 40.00, and a fifth on top of 10.2875, to the fils.
    taxes = {row.currency: row.profit.tax for row in profit.set_profit(bench.studio)}
    assert taxes == {"EUR": D("4.00"), "KWD": D("2.058")}


def test_a_report_has_one_total_for_each_currency_and_adds_none(bench):
    sell(bench, [(pack(bench), D(44))])
    to_kuwait(bench)
    sell(bench, [(pack(bench), D("12.345"))])

    own, other = reports(bench.studio)

    assert (own.currency, other.currency) == ("KWD", "EUR")
    assert (own.total.revenue, other.total.revenue) == (D("12.345"), D("44.00"))
    client = member(bench.studio, "owner").client
    words = text_of(client.get(reverse("profit")))
    assert "In KWD" in words and "In EUR" in words
    assert "€44.00" in words and "KWD12.345" in re.sub(r"(KWD)\s", r"\1", words)
    assert "56.345" not in words
    rows = list(csv.DictReader(io.StringIO(client.get(reverse("profit-csv")).text)))
    assert [(row["currency"], row["revenue"]) for row in rows] == [
        ("KWD", "12.345"),
        ("EUR", "44"),
    ]
    months = client.get(reverse("home")).context["months"]
    assert {one.currency for _, sums, sold in months if sold for one in sums} == {"KWD", "EUR"}


def test_the_api_says_which_currency_and_reads_amounts_in_it(bench):
    sale = sell(
        bench,
        [(pack(bench), D(44))],
        channel=ChannelFactory(studio=bench.studio, fixed_fee=D("0.60")),
    )
    change(bench, currency="JPY", rounding_step=D(1))
    api = member(bench.studio, "owner").api

    sent = {"why": "Chipped", "fees_kept": "0.40"}
    answer = api.post(f"/api/v1/sales/{sale.number}/refund/", sent)

    assert answer.status_code == 200, answer.json()
    told = answer.json()
    assert (told["currency"], told["fees_kept"], told["tax_inclusive"]) == ("EUR", "0.400", False)
    assert told["refunded_on"] == f"{bench.studio.today()}"
    totals = api.get("/api/v1/profit/total/").json()["totals"]
    assert [(one["currency"], one["sums"]["revenue"]) for one in totals] == [("EUR", "0.000000")]


def test_what_a_commission_owes_stays_as_it_was_agreed(bench):
    commission = accepted(bench, quantity=1)
    quote = commission.accepted_quote
    deposit = payments.take_payment(commission=commission, by=None, amount=D("10.55"))

    change(bench, currency="JPY", rounding_step=D(1), tax_rate=D(0))
    commission.refresh_from_db()
    now = owing.account(commission)
    rest = payments.take_payment(commission=commission, by=None, amount=D("0.45"))

    assert (now.currency, now.owed) == ("EUR", quote.gross - D("10.55"))
    assert {deposit.currency, rest.currency} == {"EUR"}
    assert receipt_context(rest)["payment"].currency == "EUR"
    invoice = issue_invoice(commission=commission, by=None)
    assert (invoice.currency, invoice.frozen["studio"]["currency"]) == ("EUR", "EUR")
    line = commission.lines.get()
    pieces = log(bench, line=line, good_count=4).pieces.all()
    going_on.pack_set(studio=bench.studio, by=None, name="", pieces=pieces, line=line)
    sale = sell(bench, sales.prices_quoted(commission), commission=commission)
    assert (sale.currency, sale.tax_rate) == ("EUR", D("0.10"))
    assert owing.account(commission).owed == 0
    assert set(Payment.objects.values_list("currency", flat=True)) == {"EUR"}
    (table,) = compared(bench.studio)
    assert (table.currency, table.forecast.tax) == ("EUR", table.actual.tax)


def test_a_commission_has_money_of_one_currency(bench):
    """Sold before anything was quoted, and quoted when the studio has changed."""
    commission = opened(bench)
    add_tiles(bench, commission, quantity=1)
    sell(bench, [(pack(bench), D(44))], commission=commission)
    change(bench, currency="JPY", rounding_step=D(1))
    commission.refresh_from_db()
    quote = quoting.draft_quote(commission=commission, by=None)
    sent = going_on.send_quote(quote=quote, by=None)

    with pytest.raises(QuoteNotOpen, match="paid for in EUR, and Quote 1 is in JPY"):
        quoting.accept_quote(quote=sent, name="Wren Alder")

    assert (commission.currency, owing.account(commission).agreed) == ("EUR", D(44))


def test_money_can_be_told_in_the_currency_of_the_commission(bench):
    commission = accepted(bench, quantity=1)
    change(bench, currency="JPY", rounding_step=D(1))
    client = member(bench.studio, "owner").client

    page = client.get(reverse("payment-new", args=[commission.number]))
    sent = {"amount": "5.25", "how": "cash", "paid_on": f"{bench.studio.today()}", "note": ""}
    answer = client.post(reverse("payment-new", args=[commission.number]), sent)

    assert "is owed in all" in text_of(page) and "€" in text_of(page)
    assert answer.status_code == 302
    payment = Payment.objects.get()
    assert (payment.amount, payment.currency) == (D("5.25"), "EUR")
    api = member(bench.studio, "owner").api
    answer = api.post(f"/api/v1/commissions/{commission.number}/payments/", {"amount": "1.25"})
    assert (answer.status_code, answer.json()["currency"]) == (201, "EUR")
    (owed,) = api.get("/api/v1/owed/").json()["results"]
    assert owed["currency"] == "EUR"


def test_a_note_is_settled_in_the_currency_it_was_written_in(bench):
    shop = ChannelFactory(studio=bench.studio, percent_fee=D("0.40"), is_consignment=True)
    one, two = pack(bench), pack(bench)
    today = bench.studio.today()
    items = [(one, D("50.50")), (two, D("60.10"))]
    note = going_on.send_out(studio=bench.studio, by=None, channel=shop, items=items, sent_on=today)

    change(bench, currency="JPY", rounding_step=D(1))
    note = consigning.consignments_of(bench.studio).get(pk=note.pk)
    context = note_context(note)
    api = member(bench.studio, "owner").api
    sold = {"items": [{"set": one.number, "outcome": "sold", "price": "50.50"}]}
    answer = api.post(f"/api/v1/consignments/{note.number}/settle/", sold)

    assert (note.currency, context["kept"]) == ("EUR", D("44.24"))
    assert (answer.status_code, answer.json()["currency"]) == (200, "EUR"), answer.json()
    sale = Sale.objects.get()
    assert (sale.currency, sale.fees) == ("EUR", D("20.20"))


def test_a_studio_that_changes_keeps_its_pages(bench):
    shop = ChannelFactory(studio=bench.studio, percent_fee=D("0.40"), is_consignment=True)
    commission = accepted(bench, quantity=1)
    payments.take_payment(commission=commission, by=None, amount=D("10.55"))
    sale = sell(bench, [(pack(bench), D("44.50"))])
    note = going_on.send_out(
        studio=bench.studio,
        by=None,
        channel=shop,
        items=[(pack(bench), D("50.50"))],
        sent_on=bench.studio.today(),
    )
    change(bench, currency="JPY", rounding_step=D(1))
    client = member(bench.studio, "owner").client
    pages = {
        reverse("sales"): "€44.50",
        reverse("sale", args=[sale.number]): "€44.50",
        reverse("consignments"): "€50.50",
        reverse("consignment", args=[note.number]): "€50.50",
        reverse("payments"): "€10.55",
        reverse("owed"): "€10.55",
        reverse("commission", args=[commission.number]): "€10.55",
        reverse("set", args=[sale.lines.get().piece_set.number]): "€44.50",
    }

    seen = {page: amount in text_of(client.get(page)) for page, amount in pages.items()}

    assert seen == dict.fromkeys(pages, True)
