"""What pages, the API and files tell of a past day, to whom, and what days they refuse."""

import csv
import io
import re
from datetime import timedelta
from decimal import Decimal as D

import pytest
from django.db import connection
from django.urls import reverse
from pypdf import PdfReader

from pricing.commissions import owing
from pricing.earnings.valuation import shown_valuation, valuation
from studio.models import Studio
from studio.money import format_money
from tests.conftest import member
from tests.factories.everything import one_of_everything
from tests.factories.studio import StudioFactory
from tests.inventory.pages import words
from tests.pricing.days.story import Days

pytestmark = pytest.mark.django_db
ACTS = ("order", "accept", "pay", "pour", "pack", "sell", "send", "receive", "use", "waste")
# (page, endpoint) of what takes a past day.
TOLD = [
    ("valuation", "api-valuation"),
    ("owed", "api-owed-list"),
    ("promised", "api-promised-list"),
]


@pytest.fixture(params=["USD", "JPY", "KWD"])
def days(request, monkeypatch):
    days = Days(monkeypatch, 5, currency=request.param, rounding_step=1)
    for name in (*ACTS, *ACTS, "order", "accept"):
        days.act(name)
    days.end_the_day()
    days.past = max(days.shown)
    for name in ACTS:
        days.act(name)
    days.clock.go_on(days=40)
    days.studio = Studio.objects.get(pk=days.studio.pk)
    days.owner = member(days.studio, "owner")
    return days


def table(answer):
    return list(csv.DictReader(io.StringIO(answer.content.decode("utf-8-sig"))))


def test_page_api_csv_and_paper_tell_the_same_stock_value(days):
    studio, asked = days.studio, {"as_of": f"{days.past}"}
    found = shown_valuation(valuation(studio, days.past), studio.currency)
    assert found.materials and found.finished
    assert found.total != shown_valuation(valuation(studio), studio.currency).total

    page = words(days.owner.client.get(reverse("valuation"), asked))
    lines = table(days.owner.client.get(reverse("valuation-file", args=["csv"]), asked))
    sheet = days.owner.client.get(reverse("valuation-sheet"), asked)
    paper = " ".join(one.extract_text() for one in PdfReader(io.BytesIO(sheet.content)).pages)
    answer = days.owner.api.get("/api/v1/valuation/", asked).json()
    files = [days.owner.api.get(f"/api/v1/valuation/{one}/", asked) for one in ("file", "sheet")]

    spoken = f"{days.past.day} {days.past:%B %Y}"
    assert f"was on hand at the end of {spoken}" in page and spoken in paper
    assert {one["As of"] for one in lines} == {answer["on"]} == {f"{days.past}"}
    assert table(files[0]) == lines
    assert f"stock-value-{days.past}.pdf" in files[1].headers["Content-Disposition"]
    for row, line in zip([*found.materials, *found.finished], lines, strict=True):
        assert (D(line["Cost"]), D(line["Lower of the two"])) == (row.cost, row.value)
    for amount in (found.total.cost, found.total.value, *(row.cost for row in found.materials)):
        written = format_money(amount, studio.currency, studio.locale)
        assert written in page
        assert written.replace("\xa0", " ") in paper.replace("\xa0", " ")
    exact = valuation(studio, days.past).total
    assert D(answer["total"]["cost"]) == exact.cost


def test_page_api_and_file_tell_the_same_debts(days):
    studio, asked = days.studio, {"as_of": f"{days.past}"}
    rows = owing.owed(studio, days.past)
    assert rows and [one.owed for one in rows] != [one.owed for one in owing.owed(studio)]

    page = words(days.owner.client.get(reverse("owed"), asked))
    lines = table(days.owner.client.get(reverse("owed-file", args=["csv"]), asked))
    answer = days.owner.api.get("/api/v1/owed/", asked).json()["results"]

    assert f"At the end of {days.past.day} {days.past:%B %Y}" in page
    assert table(days.owner.api.get("/api/v1/owed/file/", asked)) == lines
    assert {one["As of"] for one in lines} == {f"{days.past}"}
    told = {one.commission.number: (one.agreed, one.paid, one.owed) for one in rows}
    columns = ("Agreed", "Paid", "Owed")
    assert {
        int(one["Commission"]): tuple(D(one[name]) for name in columns) for one in lines
    } == told
    names = [name.lower() for name in columns]
    assert {one["commission"]: tuple(D(one[name]) for name in names) for one in answer} == told
    for one in rows:
        assert format_money(one.owed, studio.currency, studio.locale) in page


def test_page_and_api_tell_the_same_promises(days):
    asked = {"as_of": f"{days.past}"}
    then = {name: held for (_, name), (held, _) in days.shown[days.past].promised.items()}
    assert then

    page = words(days.owner.client.get(reverse("promised"), asked))
    works = days.owner.api.get("/api/v1/promised/", asked).json()["results"]

    assert f"At the end of {days.past.day} {days.past:%B %Y}" in page
    told = [one for work in works for one in work["promises"]]
    for one in told:
        assert one["material"]["name"] in page
        assert (one["on_order"], one["to_buy"], one["is_late"]) == (None, None, None)
    assert {one["material"]["name"]: D(one["held"]) for one in told} == then


@pytest.mark.parametrize(("page", "endpoint"), TOLD)
def test_a_day_that_is_none_or_has_not_come_is_refused_in_words(studio, owner, page, endpoint):
    tomorrow = studio.today() + timedelta(days=1)
    for text, sentence in (
        ("yesterday", "Give the day as 2026-03-31."),
        ("2026-02-30", "Give the day as 2026-03-31."),
        ("1066-01-01", "Give a day from 1950-01-01"),
        (f"{tomorrow}", f"{tomorrow} has not come yet."),
    ):
        shown = owner.client.get(reverse(page), {"as_of": text})
        told = owner.api.get(reverse(endpoint), {"as_of": text})
        assert (shown.status_code, told.status_code) == (409, 400)
        assert sentence in words(shown)
        assert sentence in told.json()["fields"]["as_of"][0]


def test_today_and_nothing_are_now(studio, owner):
    one_of_everything(studio)
    ask = owner.api.get

    now = ask("/api/v1/valuation/").json()

    assert ask("/api/v1/valuation/", {"as_of": f"{studio.today()}"}).json() == now
    assert now["on"] == f"{studio.today()}"


def test_promises_of_before_they_were_kept_are_refused_in_words(studio, owner):
    studio.days_kept_from = studio.today() - timedelta(days=3)
    studio.save()
    days = [{"as_of": f"{studio.days_kept_from - timedelta(days=back)}"} for back in (0, 1)]

    pages = [owner.client.get(reverse("promised"), day) for day in days]
    answers = [owner.api.get("/api/v1/promised/", day) for day in days]

    assert [one.status_code for one in (*pages, *answers)] == [200, 409, 200, 409]
    assert "What was promised is known from" in words(pages[1])
    assert "What was promised is known from" in answers[1].json()["detail"]


def test_who_sees_a_past_day_is_who_sees_today(studio, viewer, hand, maker, stranger):
    one_of_everything(studio)
    other = member(StudioFactory(), "owner")
    asked = {"as_of": f"{studio.today() - timedelta(days=1)}"}

    def seen(name, *args):
        url = reverse(name, args=args)
        people = (maker, hand, viewer, stranger)
        return [one.client.get(url, asked).status_code for one in people]

    assert seen("valuation") == seen("valuation-file", "csv") == [200, 403, 403, 302]
    assert seen("owed") == seen("owed-file", "csv") == [200, 200, 403, 302]
    assert seen("promised") == [200, 200, 200, 302]
    for address in ("valuation", "owed", "promised"):
        assert other.api.get(f"/api/v1/{address}/", asked).status_code == 200
    assert other.api.get("/api/v1/valuation/", asked).json()["materials"] == []
    assert other.api.get("/api/v1/owed/", asked).json()["results"] == []
    assert other.api.get("/api/v1/promised/", asked).json()["results"] == []


WHOLE = {
    "sqlite": r"SCAN inventory_(movement|entry)(?! USING)",
    "postgresql": r"Seq Scan on inventory_(movement|entry)",
}


@pytest.mark.parametrize("more", (4, 6))
def test_no_page_of_a_past_day_asks_more_for_more_rows_or_goes_over_the_ledger(
    monkeypatch, more, django_assert_num_queries
):
    days = Days(monkeypatch, 5)
    for name in ACTS * more:
        days.act(name)
    days.end_the_day()
    owner = member(days.studio, "owner")
    asked = {"as_of": f"{max(days.shown)}"}

    for name, queries in (("valuation", 26), ("owed", 11), ("promised", 7)):
        with django_assert_num_queries(queries) as captured:
            owner.client.get(reverse(name), asked)
        for query in captured.captured_queries:
            if "inventory_movement" in query["sql"]:
                assert not re.search(WHOLE[connection.vendor], plan(query["sql"])), query["sql"]


def plan(sql):
    """Return how the database goes about a question, also where tables are small."""
    is_sqlite = connection.vendor == "sqlite"
    with connection.cursor() as cursor:
        if not is_sqlite:
            cursor.execute("SET LOCAL enable_seqscan = off")
        cursor.execute(("EXPLAIN QUERY PLAN " if is_sqlite else "EXPLAIN ") + sql)
        return "\n".join(str(row[-1]) for row in cursor.fetchall())
