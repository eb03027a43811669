"""When commissions can be ready, from their lines, pours and coats; and what a promise moves.

The studio works four hours from Monday to Friday. A tile's film stays under 1.5 mm: moved after 3
days, under resin after 7, packed 7 days later, or 28 days after the pour without resin.
"""

from datetime import date, datetime, timedelta
from decimal import Decimal as D
from io import BytesIO

import pytest
from django.urls import reverse
from django.utils import timezone
from pypdf import PdfReader

from pricing.bench.pours import LayerLog
from pricing.calendar import calendar_links, working_days
from pricing.calendar.schedule import plan
from pricing.calendar.what_if import earliest_promise, what_if
from pricing.commissions import orders as commissions
from pricing.commissions.promised_day import promise_day
from pricing.errors import CalendarRefused, CommissionClosed, LinkGone
from pricing.estimating.judgement import film_expected_mm
from pricing.estimating.learning import hand_of
from pricing.quoting import quotes as quoting
from pricing.quoting.papers import quote_pdf
from studio.errors import StudioError
from studio.models.people import Role
from tests.conftest import member
from tests.factories import going_on
from tests.factories.bench import working_studio
from tests.factories.judged import pour_judged
from tests.factories.studio import MembershipFactory
from tests.pricing.commissions.test_commissions import accepted, add_tiles, opened

pytestmark = pytest.mark.django_db

MONDAY = date(2021, 3, 1)


def on(day, hour=10):
    return timezone.make_aware(datetime(2021, 3, day, hour))


def march(day):
    return MONDAY + timedelta(days=day - 1)


@pytest.fixture
def bench(monkeypatch):
    """A studio on Monday 1 March 2021 in which nothing fails, so that days can be counted."""
    monkeypatch.setattr("studio.models.Studio.today", lambda self: MONDAY)
    bench = working_studio()
    bench.studio.techniques.update(success_rate=D(1), learns=False)
    return bench


def coated(bench, **more):
    return accepted(bench, topcoat=bench.kit, packaging=bench.box, **more)


def begins(work):
    return [(one.step, one.begins) for one in work.steps]


def only(bench):
    (work,) = plan(bench.studio).works
    return work


def poured(bench, line, good=8, day=1):
    layers = {"base": LayerLog(D(90)), "colours": LayerLog(D(40)), "activator": LayerLog(D(10))}
    return pour_judged(
        studio=bench.studio,
        by=None,
        layers=layers,
        count=8,
        good_count=good,
        minutes=D(40),
        line=line,
        poured_at=on(day),
    )


def test_coasters_under_resin_take_two_weeks(bench):
    coated(bench)

    work = only(bench)

    assert begins(work) == [
        ("pour", march(1)),
        ("clean", march(4)),
        ("topcoat", march(8)),
        ("pack", march(15)),
    ]
    assert [(one.what, one.begins, one.ends) for one in work.waits] == [
        ("drying", march(1), march(8)),
        ("curing", march(8), march(15)),
    ]
    assert (work.ready_on, work.at_best) == (march(15), march(15))


def test_without_resin_the_paint_cures_before_it_is_packed(bench):
    accepted(bench)

    assert begins(only(bench))[-1] == ("pack", march(29))  # 28 days after the 1st


def test_minutes_are_those_of_the_technique(bench):
    # 25 + 8 × 6; 8 × 3; 10 + 8 × 5; packing goes by the set: 2 × 4.
    coated(bench)

    assert [one.minutes for one in only(bench).steps] == [73, 24, 50, 8]


def test_a_thick_film_dries_for_longer(bench, monkeypatch):
    coated(bench)
    hand = hand_of(bench.studio)
    assert film_expected_mm(bench.tile_size, "bloom", hand) < 1.5
    monkeypatch.setattr("pricing.calendar.work_left.film_expected_mm", lambda *args: 2.0)

    assert dict(begins(only(bench)))["topcoat"] == march(15)


def test_pieces_that_may_fail_are_poured_again(bench):
    # (1 − 0.15²)⁸ = 0.83 is not enough for 90 %, a third round is; after one round at most 3 of 8
    # are missing with that confidence, after two at most 1.
    bench.studio.techniques.update(success_rate=D("0.85"))
    coated(bench)

    work = only(bench)

    again = [(one.step, one.pieces, one.begins) for one in work.steps if one.is_again]
    assert [one for one in again if one[0] == "pour"] == [
        ("pour", 3, march(4)),
        ("pour", 1, march(8)),  # seen on Sunday 7th
    ]
    assert (work.at_best, work.ready_on) == (march(15), march(22))


def test_what_is_poured_goes_on_from_its_day_and_only_the_rest_is_poured(bench):
    commission = coated(bench)
    line = commission.lines.get()
    poured(bench, line, good=6, day=1)

    steps = only(bench).steps

    assert [(one.step, one.pieces) for one in steps if one.begins == march(1)] == [("pour", 2)]
    assert [(one.pieces, one.begins) for one in steps if one.step == "topcoat"] == [
        (6, march(8)),
        (2, march(8)),
    ]


def test_a_cure_goes_on_from_the_day_of_the_topcoat(bench):
    commission = coated(bench)
    pour = poured(bench, commission.lines.get(), day=1)
    going_on.log_topcoat(pour=pour, by=None, kit=bench.kit, mixed_ml=D(100), coated_at=on(9))

    work = only(bench)

    assert begins(work) == [("pack", march(16))]
    assert [(one.what, one.ends) for one in work.waits] == [("curing", march(16))]


def test_more_than_the_racks_hold_is_poured_in_loads(bench):
    working_days.set_working_days(studio=bench.studio, hours=[D(4)] * 5 + [D(0)] * 2, rack_places=6)
    coated(bench)

    found = [(one.pieces, one.begins) for one in only(bench).steps if one.step == "pour"]

    assert found == [(6, march(1)), (2, march(16))]  # the first six are packed on the 15th


def test_days_off_are_worked_around(bench):
    working_days.take_days_off(studio=bench.studio, first=march(1), last=march(3), reason="Fair")
    coated(bench)

    assert only(bench).steps[0].begins == march(4)


def test_what_cannot_be_planned_does_not_stop_the_rest(bench):
    coated(bench)
    never = coated(bench, technique=bench.studio.techniques.get(slug="swipe"))
    bench.studio.techniques.filter(slug="swipe").update(success_rate=D("0.01"))

    found = plan(bench.studio)

    assert len(found.works) == 1
    assert "12 rounds" in found.problems[never]


def test_finished_and_undecided_work_is_not_in_the_plan(bench):
    add_tiles(bench, opened(bench))
    done = coated(bench)
    commissions.move_on(commission=done, status="in_work", by=None)
    done = commissions.move_on(commission=done, status="ready", by=None)

    assert plan(bench.studio).works == ()
    assert earliest_promise(done) is None


def test_days_say_what_is_done_lies_and_is_ready(bench):
    commission = coated(bench)

    days = plan(bench.studio).days()

    assert [(one.day, one.minutes, one.lying) for one in days] == [
        (march(1), 73, 8),
        (march(4), 24, 8),
        (march(8), 50, 8),
        (march(15), 8, 8),
    ]
    assert days[-1].ready == (commission,)


# Promises


def one_place_each(bench, **wanted):
    """Make racks so small that two commissions cannot lie at once."""
    working_days.set_working_days(studio=bench.studio, hours=[D(4)] * 5 + [D(0)] * 2, rack_places=8)
    first, second = coated(bench), coated(bench)
    return first, second


def test_an_enquiry_is_promised_after_all_accepted_work(bench):
    one_place_each(bench)
    enquiry = opened(bench)
    add_tiles(bench, enquiry, topcoat=bench.kit)

    # The first lies from the 1st to the 15th, the second from the 16th to the 30th; so on.
    assert [one.ready_on for one in plan(bench.studio).works] == [march(15), march(30)]
    assert earliest_promise(enquiry).ready_on == march(45)


def test_what_if_says_which_other_work_moves_and_stores_nothing(bench):
    first, second = one_place_each(bench)

    found = what_if(second, march(20))

    assert (found.before.ready_on, found.after.ready_on) == (march(30), march(15))
    assert [(one.commission, one.before, one.after) for one in found.others] == [
        (first, march(15), march(30))
    ]
    assert found.is_kept
    second.refresh_from_db()
    assert second.promised_on is None


def test_an_enquiry_moves_others_only_when_it_is_promised_sooner(bench):
    first, second = one_place_each(bench)
    enquiry = opened(bench)
    add_tiles(bench, enquiry, topcoat=bench.kit)

    assert what_if(enquiry, None).others == ()
    sooner = what_if(enquiry, march(10))
    assert [one.commission for one in sooner.others] == [first, second]
    assert not sooner.is_kept  # two weeks are needed, whoever goes first


def test_a_promise_is_kept_with_day_and_name_and_orders_the_plan(bench):
    first, second = one_place_each(bench)
    maker = MembershipFactory(studio=bench.studio, role=Role.MAKER).user

    promise_day(commission=second, by=maker, on=march(20))
    promise_day(commission=second, by=maker, on=march(22))

    assert [one.commission for one in plan(bench.studio).works] == [second, first]
    notes = [(one.by, one.note) for one in second.events.filter(by=maker)]
    assert notes == [
        (maker, "Promised for 20 March 2021"),
        (maker, "Promised for 22 March 2021; before that for 20 March 2021"),
    ]


def test_late_work_says_by_how_many_days(bench):
    commission = coated(bench)
    commissions.change_commission(commission=commission, by=None, due_on=march(12))
    assert (only(bench).is_late, only(bench).days_late) == (True, 3)

    promise_day(commission=commission, by=None, on=march(15))
    assert not only(bench).is_late


def test_a_day_that_is_past_or_work_that_is_done_is_not_promised(bench):
    commission = coated(bench)
    with pytest.raises(CalendarRefused, match="28 February 2021 is past"):
        promise_day(commission=commission, by=None, on=march(0))
    commission = commissions.move_on(commission=commission, status="cancelled", by=None)
    with pytest.raises(CommissionClosed, match="nothing left to promise"):
        promise_day(commission=commission, by=None, on=march(9))
    with pytest.raises(CalendarRefused, match="Nothing is left to plan"):
        what_if(commission, march(9))


def test_a_sent_quote_says_ready_by_and_keeps_it(bench):
    commission = opened(bench)
    add_tiles(bench, commission)
    promise_day(commission=commission, by=None, on=march(40))
    quote = going_on.send_quote(quote=quoting.draft_quote(commission=commission, by=None), by=None)
    promise_day(commission=commission, by=None, on=march(50))

    quote.refresh_from_db()
    assert quote.frozen["paper"]["ready_by"] == "2021-04-09"
    words = " ".join(PdfReader(BytesIO(quote_pdf(quote))).pages[0].extract_text().split())
    assert "READY BY 9 April 2021" in words.replace("Ready by", "READY BY")


# Working days


def test_working_days_start_as_is_usual_and_are_set_whole(bench):
    studio = bench.studio
    assert working_days.hours_of(studio) == (4, 4, 4, 4, 4, 0, 0)
    assert working_days.rack_places_of(studio) == 24

    working_days.set_working_days(studio=studio, hours=[D(0)] * 6 + [D(5)], rack_places=9)

    week = working_days.week_of(studio)
    assert (week.minutes, week.rack_places) == ((0, 0, 0, 0, 0, 0, 300), 9)


@pytest.mark.parametrize(
    ("hours", "places", "said"),
    [
        ([D(0)] * 7, 5, "at least one weekday"),
        ([D(25)] + [D(0)] * 6, 5, "0 to 24 hours"),
        ([D(4)] * 7, 0, "at least one place"),
        ([D(4)] * 7, 2001, "1 to 2000 places"),
    ],
)
def test_impossible_working_days_are_refused_and_nothing_changes(bench, hours, places, said):
    with pytest.raises(StudioError, match=said):
        working_days.set_working_days(studio=bench.studio, hours=hours, rack_places=places)

    assert working_days.rack_places_of(bench.studio) == 24


def test_days_off_are_taken_once_and_given_back(bench):
    studio = bench.studio
    working_days.take_days_off(studio=studio, first=march(2), reason="Fair")
    taken = working_days.take_days_off(studio=studio, first=march(1), last=march(3), reason="Rest")

    assert [(one.day, one.reason) for one in taken] == [(march(n), "Rest") for n in (1, 2, 3)]
    working_days.work_again(day_off=taken[1])
    assert [one.day for one in studio.days_off.all()] == [march(1), march(3)]


@pytest.mark.parametrize(
    ("first", "last", "said"),
    [(0, 2, "is past"), (3, 2, "comes before the first"), (1, 400, "at most a year")],
)
def test_impossible_days_off_are_refused(bench, first, last, said):
    with pytest.raises(CalendarRefused, match=said):
        working_days.take_days_off(studio=bench.studio, first=march(first), last=march(last))


# Feed links


def test_a_link_opens_its_studio_until_it_is_revoked_replaced_or_its_member_goes(bench):
    studio = bench.studio
    member = MembershipFactory(studio=studio, role=Role.MAKER)
    _, first = calendar_links.make_calendar_link(studio=studio, user=member.user)
    link, second = calendar_links.make_calendar_link(studio=studio, user=member.user)

    assert calendar_links.studio_of(second) == studio
    assert second not in str(list(studio.calendar_links.values()))
    with pytest.raises(LinkGone):
        calendar_links.studio_of(first)
    member.role = Role.VIEWER
    member.save()
    with pytest.raises(LinkGone):
        calendar_links.studio_of(second)
    member.delete()
    with pytest.raises(LinkGone):
        calendar_links.studio_of(second)
    MembershipFactory(studio=studio, user=member.user, role=Role.MAKER)
    calendar_links.revoke_calendar_link(link=link)
    with pytest.raises(LinkGone):
        calendar_links.studio_of(second)


def test_a_link_stopped_twice_under_one_key_is_stopped_once(bench):
    owner = member(bench.studio, "owner")
    link, _ = calendar_links.make_calendar_link(studio=bench.studio, user=owner.user)
    path = reverse("api-calendar-links-detail", args=[link.pk])
    sending = {"HTTP_IDEMPOTENCY_KEY": "stop", "HTTP_IF_MATCH": "*"}

    statuses = [owner.api.delete(path, **sending).status_code for _ in range(2)]

    assert statuses == [204, 204]
    assert owner.api.delete(path, HTTP_IF_MATCH="*").status_code == 404


def test_a_set_packed_from_stock_pieces_is_not_poured_again(bench):
    commission = accepted(bench, quantity=2)
    stock_pour = pour_judged(
        studio=bench.studio,
        by=None,
        surface=bench.tile_size,
        technique=bench.bloom,
        palette=bench.palette,
        layers={"base": LayerLog(D(100))},
        count=4,
        good_count=4,
        minutes=D(30),
    )
    going_on.pack_set(
        studio=bench.studio,
        by=None,
        name="",
        pieces=stock_pour.pieces.all(),
        line=commission.lines.get(),
    )

    assert {step.pieces for step in only(bench).steps} == {4}
