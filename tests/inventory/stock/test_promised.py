"""What is promised, what is lacking, and when stock runs out, over a studio's own books."""

from datetime import timedelta

import pytest

from inventory.buying.demand import level_of
from inventory.buying.running_out import run_out_days
from inventory.models import Hold, with_promises
from inventory.stock.holds import coverage
from inventory.stock.promised import promised_works
from tests.conftest import member
from tests.factories.inventory import (
    HoldFactory,
    MaterialFactory,
    OrderLineFactory,
    PackFactory,
    PurchaseOrderFactory,
    WorkFactory,
)
from tests.inventory.pages import words
from tests.inventory.stock.shelves import D, receive, use

DAY = timedelta(days=1)


@pytest.fixture
def white(studio):
    """100 mL on hand."""
    material = MaterialFactory(studio=studio, name="White")
    receive(material, (100, 5))
    return material


def hold(material, quantity, name, days=None):
    day = None if days is None else material.studio.today() + days * DAY
    before = Hold.objects.filter(studio=material.studio, label=name.capitalize()).first()
    return HoldFactory(
        studio=material.studio,
        material=material,
        quantity=D(quantity),
        work=before.work if before else WorkFactory(studio=material.studio),
        label=name.capitalize(),
        needed_by=day,
    )


def order(material, quantity, days=None, status="sent", count=1):
    day = None if days is None else material.studio.today() + days * DAY
    made = PurchaseOrderFactory(studio=material.studio, status=status, expected_on=day)
    pack = PackFactory(
        studio=material.studio, supplier=made.supplier, material=material, size=D(quantity)
    )
    return OrderLineFactory(order=made, pack=pack, count=count)


def facts(studio):
    """Return {work: (covered, lacking, on order, days until it is there, late)}."""
    return {
        work.label: (
            one.covered,
            one.lacking,
            one.on_order,
            one.there_on and (one.there_on - studio.today()).days,
            one.is_late,
        )
        for work in promised_works(studio)
        for one in work.promises
    }


def test_two_works_never_count_on_the_same_millilitre(studio, white):
    """100 on hand, 70 promised first and 60 after: the second has 30 and lacks 30."""
    hold(white, 70, "first", 9), hold(white, 60, "second", 2)

    assert facts(studio) == {
        "First": (D(70), D(0), D(0), None, False),
        "Second": (D(30), D(30), D(0), None, True),
    }
    assert sum(coverage(studio).values()) == D(100)


def test_an_order_is_shared_out_once_too(studio, white):
    """250 are on their way in five days; the works lack 50 and 240 of them: 290, so 40 too many."""
    hold(white, 150, "first", 9), hold(white, 240, "second", 20)
    order(white, 250, 5)

    assert facts(studio) == {
        "First": (D(100), D(50), D(50), 5, False),
        "Second": (D(0), D(240), D(200), None, True),
    }


def test_it_is_there_when_the_last_order_it_needs_has_come(studio, white):
    hold(white, 160, "first", 6)
    order(white, 40, 4), order(white, 40, 9)

    assert facts(studio) == {"First": (D(100), D(60), D(60), 9, True)}


def test_an_order_without_a_day_gives_none_and_one_overdue_is_expected_today(studio, white):
    hold(white, 110, "first", 3), hold(white, 20, "second", 3)
    order(white, 10, -4), order(white, 20)

    assert facts(studio) == {
        "First": (D(100), D(10), D(10), 0, False),
        "Second": (D(0), D(20), D(20), None, True),
    }


def test_drafts_and_what_came_are_not_on_their_way(studio, white):
    hold(white, 150, "first")
    order(white, 50, 2, status="draft")
    line = order(white, 10, 2, status="partly_received", count=3)
    line.received_count = 2
    line.save()

    assert facts(studio) == {"First": (D(100), D(50), D(10), None, False)}


def test_works_come_by_their_day_and_what_lacks_first(studio, white):
    blue = MaterialFactory(studio=studio, name="Blue")
    hold(white, 10, "late", 9), hold(white, 10, "undated"), hold(white, 10, "soon", 1)
    hold(blue, 10, "late", 9)

    assert [work.label for work in promised_works(studio)] == ["Soon", "Late", "Undated"]
    late = promised_works(studio)[1]
    assert [str(one.hold.material) for one in late.promises] == ["Blue", "White"]


def days_left(material):
    studio = material.studio
    found = with_promises(studio.materials).get(pk=material.pk)
    day = run_out_days(studio, [level_of(studio, found)])[material.pk]
    return day and (day - studio.today()).days


def test_what_is_never_used_or_promised_does_not_run_out(white):
    assert days_left(white) is None


def test_holds_and_orders_move_the_day(white):
    """No use on record: 70 promised in 3 days and 60 in 8, of 100; 40 more come in 6."""
    hold(white, 70, "first", 3), hold(white, 60, "second", 8)
    assert days_left(white) == 8

    order(white, 40, 6)

    assert days_left(white) is None


def test_an_order_without_a_day_is_not_counted_on(white):
    hold(white, 130, "first", 3)
    order(white, 40)

    assert days_left(white) == 3


def test_usual_use_runs_it_out(white):
    """First seen today, 20 used today: 20 a day, and 80 left last four days, today the first."""
    use(white, 20)

    assert days_left(white) == 4


def test_the_pages_show_the_day(viewer, white):
    hold(white, 130, "first", 3)
    day = white.studio.today() + 3 * DAY
    shown = f"{day.day} {day:%b %Y}"

    assert f"runs out on {shown}" in words(viewer.client.get("/stock/"))
    assert f"Runs out on {shown}" in words(viewer.client.get(f"/stock/{white.pk}/"))
    (row,) = viewer.api.get("/api/v1/running-out/").data["results"]
    assert (row["material"]["name"], row["runs_out_on"]) == ("White", day.isoformat())
    (alert,) = viewer.api.get("/api/v1/alerts/").data["results"]
    assert alert["runs_out_on"] == day.isoformat()


def test_the_page_shows_what_each_work_lacks(viewer, white, other_owner):
    hold(white, 130, "first", 3)
    order(white, 50, 2)

    page = words(viewer.client.get("/promised/"))
    (work,) = viewer.api.get("/api/v1/promised/").data["results"]

    assert "First" in page
    assert "130 mL held, 100 mL there lacks 30 mL 30 mL on order, here by" in page
    assert (work["promises"][0]["lacking"], work["is_covered"]) == ("30.0000", False)
    assert work["promises"][0]["there_on"] == str(white.studio.today() + 2 * DAY)
    assert "White" not in words(other_owner.client.get("/promised/"))


@pytest.mark.parametrize("rows", (1, 3))
def test_the_page_asks_as_often_for_one_work_as_for_three(studio, rows, django_assert_num_queries):
    for number in range(rows):
        material = MaterialFactory(studio=studio)
        hold(material, 10, f"commission-{number}", 3)
        order(material, 5, 2)
    viewer = member(studio, "viewer")

    # session, person, membership; holds with their materials, orders, commissions
    with django_assert_num_queries(6):
        assert viewer.client.get("/promised/").status_code == 200
