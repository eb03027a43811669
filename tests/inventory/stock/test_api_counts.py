"""A shelf count by the API: the same services, the same words."""

import pytest

from inventory.models import Movement
from inventory.stock import counts
from tests.factories.inventory import MaterialFactory
from tests.inventory.stock.shelves import D, receive, shelf, use

ONE = "/api/v1/counts/1/"


@pytest.fixture
def white(studio):
    """250 mL for 5.00; empty it weighs 32 g, and 1 mL weighs 1.25 g."""
    paint = MaterialFactory(studio=studio, name="White", tare_g=D(32), density_g_per_ml=D("1.25"))
    return receive(paint, (250, 5))[0]


def test_a_count_from_start_to_report(maker, studio, white):
    (tile,) = receive(MaterialFactory(studio=studio, name="Tile", unit="each"), (24, 36))
    ask, send = maker.api.get, maker.api.post

    made = send("/api/v1/counts/", {"place": "", "kinds": []}, format="json")
    assert (made.status_code, made.data["number"], made.data["status"]) == (201, 1, "open")
    assert made.data["progress"] == {"done": 0, "total": 2, "left_out": 0, "left": 2}
    first = ask(f"{ONE}next/").data["line"]
    assert (first["bottle"], first["expected"], first["counted"]) == (white.code, None, None)
    assert ask(f"{ONE}next/", {"after": 1}).data["line"]["bottle"] == tile.code

    far = send(f"{ONE}record/", {"bottle": white.code, "gross_g": "132"})
    assert (far.status_code, far.data["code"]) == (409, "surprising_count")
    line = send(f"{ONE}record/", {"bottle": white.code.lower(), "gross_g": 332}).data
    # (332 - 32) / 1.25 = 240 mL
    assert (line["counted"], line["expected"], line["by"]) == (
        "240.0000",
        "250.0000",
        maker.user.username,
    )
    out = send(f"{ONE}leave-out/", {"bottle": tile.code, "why": "lent"})
    assert (out.status_code, out.data["left_out"]) == (200, "lent")
    back = send(f"{ONE}put-back/", {"bottle": tile.code})
    assert back.data["at"] is None
    early = send(f"{ONE}finish/")
    assert (early.status_code, early.data["code"]) == (409, "count_refused")
    assert send(f"{ONE}record/", {"bottle": tile.code, "quantity": "23"}).status_code == 200
    assert send(f"{ONE}finish/").data["status"] == "finished"

    found = ask(f"{ONE}report/").data
    assert found["totals"] == {
        "gains": "0.000000",
        "losses": "1.700000",  # 10 mL of 0.02 and a tile of 1.50
        "net": "-1.700000",
        "absolute": "1.700000",
    }
    assert [row["variance"]["quantity"] for row in found["materials"]] == ["-1.0000", "-10.0000"]
    assert len(found["put_back"]) == 1
    assert ask(f"{ONE}report/sheet/").content.startswith(b"%PDF")
    assert ask(f"{ONE}report/file/", {"as": "xlsx"}).content.startswith(b"PK")
    (listed,) = ask("/api/v1/counts/", {"status": "finished"}).data["results"]
    assert listed["progress"] == {"done": 2, "total": 2, "left_out": 0, "left": 0}
    assert ask("/api/v1/counts/", {"status": "open"}).data["count"] == 0


def test_a_write_sent_again_posts_once(maker, studio, white):
    counts.start_count(studio=studio, by=None)
    sent = {"bottle": white.code, "gross_g": "332"}

    first, again = (
        maker.api.post(f"{ONE}record/", sent, headers={"Idempotency-Key": "one"}) for _ in range(2)
    )

    assert first.data == again.data
    assert Movement.objects.filter(kind="weigh_in").count() == 1


def test_an_empty_bottle_that_is_found_comes_back(maker, studio, white):
    receive(white.material, (10, 1))
    use(white.material, 250)
    counts.start_count(studio=studio, by=None)

    sent = {"bottle": white.code, "quantity": "1 tbsp", "confirmed": True}
    assert maker.api.post(f"{ONE}record/", sent).status_code == 200

    assert shelf(white)[0] > 14
    assert maker.api.post(f"{ONE}cancel/").data["status"] == "cancelled"


def test_another_studios_bottle_cannot_be_named(maker, studio, white):
    counts.start_count(studio=studio, by=None)
    (foreign,) = receive(MaterialFactory(), (10, 1))
    foreign.code = "X77"
    foreign.save()

    answer = maker.api.post(f"{ONE}record/", {"bottle": "X77", "quantity": 1})

    assert (answer.status_code, set(answer.data["fields"])) == (400, {"bottle"})


@pytest.mark.parametrize("rows", (1, 3))
def test_lines_and_reports_ask_the_same(owner, studio, django_assert_num_queries, rows):
    paint = MaterialFactory(studio=studio, unit="g", tare_g=D(10))
    bottles = receive(paint, *[(100, 5)] * 2 * rows)
    count = counts.start_count(studio=studio, by=None)
    for bottle in bottles[:rows]:
        counts.record(count=count, by=owner.user, bottle=bottle, gross_g=D(109))

    with django_assert_num_queries(6):  # token, person, membership, the count, how many, lines
        waiting = owner.api.get(f"{ONE}lines/", {"waiting": "true"}).data
    with django_assert_num_queries(5):  # token, person, membership, the count, its lines
        found = owner.api.get(f"{ONE}report/").data

    assert len(waiting["results"]) == len(found["bottles"]) == rows
