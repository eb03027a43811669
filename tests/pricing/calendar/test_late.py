"""Late is told: where it is priced, before it is sent, on Today, among alerts, on the schedule."""

from datetime import timedelta

import pytest
from django.urls import reverse

from pricing.calendar.late import late_works
from pricing.calendar.what_if import earliest_promise
from pricing.commissions import orders as commissions
from pricing.commissions.promised_day import promise_day
from pricing.quoting import quote_links
from pricing.quoting import quotes as quoting
from studio.dates import in_full as day
from tests.conftest import member
from tests.factories import going_on
from tests.factories.bench import working_studio
from tests.pricing.commissions.test_commissions import accepted, add_tiles, opened
from tests.pricing.quoting.test_quote_pages import paper_of, text_of

pytestmark = pytest.mark.django_db
PAGES = ("home", "alerts", "schedule")


@pytest.fixture
def bench():
    return working_studio()


@pytest.fixture
def owner(bench):
    return member(bench.studio, "owner").client


def wanted(bench, days, commission=None, **more):
    commission = commission or opened(bench)
    if not commission.lines.exists():
        add_tiles(bench, commission, topcoat=bench.kit, **more)
    on = bench.studio.today() + timedelta(days=days)
    return commissions.change_commission(commission=commission, by=None, due_on=on)


def drafted(commission):
    return quoting.draft_quote(commission=commission, by=None)


def shown(client, page, *args):
    return text_of(client.get(reverse(page, args=args)))


def test_an_enquiry_that_cannot_be_ready_is_told_wherever_one_looks(bench, owner):
    asked = wanted(bench, 2)
    says = (
        f"It cannot be ready by {day(asked.due_on)}, the day wanted: "
        f"{day(earliest_promise(asked).ready_on)} at the earliest."
    )
    draft = drafted(asked)

    assert says in shown(owner, "quote-new", asked.number)
    assert says in shown(owner, "quote", draft.pk)
    for page in PAGES:
        assert says in shown(owner, page), page
    going_on.send_quote(quote=draft, by=None)
    assert says in shown(owner, "quote", draft.pk)


def test_what_can_be_ready_is_not_late(bench, owner):
    asked = wanted(bench, 90)
    draft = drafted(asked)

    for page in (("quote-new", asked.number), ("quote", draft.pk), *((one,) for one in PAGES)):
        assert "It cannot be ready" not in shown(owner, *page), page


def test_accepted_work_that_slips_is_told_until_another_day_is_promised(bench, owner):
    work = wanted(bench, 1, commission=accepted(bench))
    (late,) = late_works(bench.studio)

    assert (late.commission, late.wanted_on) == (work, work.due_on)
    assert "as planned" in late.sentence
    assert late.sentence in shown(owner, "home")
    promise_day(commission=work, by=None, on=late.work.ready_on)
    assert late_works(bench.studio) == []


def test_what_is_wanted_first_comes_first_and_each_is_planned_by_itself(bench):
    second, first = wanted(bench, 3, quantity=5), wanted(bench, 1)
    busy = wanted(bench, 60, commission=accepted(bench))

    found = late_works(bench.studio)

    assert [one.commission for one in found] == [first, second]
    for one in found:
        assert one.work.ready_on == earliest_promise(one.commission).ready_on
    assert busy not in [one.commission for one in found]


@pytest.mark.parametrize("count", (1, 3))
def test_it_asks_the_same_for_more_work(bench, django_assert_num_queries, count):
    for _ in range(count):
        wanted(bench, 1)
        wanted(bench, 1, commission=accepted(bench))
    late_works(bench.studio)

    with django_assert_num_queries(17):
        assert len(late_works(bench.studio)) == 2 * count


def test_nobody_else_is_told(bench, other_owner):
    wanted(bench, 1)

    assert late_works(other_owner.studio) == []
    assert "It cannot be ready" not in shown(other_owner.client, "home")


# What the customer's paper says of the day


@pytest.mark.parametrize("promised", [None, 40])
def test_the_paper_promises_no_day_that_was_only_asked_for(bench, owner, client, promised):
    asked = wanted(bench, 2)
    on = promised and bench.studio.today() + timedelta(days=promised)
    if on:
        promise_day(commission=asked, by=None, on=on)
        asked.refresh_from_db()
    quote = going_on.send_quote(quote=drafted(asked), by=None)
    _, secret = quote_links.make_link(quote=quote, by=None)

    paper = paper_of(owner.get(reverse("quote-pdf", args=[quote.pk])))
    page = text_of(client.get(reverse("customer-quote", args=[secret])))

    due = f"{asked.due_on.day} {asked.due_on:%B %Y}"
    for words in (paper, page):
        assert "Wanted by" not in words
        assert due in words
        assert ("No day is promised yet" in words) is (on is None)
        if on:
            assert f"{on.day} {on:%B %Y}" in words
