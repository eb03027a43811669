"""Late is told: where it is priced, before it is sent, on Today, among alerts, on the schedule."""

from datetime import timedelta
from decimal import Decimal as D

import pytest
from django.urls import reverse
from django.utils import timezone

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
from tests.pricing.bench.test_pours import log
from tests.pricing.commissions.test_commissions import accepted, add_tiles, opened
from tests.pricing.quoting.test_quote_pages import paper_of, text_of
from tests.pricing.readiness.test_gate import THIN

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

    # and what is ready, and what is packed for it and for accepted work
    with django_assert_num_queries(19):
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


# What is packed and not cured yet


def packed(bench, days_ago=0, promised=3, **more):
    """Pour four tiles for a commission, promise it, and pack them before they are cured.

    Bare paint of up to 1.5 mm is cured after 28 days (facts of the trade, drying).
    """
    commission = accepted(bench, quantity=1, pieces_each=4)
    poured = timezone.now() - timedelta(days=days_ago)
    told = {"line": commission.lines.get(), "poured_at": poured, "layers": THIN, **more}
    pour = log(bench, count=4, good_count=4, **told)
    on = bench.studio.today() + timedelta(days=promised)
    commission = promise_day(commission=commission, by=None, on=on)
    going_on.pack_set(
        studio=bench.studio, by=None, name="", pieces=pour.pieces.all(), line=told["line"]
    )
    commission.refresh_from_db()
    return commission


def test_what_is_packed_and_not_cured_by_the_day_is_told_wherever_one_looks(bench, owner):
    made = packed(bench)
    cured = bench.studio.today() + timedelta(days=28)
    says = (
        f"It cannot be handed over by {day(made.promised_on)}, the day promised: what is packed "
        f"is cured, and safe to use, from {day(cured)} on."
    )

    (late,) = late_works(bench.studio)

    assert made.status == "ready"
    assert (late.commission, late.hand_over_on, late.sentence) == (made, cured, says)
    for page in (("commission", made.number), *((one,) for one in PAGES)):
        assert says in shown(owner, *page), page


@pytest.mark.parametrize(("days_ago", "promised"), [(0, 28), (25, 3), (30, 1)])
def test_what_is_cured_by_the_day_is_not_late(bench, owner, days_ago, promised):
    made = packed(bench, days_ago, promised)

    assert late_works(bench.studio) == []
    assert "cannot be handed over" not in shown(owner, "commission", made.number)


def test_a_cure_that_nobody_knows_is_told_as_not_known(bench):
    packed(bench, room_c=D(5))

    (late,) = late_works(bench.studio)

    assert late.hand_over_on is None
    assert late.sentence.startswith("Nobody knows whether what is packed is cured by")


def test_what_is_handed_over_is_late_no_more(bench):
    made = packed(bench)
    going_on.sell(
        studio=bench.studio,
        by=None,
        channel=bench.own_sale,
        sold_on=bench.studio.today(),
        items=[(made.lines.get().sets.get(), D(20))],
    )

    assert late_works(bench.studio) == []


@pytest.mark.parametrize("count", (1, 3))
def test_packed_work_asks_the_same_for_more(bench, django_assert_num_queries, count):
    for _ in range(count):
        packed(bench)
    late_works(bench.studio)

    with django_assert_num_queries(24):
        assert len(late_works(bench.studio)) == count
