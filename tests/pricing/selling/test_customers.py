"""The page of a customer: all that was between them and the studio, bounded, as far as one sees."""

import re
from datetime import timedelta
from decimal import Decimal as D

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from pricing.commissions import payments
from pricing.models import Commission, Customer
from pricing.selling.customers import History, bought_count, sums_of
from studio.views.lists import PAGE_SIZE
from tests.conftest import member
from tests.factories.bench import working_studio
from tests.factories.pricing import CommissionFactory, CustomerFactory, SaleFactory
from tests.pricing.commissions.test_commissions import accepted

pytestmark = pytest.mark.django_db


@pytest.fixture
def bench():
    return working_studio()


def opened(bench, role="owner", customer=None, **asked):
    address = reverse("customer", args=[(customer or bench.customer).pk])
    return member(bench.studio, role).client.get(address, asked)


def words(page):
    return re.sub(r"<[^>]+>|\s+", " ", page.content.decode().split("<main")[1])


def paid_work(bench):
    """Return accepted work of which some is paid, quoted two days before."""
    commission = accepted(bench)
    before = timezone.now() - timedelta(days=2)
    Commission.objects.update(created_at=before - timedelta(days=1))
    commission.quotes.update(sent_at=before)
    payments.take_payment(commission=commission, by=None, amount=D(5), how="cash")
    return commission


def test_all_of_it_stands_in_the_order_of_time(bench):
    commission = paid_work(bench)
    CommissionFactory(studio=bench.studio, title="Somebody else's", number=77)
    page = opened(bench)

    assert [one.kind for one in page.context["page"]] == ["payment", "quote", "commission"]
    assert str(commission) in words(page) and "Somebody else's" not in words(page)


def test_the_sums_are_what_the_accounts_say(bench):
    commission = paid_work(bench)
    quote = commission.quotes.get()
    (owed,), (paid,) = sums_of(bench.customer).owed, sums_of(bench.customer).paid

    assert (paid.amount, owed.amount) == (5, quote.gross - 5)


def test_a_viewer_reads_what_was_made_and_no_sum_or_address(bench):
    paid_work(bench)
    Customer.objects.update(phone="0123 456", notes="Likes blue")
    page = opened(bench, "viewer")

    assert [one.kind for one in page.context["page"]] == ["quote", "commission"]
    assert "sums" not in page.context
    for hidden in ("$", "0123 456", "Likes blue", "Owed", "Paid"):
        assert hidden not in words(page)


def test_what_was_bought_with_and_without_a_commission_counts_once(bench):
    SaleFactory(studio=bench.studio, customer=bench.customer)
    commission = CommissionFactory(studio=bench.studio, customer=bench.customer)
    SaleFactory(studio=bench.studio, customer=bench.customer, commission=commission)
    SaleFactory(studio=bench.studio, customer=CustomerFactory(studio=bench.studio))

    assert [one.kind for one in opened(bench).context["page"]].count("sale") == 2
    assert bought_count(bench.customer) == 0  # they have no lines


def test_it_is_paged_and_asks_the_same_for_few_and_many(bench):
    def questions(**asked):
        with CaptureQueriesContext(connection) as seen:
            opened(bench, **asked)
        return len(seen)

    CommissionFactory(studio=bench.studio, customer=bench.customer)
    few = questions()
    for day in range(PAGE_SIZE + 3):
        row = CommissionFactory(studio=bench.studio, customer=bench.customer)
        row.created_at = timezone.now() - timedelta(days=day // 3)
        row.save()
    many, second = questions(), opened(bench, page="2").context["page"]

    assert many <= few + 1  # the numbers of pages
    whole = History(bench.customer, member(bench.studio, "owner").membership)[0:1000]
    shown = [*opened(bench).context["page"], *second]
    assert [one.row.pk for one in shown] == [one.row.pk for one in whole]
    assert len({one.row.pk for one in shown}) == PAGE_SIZE + 4


def test_an_empty_page_takes_down_what_they_want(bench):
    page = opened(bench, "maker")
    address = f"{reverse('commission-new')}?customer={bench.customer.pk}"

    assert f'href="{address}"' in page.content.decode()
    form = member(bench.studio, "maker").client.get(address).context["form"]
    assert form["customer"].value() == bench.customer.pk
