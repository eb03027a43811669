"""The schedule as pages, endpoints and a calendar feed: who may, and what they show."""

from datetime import date, timedelta

import icalendar
import pytest
from django.db import connection
from django.test import Client
from django.urls import reverse
from rest_framework.test import APIClient

from pricing.calendar import calendar_links, working_days
from pricing.calendar.feed import calendar_feed
from pricing.commissions import orders as commissions
from pricing.commissions.promised_day import promise_day
from tests.conftest import member
from tests.factories.bench import working_studio
from tests.pricing.commissions.test_commissions import accepted, add_tiles, opened
from tests.pricing.quoting.test_quote_pages import text_of

pytestmark = pytest.mark.django_db

MONDAY = date(2021, 3, 1)
API = "/api/v1/"


@pytest.fixture
def bench(monkeypatch):
    """A studio on Monday 1 March 2021 in which nothing fails and eight places are there."""
    monkeypatch.setattr("studio.models.Studio.today", lambda self: MONDAY)
    bench = working_studio()
    bench.studio.techniques.update(success_rate=1, learns=False)
    working_days.set_working_days(studio=bench.studio, hours=[4, 4, 4, 4, 4, 0, 0], rack_places=8)
    return bench


@pytest.fixture
def maker(bench):
    return member(bench.studio, "maker", sees_costs=True)


@pytest.fixture
def first(bench):
    return accepted(bench, topcoat=bench.kit, packaging=bench.box)


@pytest.fixture
def second(bench, first):
    return accepted(bench, topcoat=bench.kit, packaging=bench.box)


def promise_page(commission, name="commission-promise"):
    return reverse(name, args=[commission.number])


def test_the_schedule_says_what_is_done_ready_and_late(bench, maker, first):
    commissions.change_commission(commission=first, by=None, due_on=date(2021, 3, 10))

    words = text_of(maker.client.get(reverse("schedule")))

    for said in (
        "Ready Mon 15 Mar 2021",
        "wanted by Wed 10 Mar",
        "Late for the day wanted",
        "<strong>Pour</strong>, 8 pieces",
        "8 of 8 places taken",
        "8 pieces drying<",
        "Drying and curing days are estimates",
        "Before you mix resin",
    ):
        assert said in words


def test_the_commission_says_its_earliest_honest_promise(bench, maker):
    enquiry = opened(bench)
    add_tiles(bench, enquiry, topcoat=bench.kit)

    words = text_of(maker.client.get(reverse("commission", args=[enquiry.number])))

    assert "Earliest honest promise: <strong>Monday 15 March 2021</strong>" in words
    assert "until Mon 8 Mar" in words


def test_a_cool_room_is_said_to_take_longer(bench, maker, first):
    assert "so promise later" not in text_of(maker.client.get(reverse("schedule")))
    bench.studio.room_temperature_c = 16
    bench.studio.save(update_fields=["room_temperature_c"])

    words = text_of(maker.client.get(reverse("schedule")))

    assert "Your usual room is set to 60.8 °F" in words


def test_what_if_shows_before_and_after_and_confirming_stores_it(bench, maker, first, second):
    shown = maker.client.get(promise_page(second), {"promised_on": "2021-03-20"})

    assert "ready Mon 15 Mar before, Tue 30 Mar after" in text_of(shown)
    assert "Promise 20 March 2021" in text_of(shown)
    second.refresh_from_db()
    assert second.promised_on is None

    done = maker.client.post(
        promise_page(second, "commission-promise-keep"), {"promised_on": "2021-03-20"}, follow=True
    )
    assert "promised for 20 Mar 2021" in text_of(done)
    second.refresh_from_db()
    assert second.promised_on == date(2021, 3, 20)
    assert second.events.last().by == maker.user


def test_a_promise_that_cannot_be_kept_is_said_to_be_late(maker, first):
    words = text_of(maker.client.get(promise_page(first), {"promised_on": "2021-03-05"}))

    assert "it can be ready on Monday 15 March 2021. That is after the day" in words
    assert "Promise 5 March 2021 all the same" in words


@pytest.mark.parametrize("typed", ("soon", "2020-01-01"))
def test_a_day_that_cannot_be_promised_is_refused_and_nothing_changes(maker, first, typed):
    maker.client.post(promise_page(first, "commission-promise-keep"), {"promised_on": typed})

    first.refresh_from_db()
    assert first.promised_on is None


def test_pages_keep_to_their_roles_and_studio(bench, maker, first, other_owner, stranger):
    viewer, owner = member(bench.studio, "viewer"), member(bench.studio, "owner")
    keep = promise_page(first, "commission-promise-keep")
    day = {"promised_on": "2021-03-20"}

    assert viewer.client.get(promise_page(first)).status_code == 200
    assert [
        viewer.client.post(one, day).status_code for one in (keep, reverse("calendar-link"))
    ] == [
        403,
        403,
    ]
    assert maker.client.get(reverse("working-days")).status_code == 403
    assert owner.client.get(reverse("working-days")).status_code == 200
    assert other_owner.client.get(promise_page(first)).status_code == 404
    assert other_owner.client.post(keep, day).status_code == 404
    assert first.title not in text_of(other_owner.client.get(reverse("schedule")))
    assert stranger.client.get(reverse("schedule")).status_code == 302


def test_an_owner_sets_hours_and_days_off(bench):
    owner = member(bench.studio, "owner")
    hours = {f"hours_{n}": "2.5" if n < 3 else "0" for n in range(7)}

    owner.client.post(reverse("working-days"), hours | {"rack_places": "12"})
    refused = owner.client.post(
        reverse("working-days"), {f"hours_{n}": "0" for n in range(7)} | {"rack_places": "12"}
    )
    days = {"off-first": "2021-03-02", "off-last": "2021-03-03", "off-reason": "Fair"}
    owner.client.post(reverse("days-off-new"), days)

    week = working_days.week_of(bench.studio)
    assert week.minutes == (150, 150, 150, 0, 0, 0, 0)
    assert week.days_off == {date(2021, 3, 2), date(2021, 3, 3)}
    assert refused.status_code == 422
    assert "at least one weekday" in text_of(refused)
    off = bench.studio.days_off.first()
    owner.client.post(reverse("day-off-remove", args=[off.pk]))
    assert bench.studio.days_off.count() == 1


@pytest.mark.parametrize("count", (1, 3))
def test_each_page_asks_as_often_for_one_commission_as_for_three(
    bench, maker, first, count, django_assert_num_queries
):
    for _ in range(count - 1):
        accepted(bench, topcoat=bench.kit, packaging=bench.box)
    promise = reverse("api-commissions-what-if", args=[first.number])
    maker.client.get(reverse("schedule"))

    # Accepted work, the calendar in three, habits in six, the state of the pours, lines, pieces,
    # pours, topcoats; who asks in three, or with a token in two.
    # The same again, with enquiries, for what is asked for and late; what is ready and may be so
    # too; and the feed's links.
    with django_assert_num_queries(38):
        maker.client.get(reverse("schedule"))
    with django_assert_num_queries(19):
        maker.api.get(reverse("api-schedule"))
    with django_assert_num_queries(27):  # and the commission with its lines and events
        maker.api.get(promise, {"promised_on": "2021-03-20"})


# The API


def test_the_api_reads_the_schedule_a_promise_and_what_it_moves(maker, first, second):
    plan = maker.api.get(f"{API}schedule/").data

    assert [(one["commission"], one["ready_on"]) for one in plan["works"]] == [
        (first.number, "2021-03-15"),
        (second.number, "2021-03-30"),
    ]
    assert plan["days"][0] == {"day": "2021-03-01", "minutes": "73.00", "lying": 8, "ready": []}
    address = f"{API}commissions/{second.number}/promise/"
    earliest = maker.api.get(f"{address}earliest/").data["planned"]
    assert earliest["ready_on"] == "2021-03-30"
    asked = maker.api.get(f"{address}what-if/", {"promised_on": "2021-03-20"}).data
    assert asked["is_kept"]
    assert asked["others"] == [
        {
            "commission": first.number,
            "before": "2021-03-15",
            "after": "2021-03-30",
            "wanted": None,
            "is_late": False,
        }
    ]
    kept = maker.api.post(address, {"promised_on": "2021-03-20"})
    assert kept.data["promised_on"] == "2021-03-20"
    assert maker.api.post(address, {"promised_on": "x"}).status_code == 400
    past = maker.api.post(address, {"promised_on": "2021-02-01"})
    assert (past.status_code, past.data["code"]) == (409, "calendar_refused")


def test_the_api_sets_working_days_and_days_off(bench):
    owner = member(bench.studio, "owner")
    sent = {"hours": ["3"] * 7, "rack_places": 10}

    assert owner.api.patch(f"{API}working-days/", sent).data["hours"] == ["3.00"] * 7
    fewer = owner.api.patch(f"{API}working-days/", {"rack_places": 4}).data
    assert fewer == {"hours": ["3.00"] * 7, "rack_places": 4}
    off = owner.api.post(f"{API}days-off/", {"first": "2021-03-02", "last": "2021-03-03"})
    assert [one["day"] for one in off.data] == ["2021-03-02", "2021-03-03"]
    owner.api.delete(f"{API}days-off/{off.data[0]['id']}/")
    assert owner.api.get(f"{API}days-off/").data["count"] == 1


def test_a_change_of_working_days_says_of_which_version_it_is(bench):
    owner = member(bench.studio, "owner")
    address = f"{API}working-days/"
    read = owner.api.get(address)
    bare = APIClient(headers={"Authorization": owner.api._credentials["HTTP_AUTHORIZATION"]})

    unsaid = bare.patch(address, {"rack_places": 4})
    changed = owner.api.patch(address, {"rack_places": 4}, headers={"If-Match": read["ETag"]})
    stale = owner.api.patch(address, {"rack_places": 5}, headers={"If-Match": read["ETag"]})

    assert (unsaid.status_code, unsaid.data["code"]) == (428, "match_required")
    assert (changed.status_code, changed.data["rack_places"]) == (200, 4)
    assert (stale.status_code, stale.data["code"]) == (412, "changed_meanwhile")


def test_what_the_calendar_takes_nothing_by_is_refused_by_name(bench, maker, first):
    owner = member(bench.studio, "owner")
    answers = {
        "colour": maker.api.get(f"{API}schedule/?colour=red"),
        "day": maker.api.get(f"{API}commissions/{first.number}/promise/what-if/?day=x"),
        "mood": owner.api.post(f"{API}days-off/", {"first": "2021-03-02", "mood": "calm"}),
        "for": maker.api.post(f"{API}calendar-links/", {"for": "me"}),
    }

    for name, answer in answers.items():
        assert (answer.status_code, list(answer.data["fields"])) == (400, [name])


def test_a_link_is_made_for_oneself_and_stopped_by_oneself_or_an_owner(bench, maker):
    owner, other = member(bench.studio, "owner"), member(bench.studio, "maker")
    made = maker.api.post(f"{API}calendar-links/")
    feed = made.data["url"]

    assert Client().get(feed).status_code == 200
    assert other.api.get(f"{API}calendar-links/").data["results"] == []
    assert owner.api.get(f"{API}calendar-links/").data["count"] == 1
    page = reverse("calendar-link-revoke", args=[made.data["id"]])
    assert other.client.post(page).status_code == 404
    assert other.api.post(f"{API}calendar-links/stop/").status_code == 204
    assert Client().get(feed).status_code == 200
    owner.api.delete(f"{API}calendar-links/{made.data['id']}/")
    assert Client().get(feed).status_code == 404

    shown = maker.client.post(reverse("calendar-link"))
    address = shown.context["link_url"]
    assert address in text_of(shown)
    assert address not in text_of(maker.client.get(reverse("schedule")))
    maker.api.post(f"{API}calendar-links/stop/")
    assert Client().get(address).status_code == 404


# The feed, by RFC 5545


def events(body):
    return icalendar.Calendar.from_ical(body).walk("VEVENT")


def test_the_feed_is_private_and_reads_back_with_the_days_of_the_plan(bench, maker, first):
    promise_day(commission=first, by=None, on=date(2021, 3, 18))
    _, secret = calendar_links.make_calendar_link(studio=bench.studio, user=maker.user)

    answer = Client().get(reverse("calendar-feed", args=[secret]))

    assert answer["Content-Type"] == "text/calendar; charset=utf-8"
    assert answer["Referrer-Policy"] == "no-referrer"
    assert answer["X-Robots-Tag"] == "noindex"
    assert "no-store" in answer["Cache-Control"]
    days = {str(one["SUMMARY"]): (one.start, one.end) for one in events(answer.content)}
    called = f"Coasters (commission {first.number})"
    day = timedelta(days=1)
    # DTEND is the day after the last one (3.6.1).
    assert days[f"Pour 8: {called}"] == (MONDAY, MONDAY + day)
    assert days[f"Drying 8: {called}"] == (MONDAY, date(2021, 3, 8))
    assert days[f"Curing 8: {called}"] == (date(2021, 3, 8), date(2021, 3, 15))
    assert days[f"Ready: {called}"][0] == date(2021, 3, 15)
    assert days[f"Promised: {called}"][0] == date(2021, 3, 18)
    assert "Wren Alder" not in answer.content.decode()
    assert Client().get(reverse("calendar-feed", args=["x"])).status_code == 404


def test_the_feed_keeps_to_the_rules_of_rfc_5545(bench, first):
    commissions.change_commission(
        commission=first, by=None, title="Zwölf Untersetzer; für Blüten, „Küche“ " + "ö" * 60
    )

    body = calendar_feed(bench.studio)

    lines = body.split(b"\r\n")
    assert body.endswith(b"\r\n")
    assert b"\n" not in body.replace(b"\r\n", b"")
    assert max(map(len, lines)) <= 75  # octets, without the line break (3.1)
    assert [line.decode() for line in lines]  # no character is cut in two
    unfolded = body.replace(b"\r\n ", b"").decode()
    for required in ("VERSION:2.0", "PRODID:", "BEGIN:VEVENT"):  # 3.6
        assert required in unfolded
    assert "SUMMARY:Pour 8: Zwölf Untersetzer\\; für Blüten\\, „Küche“ " in unfolded  # 3.3.11
    for event in events(body):  # 3.6.1
        assert {"UID", "DTSTAMP", "DTSTART", "SUMMARY"} <= set(event)
    assert "DTSTART;VALUE=DATE:20210301" in unfolded  # 3.3.4
    assert unfolded.count("DTSTAMP:") == unfolded.count("BEGIN:VEVENT")


def test_an_entry_keeps_its_uid_when_it_moves_and_no_two_share_one(bench, first, second):
    before = {str(one["SUMMARY"]): one for one in events(calendar_feed(bench.studio))}
    promise_day(commission=second, by=None, on=date(2021, 3, 20))
    after = {str(one["SUMMARY"]): one for one in events(calendar_feed(bench.studio))}

    ready = f"Ready: Coasters (commission {first.number})"
    assert before[ready]["UID"] == after[ready]["UID"]
    assert before[ready].start != after[ready].start
    uids = [str(one["UID"]) for one in events(calendar_feed(bench.studio))]
    assert len(uids) == len(set(uids))


def test_the_feed_still_says_what_is_due_when_nothing_can_be_planned(bench, first):
    commissions.change_commission(commission=first, by=None, due_on=date(2021, 3, 10))
    working_days.set_working_days(studio=bench.studio, hours=[0, 0, 0, 0, 0, 0, 1], rack_places=8)
    for year in range(4):
        start = MONDAY + timedelta(days=366 * year)
        working_days.take_days_off(
            studio=bench.studio, first=start, last=start + timedelta(days=365)
        )

    found = [str(one["SUMMARY"]) for one in events(calendar_feed(bench.studio))]

    assert found == [f"Wanted: Coasters (commission {first.number})"]


def stored_past_the_fields(row, **values):
    """Write into the database what no field lets through, as rows of before may hold it."""
    with connection.cursor() as cursor:
        for name, value in values.items():
            table = row._meta.db_table
            cursor.execute(f"UPDATE {table} SET {name} = %s WHERE id = %s", [value, row.pk])
    row.refresh_from_db()


@pytest.mark.parametrize("day", [date(9999, 12, 31), date(1, 1, 1)])
def test_a_day_at_the_end_of_the_calendar_is_not_taken_and_breaks_no_feed(bench, maker, first, day):
    form = {"title": "Coasters", "customer": first.customer_id, "due_on": day.isoformat()}
    page = maker.client.post(reverse("commission-edit", args=[first.number]), form)
    answer = maker.api.patch(f"{API}commissions/{first.number}/", {"due_on": day.isoformat()})
    assert "Give a date from 1950 to 2100." in page.content.decode()
    assert (answer.status_code, answer.data["fields"]) == (
        400,
        {"due_on": ["Give a date from 1950 to 2100."]},
    )

    stored_past_the_fields(first, due_on=day)

    (due,) = [
        one
        for one in events(calendar_feed(bench.studio))
        if str(one["SUMMARY"]).startswith("Wanted")
    ]
    assert due.start == day
    for page in ("schedule", "home", "commissions", "work"):
        assert maker.client.get(reverse(page)).status_code == 200


def test_line_breaks_and_controls_stored_before_break_no_feed(bench, first):
    stored_past_the_fields(bench.studio, name="Blue\r\nHeron\x0b\x07Studio")
    stored_past_the_fields(first, title="Six\nCoasters\x07\ufffe")

    body = calendar_feed(bench.studio)

    assert b"NAME:Blue Heron Studio: schedule\r\n" in body
    assert f"Ready: Six Coasters (commission {first.number})" in {
        str(one["SUMMARY"]) for one in events(body)
    }


def test_a_studio_named_with_a_line_break_has_a_name_of_one_line(bench):
    owner = member(bench.studio, "owner")
    assert owner.api.patch(f"{API}studio/", {"name": "Blue\nHeron"}).status_code == 200
    bench.studio.refresh_from_db()

    assert b"NAME:Blue Heron: schedule\r\n" in calendar_feed(bench.studio)
