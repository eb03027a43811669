"""A commission from its draft quote to paid: what was agreed is what is handed over and taken.

Prices are rounded up to the next 200, so that two sets are 400 whatever the paint in them costs.
"""

from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal as D
from fractions import Fraction
from math import floor

import pytest
from django.urls import reverse
from django.utils import timezone

from pricing.commissions import owing
from pricing.earnings.hindsight import hindsight
from pricing.errors import SaleRefused
from pricing.models import Sale
from pricing.quoting import invoicing
from pricing.quoting import quotes as quoting
from pricing.selling import sales
from studio.money import minor_unit
from tests.conftest import member
from tests.factories import going_on
from tests.factories.bench import working_studio
from tests.factories.going_on import WITH
from tests.factories.pricing import ChannelFactory
from tests.forms import read_page
from tests.pricing.bench.test_pours import log
from tests.pricing.commissions.test_commissions import add_tiles, opened
from tests.pricing.selling.test_sales import pack

pytestmark = pytest.mark.django_db
CHANGED = "Change of price at hand-over"


def studio_at(**settings):
    return working_studio(rounding_step=D(200), **settings)


def agreed(bench, shipping, channel=None, quantity=2):
    """Two sets, quoted with shipping, accepted and packed; returns the commission."""
    commission = opened(bench)
    line = add_tiles(bench, commission, quantity=quantity)
    quote = quoting.draft_quote(
        commission=commission, by=None, shipping=D(shipping), channel=channel
    )
    quoting.accept_quote(quote=going_on.send_quote(quote=quote, by=None), name="Wren Alder")
    for _ in range(quantity):
        pieces = log(bench, line=line, good_count=4).pieces.all()
        going_on.pack_set(studio=bench.studio, by=None, name="", pieces=pieces, line=line)
    return commission


def market(bench):
    """Five per cent of all that is paid, 0.30 a sale and 0.20 an item."""
    return ChannelFactory(
        studio=bench.studio,
        percent_fee=D("0.05"),
        fixed_fee=D("0.30"),
        listing_fee=D("0.20"),
        fee_on_shipping=True,
    )


def offered(client, commission):
    """Return what the page of the sale fills in, as a browser sends it."""
    address = f"{reverse('sale-new')}?commission={commission.number}"
    forms, _ = read_page(client.get(address).content.decode(), address)
    (form,) = (one for one in forms if any(name == "sold_on" for name, _ in one.fields))
    return address, form.data()


def handed_over(bench, commission, **changes):
    """Send the page of the sale back untouched but for some changes; returns the sale."""
    client = member(bench.studio, "maker").client
    address, data = offered(client, commission)
    answer = client.post(address, data | WITH | changes)
    assert answer.status_code == 302, answer.content.decode()
    return Sale.objects.latest("pk")


def lines_of(commission):
    invoice = invoicing.issue_invoice(commission=commission, by=None)
    return invoice, {row[0]: D(row[3]) for row in invoice.frozen["lines"]}


@dataclass(frozen=True)
class Worked:
    """A quote of two sets, worked by hand."""

    settings: dict
    shipping_gross: D
    gross: D
    tax: D
    fees: D


# So that 7.50 is left of shipping after 5 % of it with its tax, 7.50 / (1 - 0.05 x 1.0625) = 7.93
# is asked. 6.25 % on top of 400.00 and 7.93: 25.495625; of the shipping 0.495625. The market keeps
# 5 % of 433.43, 0.30 and 0.40: 22.3715.
ON_TOP = Worked(
    {"tax_rate": D("0.0625"), "tax_inclusive": False},
    shipping_gross=D("8.43"),
    gross=D("433.43"),
    tax=D("25.50"),
    fees=D("22.37"),
)
# 20 % in 400.00 and on 7.50 / (1 - 0.05 x 1.2) = 7.98, which are 9.58 with it: a sixth of 409.58 is
# 68.2633. 5 % of 409.58, 0.30 and 0.40: 21.179.
INSIDE = Worked(
    {"tax_rate": D("0.20"), "tax_inclusive": True},
    shipping_gross=D("9.58"),
    gross=D("409.58"),
    tax=D("68.26"),
    fees=D("21.18"),
)


@pytest.mark.parametrize("worked", [ON_TOP, INSIDE], ids=["on-top", "inside"])
def test_a_quote_handed_over_untouched_is_paid_as_agreed(worked):
    bench = studio_at(**worked.settings)
    channel = market(bench)
    commission = agreed(bench, "7.50", channel)
    quote = commission.accepted_quote

    sale = handed_over(bench, commission)

    assert (quote.gross, quote.tax) == (worked.gross, worked.tax)
    assert (sale.channel, sale.fees) == (channel, worked.fees)
    assert (sale.shipping_charged, sale.shipping_paid) == (worked.shipping_gross, D("7.50"))
    now = owing.account(commission)
    assert (now.agreed, now.paid, now.owed) == (worked.gross, worked.gross, 0)
    commission.refresh_from_db()
    assert commission.status == "paid"
    invoice, lines = lines_of(commission)
    assert CHANGED not in lines
    assert (invoice.net, invoice.tax, invoice.gross) == (quote.net, quote.tax, quote.gross)
    assert sum(lines.values()) == (
        quote.gross if quote.frozen["terms"]["tax_inclusive"] else quote.net
    )
    (one,) = hindsight(bench.studio)
    for part in ("revenue", "tax", "fees"):
        assert getattr(one.actual, part) == getattr(one.forecast, part)


def test_the_customers_paper_has_shipping_with_its_tax_where_prices_include_it():
    commission = agreed(studio_at(**INSIDE.settings), "7.50")

    quote = commission.accepted_quote

    _, shipping = quote.lines.values_list("unit_price", "amount")
    assert shipping == (D("9.00"), D("9.00"))
    totals = {name: D(text) for name, text in quote.frozen["totals"].items()}
    assert totals["net"] - totals["fees"] - totals["cost"] - totals["profit"] == D("7.50")


def test_shipping_is_owed_until_it_is_taken_when_sets_go_in_parts():
    bench = studio_at(**ON_TOP.settings)
    commission = agreed(bench, "7.50")
    first, second = sales.prices_quoted(commission)
    blank = {f"price_{second[0].pk}": ""}

    sale = handed_over(bench, commission, **blank)
    now = owing.account(commission)
    rest = handed_over(bench, commission)

    assert (sale.shipping_charged, sale.shipping_paid) == (D("7.97"), D("7.50"))
    assert (now.agreed, now.paid) == (D("432.97"), first[1] + D("7.97"))
    assert (rest.shipping_charged, rest.shipping_paid) == (0, 0)
    now = owing.account(commission)
    assert (now.agreed, now.paid) == (D("432.97"), D("432.97"))


def test_shipping_left_out_of_the_first_part_is_offered_with_the_last():
    bench = studio_at(**ON_TOP.settings)
    commission = agreed(bench, "7.50")
    _, second = sales.prices_quoted(commission)

    handed_over(
        bench,
        commission,
        **{f"price_{second[0].pk}": "", "shipping_charged": "", "shipping_paid": ""},
    )
    assert owing.account(commission).agreed == D("432.97")
    rest = handed_over(bench, commission)

    assert rest.shipping_charged == D("7.97")
    assert owing.account(commission).paid == D("432.97")


def test_shipping_that_is_taken_out_of_the_page_is_not_charged():
    """On a fetched order: 7.97 less, of which 0.47 is tax, and the invoice says so."""
    bench = studio_at(**ON_TOP.settings)
    commission = agreed(bench, "7.50")

    sale = handed_over(bench, commission, shipping_charged="", shipping_paid="")

    assert (sale.shipping_charged, sale.shipping_paid) == (0, 0)
    now = owing.account(commission)
    assert (now.agreed, now.paid) == (D("425.00"), D("425.00"))
    _, lines = lines_of(commission)
    assert lines[CHANGED] == D("-7.50")


@pytest.mark.parametrize(
    ("told", "charged", "paid"),
    [
        ({}, "7.97", "7.50"),
        ({"shipping_charged": "0"}, "0", "0"),
        ({"shipping_charged": "5"}, "5", "0"),
        ({"shipping_paid": "6.20"}, "7.97", "6.20"),
    ],
)
def test_the_api_takes_shipping_as_agreed_where_nothing_is_said(told, charged, paid):
    bench = studio_at(**ON_TOP.settings)
    commission = agreed(bench, "7.50")
    api = member(bench.studio, "maker").api
    agreed_prices = api.get(f"/api/v1/commissions/{commission.number}/sale-prices/").data

    items = [{"set": one["set"], "price": one["price"]} for one in agreed_prices["results"]]
    body = {"channel": bench.own_sale.pk, "items": items, "commission": commission.number, **WITH}
    made = api.post("/api/v1/sales/", body | told).data

    assert (D(made["shipping_charged"]), D(made["shipping_paid"])) == (D(charged), D(paid))
    account = api.get(f"/api/v1/commissions/{commission.number}/account/").data
    assert account["agreed"] == account["paid"]
    assert D(account["agreed"]) == 425 + D(charged)


def test_the_page_of_any_sale_takes_a_commissions_shipping_too():
    """On the page that names no commission, nothing said of shipping is what the quote says."""
    bench = studio_at(**ON_TOP.settings)
    commission = agreed(bench, "7.50")
    prices = {f"price_{one.pk}": f"{price}" for one, price in sales.prices_quoted(commission)}
    data = {"channel": bench.own_sale.pk, "sold_on": f"{bench.studio.today()}", **prices, **WITH}

    member(bench.studio, "maker").client.post(reverse("sale-new"), data)

    assert Sale.objects.get().shipping_charged == D("7.97")
    assert owing.account(commission).paid == D("432.97")


def test_a_refund_gives_shipping_back_and_it_is_agreed_again():
    bench = studio_at(**ON_TOP.settings)
    commission = agreed(bench, "7.50")
    sales.refund(sale=handed_over(bench, commission), by=None)
    refunded = owing.account(commission)

    again = handed_over(bench, commission)

    assert (refunded.agreed, refunded.paid) == (D("432.97"), 0)
    assert again.shipping_charged == D("7.97")
    assert owing.account(commission).paid == D("432.97")


# Over currencies, against an independent reference in fractions


def half_up(amount, coin):
    return floor(amount / coin + Fraction(1, 2)) * coin


def referred(shipping, rate, inclusive, coin, step=200, sets=2):
    """Return (shipping with tax, total, tax) of two sets at 200, exactly and then in coins."""
    shown = half_up(shipping * (1 + rate), coin) if inclusive else shipping
    total = step * sets + shown
    if inclusive:
        return shown, total, half_up(total - total / (1 + rate), coin)
    tax = half_up(total * rate, coin)
    return half_up(shipping * (1 + rate), coin), total + tax, tax


@pytest.mark.parametrize("inclusive", [True, False], ids=["inside", "on-top"])
@pytest.mark.parametrize(
    ("currency", "shipping", "rate"),
    [
        ("JPY", "755", "0.1"),
        ("EUR", "7.49", "0.19"),
        ("KWD", "3.335", "0.05"),
        ("USD", "8.35", "0.0875"),
    ],
)
def test_what_was_agreed_is_taken_in_any_currency(currency, shipping, rate, inclusive):
    bench = studio_at(currency=currency, tax_rate=D(rate), tax_inclusive=inclusive)
    commission = agreed(bench, shipping)
    coin = Fraction(minor_unit(currency))

    sale = handed_over(bench, commission)

    shipping_gross, gross, tax = referred(Fraction(shipping), Fraction(rate), inclusive, coin)
    quote, now = commission.accepted_quote, owing.account(commission)
    assert (quote.gross, quote.tax, quote.net) == (gross, tax, gross - tax)
    assert (sale.shipping_charged, sale.shipping_paid) == (shipping_gross, D(shipping))
    assert (now.agreed, now.paid) == (gross, gross)
    invoice, lines = lines_of(commission)
    assert CHANGED not in lines and (invoice.gross, invoice.tax) == (gross, tax)
    (one,) = hindsight(bench.studio)
    assert (one.actual.revenue, one.actual.tax) == (gross, tax)
    assert (one.forecast.revenue, one.forecast.tax) == (gross, tax)


# The day of a sale


def refused_everywhere(bench, one, day, sentence):
    """Check that the service, the page and the API refuse a set on a day in the same words."""
    maker = member(bench.studio, "maker")
    with pytest.raises(SaleRefused, match=sentence):
        going_on.sell(
            studio=bench.studio, by=None, channel=bench.own_sale, sold_on=day, items=[(one, D(30))]
        )
    data = {"channel": bench.own_sale.pk, "sold_on": f"{day}"}
    page = maker.client.post(reverse("sale-new"), data | {f"price_{one.pk}": "30"})
    items = [{"set": one.number, "price": "30"}]
    api = maker.api.post("/api/v1/sales/", data | {"items": items})
    assert sentence in page.content.decode()
    assert (api.status_code, api.data["code"]) == (409, "sale_refused")
    assert sentence in api.data["detail"]
    assert not Sale.objects.exists()


def test_a_sale_in_the_future_is_refused():
    bench = working_studio()

    refused_everywhere(
        bench,
        pack(bench),
        bench.studio.today() + timedelta(days=1),
        "A sale is recorded once it is made. Choose a day that has come.",
    )


def test_a_sale_before_its_set_was_packed_is_refused():
    bench = working_studio()
    today = bench.studio.today()
    last_week = timezone.now() - timedelta(days=7)
    pieces = log(bench, good_count=4, poured_at=last_week).pieces.all()
    one = going_on.pack_set(
        studio=bench.studio, by=None, name="Four", pieces=pieces, made_on=today - timedelta(days=2)
    )
    words = f"{today - timedelta(days=2):%-d %B %Y}"

    refused_everywhere(
        bench,
        one,
        today - timedelta(days=3),
        f"Set 1: Four was made on {words}, so it cannot have been sold before. Choose that day or "
        "a later one.",
    )
    sold = going_on.sell(
        studio=bench.studio,
        by=None,
        channel=bench.own_sale,
        sold_on=today - timedelta(days=2),
        items=[(one, D(30))],
    )
    assert sold.sold_on == one.made_on


def test_a_sale_before_a_piece_of_the_set_was_poured_is_refused():
    bench = working_studio()
    day = bench.studio.today() - timedelta(days=3)

    refused_everywhere(bench, pack(bench, made_on=day), day, "so it cannot have been sold before.")


def test_today_is_the_studios_own_day():
    """It is always a day later on Kiritimati than on Niue, 25 hours behind."""
    ahead = working_studio(time_zone="Pacific/Kiritimati")
    behind = working_studio(time_zone="Pacific/Niue")
    today = ahead.studio.today()

    sold = going_on.sell(
        studio=ahead.studio,
        by=None,
        channel=ahead.own_sale,
        sold_on=today,
        items=[(pack(ahead), D(30))],
    )

    assert sold.sold_on == today
    with pytest.raises(SaleRefused, match="a day that has come"):
        going_on.sell(
            studio=behind.studio,
            by=None,
            channel=behind.own_sale,
            sold_on=today,
            items=[(pack(behind), D(30))],
        )


def test_a_set_is_packed_on_the_day_that_the_page_says():
    bench = working_studio()
    pieces = log(bench, good_count=4).pieces.all()
    data = {"pieces": [one.pk for one in pieces], "name": "Four", "minutes": "3", **WITH}
    day = bench.studio.today() - timedelta(days=1)

    member(bench.studio, "maker").client.post(reverse("set-new"), data | {"made_on": f"{day}"})

    assert bench.studio.sets.get().made_on == day
