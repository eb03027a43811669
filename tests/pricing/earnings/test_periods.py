"""Every list, report and file of things that have a day is of the days that are asked for."""

import csv
import io
from datetime import UTC, date, datetime
from decimal import Decimal as D

import pytest
from django.urls import URLResolver, get_resolver, reverse

from pricing.exports import LISTS
from pricing.selling import sales
from tests.conftest import member
from tests.factories.bench import working_studio
from tests.factories.everything import one_of_everything, refund_all
from tests.pricing.selling.test_sales import pack, sell

pytestmark = pytest.mark.django_db
MARCH, APRIL = (datetime(2026, month, 10, 12, tzinfo=UTC) for month in (3, 4))
PAGES = (
    *("entries", "sales", "sets", "pours", "batches", "payments", "invoices", "consignments"),
    *("orders", "counts", "commissions", "profit", "hindsight", "in-and-out"),
)


@pytest.fixture
def bench():
    """Two sets, sold in March and April for 40.00 and 44.00; the second was given back in May."""
    bench = working_studio(tax_rate=D(0))
    sets = [pack(bench, poured_at=moment) for moment in (MARCH, APRIL)]
    sell(bench, [(sets[0], D(40))], sold_on=date(2026, 3, 31))
    late = sell(bench, [(sets[1], D(44))], sold_on=date(2026, 4, 30))
    sales.refund(sale=late, by=None, refunded_on=date(2026, 5, 1))
    bench.owner = member(bench.studio, "owner")
    return bench


def page(bench, name, **asked):
    return bench.owner.client.get(reverse(name), asked).content.decode()


def test_a_list_holds_the_rows_of_both_ends_of_its_period(bench):
    of_march = page(bench, "sales", **{"from": "2026-03-31", "to": "2026-04-29"})
    of_both = page(bench, "sales", **{"from": "2026-03-31", "to": "2026-04-30"})

    assert [f"Sale {number}," in of_march for number in (1, 2)] == [True, False]
    assert [f"Sale {number}," in of_both for number in (1, 2)] == [True, True]
    assert "31 Mar 2026 to 29 Apr 2026" in of_march


def test_a_list_without_any_in_its_period_says_so_and_offers_all(bench):
    empty = page(bench, "sales", **{"from": "2020-01-01", "to": "2020-12-31"})

    assert "Nothing in these days" in empty
    assert "period=all" in empty


def test_what_is_asked_besides_stays(bench):
    found = page(bench, "profit", by="channel", period="last-year", page="1")

    assert '<input type="hidden" name="by" value="channel">' in found
    assert "by=channel&amp;period=this-month" in found
    assert f"{reverse('profit-csv')}?by=channel&amp;period=last-year" in found


def test_profit_is_that_of_its_days(bench):
    """40.00 less 7.40 of materials and 16.00 of work is 16.60; 44.00 less the same is 20.60, and
    May takes it back."""
    amounts = {"2026-03": "16.6", "2026-04": "20.6", "2026-05": "-20.6"}
    for month, profit in amounts.items():
        asked = f"from={month}-01&to={month}-{'31' if month != '2026-04' else '30'}"
        total = bench.owner.api.get(f"/api/v1/profit/total/?{asked}").data
        rows = bench.owner.api.get(f"/api/v1/profit/?{asked}").data["results"]
        cuts = bench.owner.api.get(f"/api/v1/profit/cuts/?by=month&{asked}").data["results"]
        file = bench.owner.client.get(f"{reverse('profit-csv')}?{asked}")
        (line,) = csv.DictReader(io.StringIO(file.content.decode("utf-8-sig")))
        assert D(total["totals"][0]["sums"]["profit"]) == D(profit)
        assert [D(row["sums"]["profit"]) for row in rows] == [D(profit)]
        assert [one["label"] for one in cuts] == [month]
        assert (D(line["profit"]), line["day"][:7]) == (D(profit), month)
        assert f"profit-{month}-01" in file.headers["Content-Disposition"]


def test_a_file_of_a_list_holds_its_period_and_says_so_in_its_name(bench):
    address = reverse("list-file", args=["sales", "csv"])
    whole = bench.owner.client.get(address)
    some = bench.owner.client.get(f"{address}?from=2026-04-01&to=2026-04-30")

    assert [len(one.content.decode().splitlines()) for one in (whole, some)] == [3, 2]
    assert 'filename="sales-2026-04-01-2026-04-30.csv"' in some.headers["Content-Disposition"]
    assert 'filename="sales.csv"' in whole.headers["Content-Disposition"]


@pytest.mark.parametrize("name", PAGES)
def test_a_page_of_no_period_is_refused_in_words(bench, name):
    found = bench.owner.client.get(reverse(name), {"from": "2026-13-01"})

    assert found.status_code == 409
    assert "Give the days of a period as 2026-03-31." in found.content.decode()


@pytest.mark.parametrize("name", PAGES)
def test_a_page_takes_every_name_of_a_period(owner, name):
    one_of_everything(owner.studio)

    for period in ("this-month", "last-quarter", "this-year"):
        found = owner.client.get(reverse(name), {"period": period})
        assert found.status_code == 200
        assert 'class="period"' in found.content.decode()


@pytest.mark.parametrize("name", sorted(name for name, one in LISTS.items() if one.dated_by))
def test_every_dated_file_gives_nothing_of_a_period_before_the_studio(owner, name):
    one_of_everything(owner.studio)
    if name == "refunds":
        refund_all(owner.studio)
    address = f"/api/v1/exports/{name}/?as=csv"

    def lines(asked):
        return len(owner.api.get(f"{address}&{asked}").content.decode().splitlines())

    assert lines("to=1999-12-31") == 1
    assert lines("from=1999-12-31") == lines("period=all") > 1


def dated_lists(patterns):
    """Return {name: viewset} of the API's lists whose rows have a day."""
    found = {}
    for one in patterns:
        if isinstance(one, URLResolver):
            found |= dated_lists(one.url_patterns)
        elif getattr(getattr(one.callback, "cls", None), "dated_by", "") and (
            one.callback.actions.get("get") == "list"
        ):
            found[one.name] = one.callback.cls
    return found


DATED = dated_lists(get_resolver().url_patterns)


def test_the_lists_of_what_has_a_day_are_dated():
    assert len(DATED) == 19


@pytest.mark.parametrize("name", sorted(DATED))
def test_every_dated_list_of_the_api_is_narrowed(owner, name):
    one_of_everything(owner.studio)

    def count(**asked):
        answer = owner.api.get(reverse(name), asked)
        return answer.data.get("count", answer.data.get("fields"))

    assert count(to="1999-12-31") == 0
    assert count(**{"from": "1999-12-31"}) == count(period="all") == count() > 0
    assert set(count(to="1999")) == set(count(period="then")) == {"period"}
