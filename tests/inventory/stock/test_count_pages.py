"""The pages of a shelf count: weighed blind, asked about surprises, listed, reported."""

import re
from io import BytesIO

import pytest
from django.urls import reverse
from pypdf import PdfReader

from inventory.models import Movement, ShelfCount
from inventory.stock import counts
from inventory.stock import ledger as stock
from tests.conftest import member
from tests.factories.inventory import MaterialFactory
from tests.inventory.pages import words
from tests.inventory.stock.shelves import D, receive, shelf, use


@pytest.fixture
def white(studio):
    """250 mL for 5.00; empty it weighs 32 g, and 1 mL weighs 1.25 g."""
    paint = MaterialFactory(studio=studio, name="White", tare_g=D(32), density_g_per_ml=D("1.25"))
    return receive(paint, (250, 5))[0]


@pytest.fixture
def tiles(studio):
    return receive(MaterialFactory(studio=studio, name="Tile", unit="each"), (24, 36))[0]


@pytest.fixture
def count(studio, white, tiles):
    return counts.start_count(studio=studio, by=None)


def here(name="count-weigh", *more):
    return reverse(name, args=[1, *more])


def weighed(person, number, code="", **more):
    return person.client.post(here(), {"code": code, "gross_g": number, **more}, follow=True)


def test_a_count_is_started_from_its_page(maker, studio, white, tiles):
    white.place = "shelf 2"
    white.save()
    choices = words(maker.client.get(reverse("count-new")))
    assert "Every place shelf 2 (1)" in choices
    assert "Paint" in choices
    assert "Medium" not in choices

    made = maker.client.post(reverse("count-new"), {"place": "shelf 2"}, follow=True)

    assert made.redirect_chain[-1][0] == here("count")
    assert "0 of 1" in words(made)
    assert ShelfCount.objects.get().started_by == maker.user
    again = maker.client.post(reverse("count-new"), {"kinds": ["paint"]})
    assert again.status_code == 422
    assert "Go on with it, or finish or cancel it first." in words(again)


def test_a_bottle_is_weighed_blind(maker, count, white):
    page = maker.client.get(here())
    html = page.content.decode()
    said = words(page).replace(maker.user.email, "")  # which has a number of its own

    assert f"{white.code} White" in said
    assert "0 of 2 done" in said
    for told in ("250", "344", "32 g", "1.25"):
        assert told not in said
    (field,) = re.findall(r'<input type="text" name="gross_g"[^>]*>', html)
    assert 'inputmode="decimal"' in field
    assert "autofocus" in field
    assert "250" not in words(maker.client.get(here("count"))).replace(maker.user.email, "")


def test_what_was_found_is_told_once_it_is_weighed_and_the_next_stands_there(maker, count, white):
    page = weighed(maker, "332", white.code)  # (332 - 32) / 1.25 = 240 mL

    assert f"{white.code} White: 240 mL. The books said 250 mL." in words(page)
    assert "Tile 1 of 2 done How many are there" in words(page)
    assert shelf(white)[0] == D(240)
    agreed = maker.client.post(here(), {"code": "B0002", "quantity": "24"}, follow=True)
    assert "B0002 Tile: 24, as the books said." in words(agreed)
    assert "Everything is weighed, counted or left out." in words(agreed)
    assert "Finish the count" in words(agreed)


def test_sent_twice_it_is_posted_once(maker, count, white):
    for _ in range(2):
        page = weighed(maker, "332", white.code, once="a-token")

    assert f"{white.code} White: 240 mL." in words(page)
    assert Movement.objects.filter(kind="weigh_in").count() == 1


def test_a_surprise_is_shown_and_confirmed_only_as_it_stands(maker, count, white):
    asked = weighed(maker, "132", white.code)  # 100 / 1.25 = 80 mL
    assert asked.status_code == 422
    assert "That would be 80 mL, and the books say 250 mL." in words(asked)
    assert "Empty, the bottle weighs 32 g, and 1 mL of what is in it 1.25 g." in words(asked)
    assert 'name="confirmed" value="132"' in asked.content.decode()

    changed = weighed(maker, "57", white.code, confirmed="132")
    assert "That would be 20 mL" in words(changed)
    assert shelf(white)[0] == D(250)

    kept = weighed(maker, "132", white.code, confirmed="132")
    assert f"{white.code} White: 80 mL. The books said 250 mL." in words(kept)
    assert shelf(white)[0] == D(80)


@pytest.mark.parametrize("typed", ("B0001", "b0001", "1", " 0001 "))
def test_a_bottle_is_found_by_its_code_or_its_number(maker, count, typed):
    assert "B0001 White" in words(maker.client.get(here(), {"code": typed}))


def test_a_code_that_no_bottle_has_is_said_so(maker, count):
    (foreign,) = receive(MaterialFactory(name="Foreign"), (10, 1))
    foreign.code = "X77"
    foreign.save()

    for code in ("X77", "9999", "\0"):
        page = maker.client.get(here(), {"code": code, "after": "x"})
        assert page.status_code == (200 if code == "\0" else 404)
        assert "Foreign" not in words(page)
    assert "There is nothing with the code “9999” in this studio." in words(
        maker.client.get(here(), {"code": "9999"})
    )


def test_what_the_scale_cannot_tell_is_measured(maker, studio, count, white):
    (plain,) = receive(MaterialFactory(studio=studio, name="Gloss"), (100, 4))
    page = words(maker.client.get(here(), {"code": plain.code}))
    assert "Not known yet: what the empty bottle weighs" in page
    assert "This bottle is not on the list. What you set here adds it to the count." in page
    maker.client.post(here(), {"code": plain.code, "quantity": "90 mL"})
    assert shelf(plain)[0] == D(90)

    maker.client.post(f"{here()}?how=measure", {"code": white.code, "quantity": "248"})
    assert shelf(white)[0] == D(248)


def test_an_empty_bottle_that_is_found_comes_back(maker, count, white):
    use(white.material, 250)
    page = words(maker.client.get(here(), {"code": white.code}))
    assert "empty" not in page  # it is on the list: nobody is told what to expect

    weighed(maker, "57", white.code, confirmed="57")

    white.refresh_from_db()
    assert (white.remaining, white.archived_at) == (D(20), None)


def test_what_is_put_away_and_not_on_the_list_says_so(maker, studio, white, tiles):
    use(white.material, 250)
    counts.start_count(studio=studio, by=None)

    assert "By the books this bottle is empty" in words(
        maker.client.get(here(), {"code": white.code})
    )


def test_a_bottle_is_left_out_put_back_and_weighed(maker, count, white):
    page = maker.client.post(here("count-leave-out", white.code), {"why": "lent"}, follow=True)
    assert f"{white.code} White is left out." in words(page)
    done = words(maker.client.get(here(), {"code": white.code}))
    assert "Left out lent The books said 250 mL" in done
    assert "1 of them left out" in words(maker.client.get(here("count")))

    refused = weighed(maker, "332", white.code)
    assert "Put it back to weigh it again." in words(refused)
    back = maker.client.post(here("count-put-back", white.code), {"why": ""}, follow=True)
    assert f"{white.code} White waits to be weighed again." in words(back)
    assert "240 mL" in words(weighed(maker, "332", white.code))


def test_a_count_is_finished_when_nothing_waits(maker, count, white, tiles):
    refused = maker.client.post(here("count-finish"), follow=True)
    assert f"{white.code} White and {tiles.code} Tile are neither weighed" in words(refused)
    weighed(maker, "332", white.code)
    maker.client.post(here("count-leave-out", tiles.code), {"why": "not found"})

    over = maker.client.post(here("count-finish"), follow=True)

    said = words(over)
    assert "Shelf count 1 is finished." in said
    assert over.redirect_chain[-1][0] == here("count-report")
    assert "−10 mL" in said
    assert f"{tiles.code} Tile not found" in said
    for name in ("count", "count-weigh"):
        assert maker.client.get(here(name)).url == here("count-report")


def test_a_count_broken_off_says_what_stays(maker, count, white):
    weighed(maker, "332", white.code)
    asked = words(maker.client.get(here("count-cancel")))
    assert "The 1 bottle that was weighed or counted so far stay" not in asked
    assert "The bottle that was weighed or counted so far stays as it was set." in asked

    over = words(maker.client.post(here("count-cancel"), follow=True))

    assert "Shelf count 1 is cancelled." in over
    assert "1 of them was never weighed or counted: the count was cancelled." in over
    assert shelf(white)[0] == D(240)


def test_what_came_since_is_offered(maker, studio, count, white):
    (late,) = receive(white.material, (50, 1))

    page = words(maker.client.get(here("count")))

    assert "Came since it started These belong here by the books and are not on the list." in page
    assert f"if you like. {late.code} White" in page


def test_a_bottle_leads_to_the_count_that_is_open(maker, viewer, studio, count, white):
    page = reverse("bottle", args=[white.code])
    link = f'href="{here()}?code={white.code}"'

    assert link in maker.client.get(page).content.decode()
    assert link not in viewer.client.get(page).content.decode()
    counts.cancel_count(count=count, by=None)
    assert link not in maker.client.get(page).content.decode()


def test_a_viewer_looks_and_is_offered_no_act(viewer, count, white):
    counts.record(count=count, by=None, bottle=white, gross_g=D(332))
    for name in ("count", "count-report"):
        page = viewer.client.get(here(name))
        assert page.status_code == 200
        assert page.content.decode().count('method="post"') == 1  # signing out
        assert "weigh/" not in page.content.decode()


def test_a_line_of_no_count_is_not_there(maker, studio, count, white):
    (late,) = receive(white.material, (50, 1))

    for name in ("count-leave-out", "count-put-back"):
        assert maker.client.get(here(name, late.code)).status_code == 404
    assert maker.client.get(reverse("count-report-file", args=[1, "doc"])).status_code == 404


def test_an_entry_undone_since_is_marked_in_the_report(maker, studio, count, white, tiles):
    line = counts.record(count=count, by=None, bottle=white, gross_g=D(332))
    counts.leave_out(count=count, by=None, bottle=tiles, why="lent")
    counts.finish_count(count=count, by=None)
    stock.reverse(studio=studio, by=None, entry=line.entry)

    page = words(maker.client.get(here("count-report")))

    assert "Undone since" in page
    assert "Of this, -$0.20 was undone in the ledger since." in page


def test_the_report_comes_on_paper_and_as_a_file(maker, count, white, tiles):
    counts.record(count=count, by=None, bottle=white, gross_g=D(332))
    counts.leave_out(count=count, by=None, bottle=tiles, why="not found")

    sheet = maker.client.get(reverse("count-report-file", args=[1, "pdf"]))
    text = " ".join(page.extract_text() for page in PdfReader(BytesIO(sheet.content)).pages)
    said = " ".join(text.split())
    for told in ("Shelf count 1", "−10 mL", "-$0.20", "−4%", "240 mL", "not found", "$36.00"):
        assert told in said
    for extension, start in (("csv", b"\xef\xbb\xbfBottle,Material"), ("xlsx", b"PK")):
        answer = maker.client.get(reverse("count-report-file", args=[1, extension]))
        assert answer.content.startswith(start)
        assert f"shelf-count-1.{extension}" in answer["Content-Disposition"]


@pytest.mark.parametrize("rows", (1, 3))
def test_the_pages_of_a_count_ask_as_often_for_one_bottle_as_for_three(
    owner, studio, django_assert_num_queries, rows
):
    paint = MaterialFactory(studio=studio, tare_g=D(10), unit="g")
    bottles = receive(paint, *[(100, 5)] * rows * 3)
    count = counts.start_count(studio=studio, by=owner.user)
    for bottle in bottles[: 2 * rows]:
        counts.record(count=count, by=owner.user, bottle=bottle, gross_g=D(109))
    for bottle in bottles[rows : 2 * rows]:
        counts.put_back(count=count, by=owner.user, bottle=bottle)
        counts.leave_out(count=count, by=owner.user, bottle=bottle, why="lent")
    receive(paint, *[(100, 5)] * rows)

    # each asks for the session, the person, the membership with its studio, and the count
    expected = {
        "count": 7,  # progress, what waits, what came since
        "count-weigh": 6,  # the next, progress
        "count-report": 5,  # all lines
    }
    for name, queries in expected.items():
        with django_assert_num_queries(queries):
            page = owner.client.get(here(name))
        assert page.status_code == 200


def test_another_studio_counts_its_own(other_owner, count, white):
    theirs = receive(MaterialFactory(studio=other_owner.studio, name="Theirs"), (10, 1))[0]
    counts.start_count(studio=other_owner.studio, by=None)

    page = words(member(other_owner.studio, "maker").client.get(here("count")))

    assert f"{theirs.code} Theirs" in page
    assert "White" not in page
