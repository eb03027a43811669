"""Money for commissions: what is owed, paid, given back, struck, invoiced and credited."""

from datetime import timedelta
from decimal import Decimal as D

import pytest
from django.urls import reverse

from inventory.stock import books
from pricing.commissions import owing, payments
from pricing.commissions.orders import move_on
from pricing.errors import InvoiceRefused, PaymentRefused
from pricing.models import Invoice, Payment
from pricing.quoting import invoicing
from pricing.quoting import quotes as quoting
from pricing.selling import sales
from tests.conftest import member
from tests.factories import going_on
from tests.factories.bench import working_studio
from tests.pricing.bench.test_pours import log
from tests.pricing.commissions.test_commissions import accepted, add_tiles, opened
from tests.pricing.quoting.test_quote_pages import paper_of, text_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def bench():
    return working_studio(deposit=D("0.5"), how_to_pay="Account 12-34")


@pytest.fixture
def commission(bench):
    return accepted(bench, quantity=2)


def pay(commission, amount, **more):
    return payments.take_payment(commission=commission, by=None, amount=D(amount), **more)


def gross(commission):
    return commission.quotes.get(status="accepted").gross


def packed(bench, commission, count=2):
    line = commission.lines.get()
    for _ in range(count):
        pour = log(bench, line=line, good_count=4)
        going_on.pack_set(
            studio=bench.studio, by=None, name="", pieces=pour.pieces.all(), line=line
        )


def sell(bench, commission, items=None, **more):
    return going_on.sell(
        studio=bench.studio,
        by=None,
        channel=bench.own_sale,
        sold_on=bench.studio.today(),
        items=items or sales.prices_quoted(commission),
        commission=commission,
        **more,
    )


def status(commission):
    commission.refresh_from_db()
    return commission.status


# What is owed


def test_an_accepted_quote_is_owed_and_its_deposit_is_due(commission):
    agreed = gross(commission)
    now = owing.account(commission)

    assert (now.agreed, now.paid, now.owed) == (agreed, 0, agreed)
    assert now.deposit_owed == commission.quotes.get().deposit

    pay(commission, now.deposit_owed)
    after = owing.account(commission)
    assert (after.owed, after.deposit_owed) == (agreed - now.deposit_owed, 0)


def test_deposit_then_balance_at_hand_over_is_paid(bench, commission):
    deposit = owing.account(commission).deposit_owed
    pay(commission, deposit, how="transfer")
    packed(bench, commission)

    sale = sell(bench, commission, how="card")

    balance = Payment.objects.get(sale=sale)
    assert (balance.amount, balance.how) == (gross(commission) - deposit, "card")
    assert owing.account(commission).owed == 0
    assert status(commission) == "paid"


def test_what_is_paid_later_is_delivered_until_it_is_paid(bench, commission):
    packed(bench, commission)
    sell(bench, commission, pays_later=True)
    assert status(commission) == "delivered"

    payment = pay(commission, gross(commission))
    assert status(commission) == "paid"

    payments.strike_payment(payment=payment, by=None, note="Wrong customer")
    assert status(commission) == "delivered"
    assert owing.account(commission).owed == gross(commission)


def test_half_handed_over_is_half_paid(bench, commission):
    packed(bench, commission, count=1)
    one = sales.prices_quoted(commission)
    sell(bench, commission, one)

    now = owing.account(commission)
    assert now.agreed == gross(commission)
    assert now.paid == now.handed_over == one[0][1]


def test_a_sale_of_half_books_what_the_deposit_does_not_cover(bench, commission):
    pay(commission, 3)
    packed(bench, commission, count=1)
    ((one, price),) = sales.prices_quoted(commission)

    sale = sell(bench, commission, [(one, price)])

    assert Payment.objects.get(sale=sale).amount == price - 3
    assert owing.account(commission).owed == gross(commission) - price


def test_a_sale_that_the_deposit_covers_books_nothing(bench, commission):
    packed(bench, commission, count=1)
    ((one, price),) = sales.prices_quoted(commission)
    pay(commission, price + 1)

    sale = sell(bench, commission, [(one, price)])

    assert not Payment.objects.filter(sale=sale).exists()


def test_a_commission_of_two_lines_is_ready_and_delivered_with_both(bench):
    commission = opened(bench)
    lines = [add_tiles(bench, commission, quantity=1) for _ in range(2)]
    quote = quoting.draft_quote(commission=commission, by=None)
    quoting.accept_quote(quote=going_on.send_quote(quote=quote, by=None), name="Wren Alder")
    seen = []
    for line in lines:
        pour = log(bench, line=line, good_count=4)
        going_on.pack_set(
            studio=bench.studio, by=None, name="", pieces=pour.pieces.all(), line=line
        )
        seen.append(status(commission))
    for item in sales.prices_quoted(commission):
        sell(bench, commission, [item], pays_later=True)
        seen.append(status(commission))

    assert seen == ["in_work", "ready", "ready", "delivered"]


def test_a_price_changed_at_hand_over_is_owed_as_changed(bench, commission):
    packed(bench, commission)
    cheaper = [(one, price - 5) for one, price in sales.prices_quoted(commission)]

    sell(bench, commission, cheaper, pays_later=True, shipping_charged=D(3))

    assert owing.account(commission).agreed == gross(commission) - 10 + 3


def test_a_refund_gives_back_what_was_paid(bench, commission):
    packed(bench, commission)
    sale = sell(bench, commission)

    sales.refund(sale=sale, by=None)

    now = owing.account(commission)
    assert (now.paid, now.owed) == (0, gross(commission))
    assert Payment.objects.filter(amount__lt=0).get().note == "Sale 1 refunded"


def test_paid_by_hand_records_the_payment(bench, commission):
    for step in ("in_work", "ready", "delivered", "paid"):
        move_on(commission=commission, status=step, by=None)

    assert status(commission) == "paid"
    assert Payment.objects.get().amount == gross(commission)


def test_a_cancelled_commission_leaves_its_deposit_to_give_back(commission):
    pay(commission, 10)
    move_on(commission=commission, status="cancelled", by=None)

    assert owing.account(commission).owed == -10
    payments.give_back(commission=commission, by=None, amount=D(10))
    assert owing.account(commission).owed == 0


def test_commissions_owe_each_their_own_in_as_many_queries(
    bench, commission, django_assert_num_queries
):
    for _ in range(2):
        pay(accepted(bench), 5)

    with django_assert_num_queries(6):
        rows = owing.accounts(bench.studio)

    assert sorted(one.paid for one in rows) == [0, 5, 5]
    assert [one.owed for one in rows] == [owing.account(one.commission).owed for one in rows]


# Refusals


@pytest.mark.parametrize(
    ("amount", "words"),
    [("0", "above zero"), ("-3", "above zero"), ("0.001", "above zero"), ("9999", "is owed")],
)
def test_an_amount_that_cannot_be_paid_is_refused(commission, amount, words):
    with pytest.raises(PaymentRefused, match=words):
        pay(commission, amount)
    assert not Payment.objects.exists()


def test_who_pays_too_much_is_told_what_is_owed(commission):
    gross = commission.quotes.get().gross

    with pytest.raises(PaymentRefused, match=rf"^\${gross:.2f} is owed for"):
        pay(commission, gross + 1)


def test_other_refusals_in_words(bench, commission):
    tomorrow = bench.studio.today() + timedelta(days=1)
    with pytest.raises(PaymentRefused, match="a day that has come"):
        pay(commission, 5, paid_on=tomorrow)
    with pytest.raises(PaymentRefused, match=r"\$0.00 is owed"):
        pay(opened(bench), 5)
    with pytest.raises(PaymentRefused, match=r"\$0.00 was paid"):
        payments.give_back(commission=commission, by=None, amount=D(5))
    payment = pay(commission, 5)
    opposite = payments.strike_payment(payment=payment, by=None, note="Typed twice")
    for one in (payment, opposite):
        with pytest.raises(PaymentRefused, match="cancelled already"):
            payments.strike_payment(payment=one, by=None, note="Again")


# Invoices


def test_an_invoice_asks_for_what_is_left_and_stays_as_it_was(bench, commission):
    pay(commission, 20, how="cash")
    invoice = invoicing.issue_invoice(commission=commission, by=None)
    client = member(bench.studio, "maker", sees_costs=True).client
    path = reverse("invoice-pdf", args=[invoice.number])
    first = client.get(path)

    words = paper_of(first)
    left = gross(commission) - 20
    for part in ("Invoice 1", "Wren Alder", "Quote 1", "cash", f"${left:.2f}", "Account 12-34"):
        assert part in words
    assert invoice.gross == invoice.net + invoice.tax == gross(commission)
    assert invoice.due_on - invoice.issued_on == timedelta(days=14)

    pay(commission, 5)
    type(bench.studio).objects.update(name="Another name", how_to_pay="Elsewhere")
    assert client.get(path).content == first.content


def test_an_invoice_tells_a_price_that_was_changed(bench, commission):
    packed(bench, commission)
    cheaper = [(one, price - D("5.50")) for one, price in sales.prices_quoted(commission)]
    sell(bench, commission, cheaper)

    invoice = invoicing.issue_invoice(commission=commission, by=None)

    quote = commission.quotes.get()
    assert invoice.gross == quote.gross - 11
    assert quote.tax - invoice.tax == D("1.00")  # 10 % tax in 11.00
    assert sum(D(row[3]) for row in invoice.frozen["lines"]) == invoice.net


def test_what_is_asked_once_stands_once_on_an_invoice(bench):
    commission = opened(bench)
    add_tiles(bench, commission)
    quote = quoting.draft_quote(commission=commission, by=None, shipping=D("8.40"))
    quoting.accept_quote(quote=going_on.send_quote(quote=quote, by=None), name="Wren Alder")

    invoice = invoicing.issue_invoice(commission=commission, by=None)

    assert invoice.frozen["lines"][-1] == ["Shipping", 1, "8.40", "8.40"]


def test_invoices_are_numbered_without_gaps_and_credited_whole(bench, commission):
    first = invoicing.issue_invoice(commission=commission, by=None)
    with pytest.raises(InvoiceRefused, match="Invoice 1 stands"):
        invoicing.issue_invoice(commission=commission, by=None)
    with pytest.raises(InvoiceRefused, match="Say why"):
        invoicing.credit_invoice(invoice=first, by=None, why=" ")

    note = invoicing.credit_invoice(invoice=first, by=None, why="Wrong address")
    second = invoicing.issue_invoice(commission=commission, by=None)

    assert [one.number for one in (first, note, second)] == [1, 2, 3]
    assert (note.net, note.tax, note.gross) == (-first.net, -first.tax, -first.gross)
    for one in (first, note):
        with pytest.raises(InvoiceRefused, match="credited already"):
            invoicing.credit_invoice(invoice=one, by=None, why="Again")
    words = paper_of(
        member(bench.studio, "maker", sees_costs=True).client.get(
            reverse("invoice-pdf", args=[note.number])
        )
    )
    for part in ("Credit note 2", "Takes back", "Invoice 1", "Wrong address", f"-${first.gross}"):
        assert part in words
    assert not list(books.check(bench.studio))


def test_nothing_is_invoiced_without_an_accepted_quote(bench):
    with pytest.raises(InvoiceRefused, match="no accepted quote"):
        invoicing.issue_invoice(commission=opened(bench), by=None)


def test_the_books_miss_a_number_that_is_gone(bench, commission):
    invoicing.issue_invoice(commission=commission, by=None)
    Invoice.objects.all().delete()

    assert [one.check for one in books.check(bench.studio)] == ["money"]


# Pages

PAGES = {
    "payment-new": ("maker", "commission"),
    "payment-back": ("maker", "commission"),
    "invoice-new": ("owner", "commission"),
    "receipt-pdf": ("maker", "payment"),
    "payment-strike": ("owner", "payment"),
    "invoice-pdf": ("maker", "invoice"),
    "invoice-credit": ("owner", "invoice"),
}
RANK = ("viewer", "maker", "owner")


@pytest.fixture
def rows(commission):
    return {
        "commission": commission,
        "payment": pay(commission, 5),
        "invoice": invoicing.issue_invoice(commission=commission, by=None),
    }


@pytest.mark.parametrize("name", PAGES)
def test_a_page_opens_for_its_role_and_for_nobody_else(bench, rows, other_owner, stranger, name):
    least, row = PAGES[name]
    path = reverse(name, args=[rows[row].number])

    for role in RANK:
        seen = member(bench.studio, role, sees_costs=True).client.get(path).status_code
        assert (seen == 200) == (RANK.index(role) >= RANK.index(least)), role
    assert other_owner.client.get(path).status_code == 404
    assert stranger.client.get(path).status_code == 302


@pytest.mark.parametrize("name", ["owed", "payments", "invoices"])
def test_a_list_shows_only_the_studios_own(bench, rows, other_owner, name):
    path = reverse(name)

    assert "Wren Alder" in text_of(member(bench.studio, "maker", sees_costs=True).client.get(path))
    assert "Wren Alder" not in text_of(other_owner.client.get(path))


@pytest.mark.parametrize(("name", "queries"), [("owed", 9), ("payments", 5), ("invoices", 5)])
@pytest.mark.parametrize("more", (0, 2))
def test_a_list_asks_as_often_for_one_row_as_for_three(
    bench, rows, more, name, queries, django_assert_num_queries
):
    for _ in range(more):
        other = accepted(bench)
        pay(other, 5)
        invoicing.issue_invoice(commission=other, by=None)
    client = member(bench.studio, "maker", sees_costs=True).client

    with django_assert_num_queries(queries):
        client.get(reverse(name))


def test_a_payment_is_typed_on_the_page(bench, commission):
    maker = member(bench.studio, "maker").client
    path = reverse("payment-new", args=[commission.number])
    today = str(bench.studio.today())

    refused = maker.post(path, {"amount": "100000", "how": "cash", "paid_on": today})
    done = maker.post(path, {"amount": "12.50", "how": "cash", "paid_on": today}, follow=True)

    assert refused.status_code == 422
    assert "is owed for" in text_of(refused)
    assert Payment.objects.get().amount == D("12.50")
    assert "Receipt 1" in text_of(done)


def test_the_receipt_says_what_is_left(bench, commission):
    pay(commission, "12.50", how="cash")
    words = paper_of(
        member(bench.studio, "maker", sees_costs=True).client.get(reverse("receipt-pdf", args=[1]))
    )

    for part in ("Receipt 1", "$12.50", "Cash", f"${gross(commission) - D('12.50'):.2f}"):
        assert part in words


def test_the_api_does_the_same(bench, commission):
    api = member(bench.studio, "owner").api
    base = f"/api/v1/commissions/{commission.number}/"

    made = api.post(f"{base}payments/", {"amount": "12.50", "how": "cash"}, format="json")
    back = api.post(f"{base}give-back/", {"amount": "2.50"}, format="json")
    invoice = api.post(
        "/api/v1/invoices/", {"commission": commission.number, "due_days": 7}, format="json"
    )
    account = api.get(f"{base}account/").data

    assert (made.status_code, back.status_code, invoice.status_code) == (201, 201, 201)
    assert D(account["paid"]) == 10
    assert D(account["owed"]) == gross(commission) - 10
    too_much = api.post(f"{base}payments/", {"amount": "9999"}, format="json")
    assert (too_much.status_code, too_much.data["code"]) == (409, "payment_refused")
    struck = api.post("/api/v1/payments/1/strike/", {"why": "Twice"}, format="json")
    note = api.post("/api/v1/invoices/1/credit/", {"why": "Twice"}, format="json")
    assert struck.data["strikes"] == 1
    assert note.data["credits"] == 1


def test_a_refund_of_what_nobody_paid_gives_nothing_back(bench, commission):
    packed(bench, commission)
    sale = sell(bench, commission, pays_later=True)

    sales.refund(sale=sale, by=None)

    assert not Payment.objects.exists()


def test_a_refund_gives_back_the_least_of_sums(bench, commission):
    packed(bench, commission)
    items = [(one, D("0.40")) for one, _ in sales.prices_quoted(commission)]
    sale = sell(bench, commission, items)

    sales.refund(sale=sale, by=None)

    assert [one.amount for one in Payment.objects.order_by("pk")] == [D("0.80"), D("-0.80")]
