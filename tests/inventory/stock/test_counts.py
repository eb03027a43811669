"""Shelf counts: a walk along the shelf, its refusals, what it posts and what it reports."""

import csv
import io

import pytest

from inventory.errors import BadAmount, CountRefused, NotInStudio, NotWeighable, SurprisingCount
from inventory.models import Bottle, Entry, Movement, ShelfCount, ShelfCountLine
from inventory.stock import books, counts
from inventory.stock import ledger as stock
from inventory.stock.counts.report import report_file
from tests.factories.inventory import MaterialFactory
from tests.inventory.stock.shelves import D, receive, shelf, use

pytestmark = pytest.mark.django_db


@pytest.fixture
def by(owner):
    return owner.user


@pytest.fixture
def white(studio):
    """250 mL for 5.00 on shelf 2; empty it weighs 32 g, and 1 mL weighs 1.25 g."""
    paint = MaterialFactory(
        studio=studio, name="White", tare_g=D(32), density_g_per_ml=D("1.25"), kind="paint"
    )
    return placed(receive(paint, (250, 5)), "shelf 2")


@pytest.fixture
def gold(studio):
    """50 g of powder for 10.00 on shelf 1; empty it weighs 15 g."""
    powder = MaterialFactory(studio=studio, name="Gold", unit="g", tare_g=D(15), kind="additive")
    return placed(receive(powder, (50, 10)), "shelf 1")


@pytest.fixture
def tiles(studio):
    """A box of 24 tiles for 36.00, without a place."""
    return receive(
        MaterialFactory(studio=studio, name="Tile", unit="each", kind="surface"), (24, 36)
    )[0]


@pytest.fixture
def blue(studio):
    """80 of 100 mL left, worth 3.20, on shelf 2; empty it weighs 20 g, and 1 mL weighs 1.1 g."""
    paint = MaterialFactory(studio=studio, name="Blue", tare_g=D(20), density_g_per_ml=D("1.1"))
    bottle = placed(receive(paint, (100, 4)), "shelf 2")
    use(paint, 20)
    return bottle


def placed(bottles, place):
    (bottle,) = bottles
    bottle.place = place
    bottle.save()
    return bottle


def started(studio, by, **options):
    return counts.start_count(studio=studio, by=by, **options)


def codes(lines):
    return [line.bottle.code for line in lines]


def test_a_count_walks_along_the_shelf_by_place_and_code(studio, by, white, gold, tiles, blue):
    receive(white.material, (1, 1))
    use(tiles.material, 24)  # an empty box is no stop on the walk

    count = started(studio, by)

    places = list(count.lines.values_list("position", "place", "bottle__code"))
    assert places == [
        (1, "shelf 1", gold.code),
        (2, "shelf 2", white.code),
        (3, "shelf 2", blue.code),
        (4, "", "B0005"),
    ]
    assert (count.number, count.status, count.started_by) == (1, "open", by)


def test_a_count_may_be_of_one_place_and_of_some_kinds(studio, by, white, gold, blue):
    one = started(studio, by, place=" Shelf 2 ")
    assert codes(one.lines.all()) == [white.code, blue.code]
    counts.cancel_count(count=one, by=by)

    two = started(studio, by, kinds=["additive"])
    assert codes(two.lines.all()) == [gold.code]
    assert (two.number, two.scope) == (2, "every place, only additive")


@pytest.mark.parametrize(
    ("told", "words"),
    (
        ({"place": "attic"}, "There is nothing to count: no bottle of attic holds anything."),
        ({"kinds": ["metal"]}, "There is no kind of material like that. Choose one from the list."),
        ({"place": "SHELF 2"}, "Shelf count 1 of shelf 2 is open since"),
        ({}, "Go on with it, or finish or cancel it first."),
    ),
)
def test_what_cannot_be_counted_is_refused_and_uses_up_no_number(studio, by, white, told, words):
    started(studio, by, place="shelf 2")

    with pytest.raises(CountRefused) as refused:
        started(studio, by, **told)

    assert words in str(refused.value)
    assert studio.shelf_counts.count() == 1


def test_places_apart_are_counted_at_the_same_time(studio, by, white, gold):
    assert started(studio, by, place="shelf 2").number == 1
    assert started(studio, by, place="shelf 1").number == 2


def test_what_is_weighed_is_posted_at_once(studio, by, white):
    count = started(studio, by)

    line = counts.record(count=count, by=by, bottle=white, gross_g=D(332))

    # (332 - 32) / 1.25 = 240 mL, which is 10 mL less; 10 of 250 mL that cost 5.00 cost 0.20
    assert (line.expected, line.counted, line.expected_value) == (D(250), D(240), D(5))
    assert shelf(white) == (D(240), D("4.8"))
    (move,) = line.entry.movements.all()
    assert (move.kind, move.quantity, move.value) == ("weigh_in", D(-10), D("-0.2"))
    assert (line.entry.purpose, line.entry.by, line.by) == ("Shelf count 1", by, by)


def test_what_agrees_posts_nothing(studio, by, white, gold, tiles):
    count, before = started(studio, by), Entry.objects.count()

    # 32 + 250 x 1.25 = 344.5 g; 15 + 50 = 65 g
    lines = [
        counts.record(count=count, by=by, bottle=white, gross_g=D("344.5")),
        counts.record(count=count, by=by, bottle=gold, gross_g=D(65)),
        counts.record(count=count, by=by, bottle=tiles, quantity=D(24)),
    ]

    assert [line.entry for line in lines] == [None] * 3
    assert Entry.objects.count() == before
    assert counts.finish_count(count=count, by=by).status == "finished"


def test_what_others_use_meanwhile_is_no_difference(studio, by, white):
    count = started(studio, by)
    use(white.material, 100)

    # 150 mL are left by the books: 32 + 150 x 1.25 = 219.5 g
    line = counts.record(count=count, by=by, bottle=white, gross_g=D("219.5"))

    assert (line.expected, line.counted, line.entry) == (D(150), D(150), None)
    use(white.material, 50)
    assert counts.report(count).totals.absolute == 0


def test_the_same_number_again_changes_nothing_and_another_is_refused(studio, by, white):
    count = started(studio, by)
    first = counts.record(count=count, by=by, bottle=white, gross_g=D(332))
    use(white.material, 40)

    again = counts.record(count=count, by=None, bottle=white, gross_g=D(332))
    with pytest.raises(CountRefused) as refused:
        counts.record(count=count, by=by, bottle=white, gross_g=D(331))

    assert again == first
    assert str(refused.value) == (
        f"{white.code} was counted already by {by}: 240 mL. Put it back to weigh it again."
    )
    assert shelf(white)[0] == D(200)
    assert Movement.objects.filter(kind="weigh_in").count() == 1


@pytest.mark.parametrize(
    ("told", "refusal", "words"),
    (
        ({}, CountRefused, "Give what the scale shows or what was counted, one of them."),
        ({"gross_g": D(300), "quantity": D(9)}, CountRefused, "one of them"),
        ({"gross_g": D(31)}, NotWeighable, "31 g is less than the empty bottle"),
        ({"gross_g": D("NaN")}, BadAmount, "A weight is a number of grams"),
        ({"quantity": D(-1)}, BadAmount, "An amount of White is from 0"),
    ),
)
def test_a_number_that_cannot_be_is_refused(studio, by, white, told, refusal, words):
    count = started(studio, by)

    with pytest.raises(refusal) as refused:
        counts.record(count=count, by=by, bottle=white, **told)

    assert words in str(refused.value)
    assert counts.progress(count).done == 0


def test_what_cannot_be_weighed_is_measured(studio, by):
    (bottle,) = receive(MaterialFactory(studio=studio, name="Gloss"), (100, 4))
    count = started(studio, by)

    with pytest.raises(NotWeighable, match="The weight of the empty bottle"):
        counts.record(count=count, by=by, bottle=bottle, gross_g=D(120))
    line = counts.record(count=count, by=by, bottle=bottle, quantity=D(90))

    assert (line.counted, line.gross_g, shelf(bottle)[0]) == (D(90), None, D(90))


@pytest.mark.parametrize(
    ("gross", "words"),
    (
        # (281 - 32) / 1.25 = 199.2 mL: 50.8 mL off, and 20 % of 250 mL are 50 mL
        (281, "That would be 199.2 mL, and the books say 250 mL."),
        # (352 - 32) / 1.25 = 256 mL: a full bottle and 2 % are 255 mL
        (352, "That would be 256 mL, and {code} holds 250 mL when full."),
        (32, "That would be nothing, and the books say 250 mL."),
    ),
)
def test_a_surprise_is_asked_about_before_anything_is_posted(studio, by, white, gross, words):
    count = started(studio, by)

    with pytest.raises(SurprisingCount) as asked:
        counts.record(count=count, by=by, bottle=white, gross_g=D(gross))

    assert words.format(code=white.code) in str(asked.value)
    assert (counts.progress(count).done, shelf(white)[0]) == (0, D(250))
    line = counts.record(count=count, by=by, bottle=white, gross_g=D(gross), confirmed=True)
    assert shelf(white)[0] == line.counted == (D(gross) - 32) / D("1.25")


def test_nobody_is_asked_about_the_scale_after_counting(studio, by, tiles):
    with pytest.raises(SurprisingCount) as asked:
        counts.record(count=started(studio, by), by=by, bottle=tiles, quantity=D(12))

    assert str(asked.value) == (
        f"That would be 12, and the books say 24. Is it {tiles.code} Tile? Count it again, or say "
        "that it is right."
    )


def test_what_is_just_within_is_no_surprise(studio, by, white, blue):
    count = started(studio, by)

    # (282 - 32) / 1.25 = 200 mL, 20 % less; 83 of 100 mL where 80 were expected
    counts.record(count=count, by=by, bottle=white, gross_g=D(282))
    counts.record(count=count, by=by, bottle=blue, quantity=D(83))

    assert counts.next_line(count) is None


def test_a_bottle_that_the_books_think_empty_comes_back(studio, by, white, blue):
    use(blue.material, 80)
    count = started(studio, by, place="shelf 2")
    assert codes(count.lines.all()) == [white.code]

    line = counts.record(count=count, by=by, bottle=blue, gross_g=D(53), confirmed=True)

    # (53 - 20) / 1.1 = 30 mL at the 0.04 that one cost when it came
    assert (line.position, line.expected, line.counted) == (2, D(0), D(30))
    blue.refresh_from_db()
    assert (blue.archived_at, blue.remaining, blue.value) == (None, D(30), D("1.2"))


def test_what_came_since_is_named_and_can_be_counted(studio, by, white, gold):
    count = started(studio, by, place="shelf 2")
    late = placed(receive(white.material, (50, 1)), "shelf 2")

    assert [bottle.code for bottle in counts.missed(count)] == [late.code]
    counts.record(count=count, by=by, bottle=late, quantity=D(50))
    assert list(counts.missed(count)) == []
    assert counts.progress(count).total == 2


def test_the_next_is_the_first_that_waits_behind_this_one(studio, by, white, gold, blue):
    count = started(studio, by)

    def next_code(after=0):
        line = counts.next_line(count, after)
        return line and line.bottle.code

    assert [next_code(), next_code(1), next_code(2), next_code(3)] == [
        gold.code,
        white.code,
        blue.code,
        gold.code,
    ]
    counts.record(count=count, by=by, bottle=gold, quantity=D(50))
    counts.leave_out(count=count, by=by, bottle=white, why="lent out")
    assert [next_code(), next_code(3)] == [blue.code, blue.code]
    assert (counts.progress(count).done, counts.progress(count).left) == (2, 1)


def test_what_is_left_out_stays_listed_with_its_reason(studio, by, white):
    count = started(studio, by)

    line = counts.leave_out(count=count, by=by, bottle=white, why=" not found ")
    again = counts.leave_out(count=count, by=by, bottle=white, why="not found")

    assert line == again
    assert (line.left_out, line.expected, line.counted, line.by) == ("not found", D(250), None, by)
    assert shelf(white) == (D(250), D(5))
    with pytest.raises(CountRefused, match=r"was left out by .*: “not found”. Put it back to"):
        counts.record(count=count, by=by, bottle=white, gross_g=D(332))
    with pytest.raises(CountRefused, match="Put it back first"):
        counts.leave_out(count=count, by=by, bottle=white, why="lost")
    counts.put_back(count=count, by=by, bottle=white)
    counts.record(count=count, by=by, bottle=white, gross_g=D(332))
    assert [one.left_out for one in counts.report(count).put_back] == ["not found"]


@pytest.mark.parametrize(
    ("why", "words"),
    (("  ", "Say why it is left out"), ("x" * 201, "Say why in up to 200 characters.")),
)
def test_leaving_out_wants_a_reason(studio, by, white, why, words):
    with pytest.raises(CountRefused) as refused:
        counts.leave_out(count=started(studio, by), by=by, bottle=white, why=why)

    assert words in str(refused.value)


def test_a_line_put_back_is_weighed_again_and_both_stay_on_record(studio, by, white):
    count = started(studio, by)
    wrong = counts.record(count=count, by=by, bottle=white, gross_g=D(332))

    waiting = counts.put_back(count=count, by=by, bottle=white, why="lid was off")
    assert (waiting.is_waiting, waiting.position, shelf(white)) == (True, 1, (D(250), D(5)))
    with pytest.raises(CountRefused, match="waits to be weighed already"):
        counts.put_back(count=count, by=by, bottle=white)
    right = counts.record(count=count, by=by, bottle=white, gross_g=D(342))  # 310 / 1.25 = 248 mL

    wrong.refresh_from_db()
    assert (wrong.counted, wrong.undone_by, wrong.entry.reversed_by.why) == (
        D(240),
        by,
        "lid was off",
    )
    assert (right.expected, right.counted, shelf(white)[0]) == (D(250), D(248), D(248))
    found = counts.report(count)
    assert [one.line for one in found.bottles] == [right]
    assert list(found.put_back) == [wrong]
    assert books.check(studio) == []


def test_a_line_that_agreed_can_be_put_back_too(studio, by, white):
    count = started(studio, by)
    counts.record(count=count, by=by, bottle=white, gross_g=D("344.5"))

    assert counts.put_back(count=count, by=by, bottle=white).is_waiting
    assert count.lines.count() == 2


def test_undoing_the_entry_in_the_ledger_lets_the_bottle_wait_again(studio, by, white):
    count = started(studio, by)
    line = counts.record(count=count, by=by, bottle=white, gross_g=D(332))

    stock.reverse(studio=studio, by=by, entry=line.entry)

    assert codes(count.lines.waiting()) == [white.code]
    with pytest.raises(CountRefused, match=f"{white.code} White is neither weighed nor left out"):
        counts.finish_count(count=count, by=by)


def test_what_is_undone_after_the_count_is_marked_in_its_report(studio, by, white):
    count = started(studio, by)
    line = counts.record(count=count, by=by, bottle=white, gross_g=D(332))
    counts.finish_count(count=count, by=by)

    stock.reverse(studio=studio, by=by, entry=line.entry)

    found = counts.report(count)
    assert (found.totals.net, found.undone_value) == (D("-0.2"), D("-0.2"))
    assert found.bottles[0].undone_at
    assert books.check(studio) == []


def test_a_count_is_finished_once_nothing_waits(studio, by, white, gold, tiles):
    for _ in range(9):
        receive(tiles.material, (1, 1))
    count = started(studio, by)
    counts.leave_out(count=count, by=by, bottle=tiles, why="not found")

    with pytest.raises(CountRefused) as refused:
        counts.finish_count(count=count, by=by)

    assert str(refused.value) == (
        f"{gold.code} Gold, {white.code} White, B0004 Tile, B0005 Tile, B0006 Tile, B0007 Tile, "
        "B0008 Tile, B0009 Tile and 3 more are neither weighed nor left out. Weigh what is there, "
        "and leave out the rest with a reason."
    )
    count.refresh_from_db()
    assert count.is_open


@pytest.mark.parametrize(
    ("end", "word"), ((counts.finish_count, "finished"), (counts.cancel_count, "cancelled"))
)
def test_nothing_is_changed_once_it_is_over(studio, by, white, end, word):
    count = started(studio, by)
    counts.record(count=count, by=by, bottle=white, gross_g=D(332))

    over = end(count=count, by=by)

    assert (over.status, over.ended_by) == (word, by)
    assert shelf(white)[0] == D(240)  # what was posted stays posted
    told = {"count": count, "by": by, "bottle": white}
    for act in (
        lambda: counts.record(**told, gross_g=D(340)),
        lambda: counts.leave_out(**told, why="late"),
        lambda: counts.put_back(**told),
        lambda: counts.finish_count(count=count, by=by),
        lambda: counts.cancel_count(count=count, by=by),
    ):
        with pytest.raises(CountRefused, match=f"Shelf count 1 was {word} on .* Start a new one."):
            act()
    assert started(studio, by).number == 2


def test_another_studios_bottle_is_not_counted(studio, by, white):
    (foreign,) = receive(MaterialFactory(), (10, 1))

    with pytest.raises(NotInStudio):
        counts.record(count=started(studio, by), by=by, bottle=foreign, quantity=D(10))


def counted_shelf(studio, by, white, gold, tiles, blue):
    """Count all four: 240 mL, 83.6364 mL, 48 g and 23 tiles."""
    count = started(studio, by)
    counts.record(count=count, by=by, bottle=white, gross_g=D(332))
    counts.record(count=count, by=by, bottle=blue, gross_g=D(112))  # 92 / 1.1 = 83.6364 mL
    counts.record(count=count, by=by, bottle=gold, gross_g=D(63))
    counts.record(count=count, by=by, bottle=tiles, quantity=D(23))
    return count


def test_the_report_says_what_was_gained_and_lost(studio, by, white, gold, tiles, blue):
    found = counts.report(counted_shelf(studio, by, white, gold, tiles, blue))

    # 10 mL of 0.02; 3.6364 mL of 0.04; 2 g of 0.20; one tile of 1.50
    values = {one.line.bottle.material.name: one.variance.value for one in found.bottles}
    gain = D("0.145456")
    assert values == {"White": D("-0.2"), "Blue": gain, "Gold": D("-0.4"), "Tile": D("-1.5")}
    assert (found.totals.gains, found.totals.losses) == (gain, D("2.1"))
    assert (found.totals.net, found.totals.absolute) == (D("-1.954544"), D("2.245456"))
    assert (found.expected_value, found.different) == (D("54.2"), 4)  # 5 + 3.2 + 10 + 36
    white_row = found.materials[-1]
    assert (white_row.material.name, white_row.variance.share) == ("White", D("-0.04"))


@pytest.mark.parametrize("costing", ("fifo", "moving_average"))
def test_the_differences_are_the_ledgers_movements_to_the_last_place(
    studio, by, white, gold, tiles, blue, costing
):
    studio.costing = costing
    studio.save()
    receive(white.material, (100, 7))  # a dearer one: the average is brought level
    receive(blue.material, (60, "1.234567"))
    count = counted_shelf(studio, by, white, gold, tiles, blue)
    for line in count.lines.waiting():
        counts.record(count=count, by=by, bottle=line.bottle, quantity=D("57.3333"), confirmed=True)
    counts.finish_count(count=count, by=by)

    entries = count.lines.exclude(entry=None).values("entry")
    posted = sum(Movement.objects.filter(entry__in=entries).values_list("value", flat=True))

    assert counts.report(count).totals.net == posted != 0
    assert books.check(studio) == []


def test_the_file_has_a_row_for_each_bottle(studio, by, white, gold):
    count = started(studio, by)
    counts.record(count=count, by=by, bottle=white, gross_g=D(332))
    counts.leave_out(count=count, by=by, bottle=gold, why="=lent")

    body = report_file(counts.report(count), "csv").decode("utf-8-sig")

    weighed, left_out = csv.DictReader(io.StringIO(body))
    assert (weighed["Bottle"], weighed["Material"], weighed["Place"]) == (
        white.code,
        "White",
        "shelf 2",
    )
    assert [weighed[name] for name in ("Expected", "Counted", "Difference", "Difference (%)")] == [
        "250",
        "240",
        "-10",
        "-4",
    ]
    assert (weighed["Difference in value"], weighed["Scale showed (g)"]) == ("-0.2", "332")
    assert (left_out["Left out because"], left_out["Expected"], left_out["Counted"]) == (
        "'=lent",
        "50",
        "",
    )
    assert report_file(counts.report(count), "xlsx").startswith(b"PK")


def test_a_report_takes_one_question(
    studio, by, white, gold, tiles, blue, django_assert_num_queries
):
    count = counted_shelf(studio, by, white, gold, tiles, blue)

    with django_assert_num_queries(1):
        counts.report(count)


def test_lines_that_do_not_agree_with_their_entries_are_found(studio, by, white, gold, tiles):
    count = started(studio, by, kinds=["paint", "additive"])
    line = counts.record(count=count, by=by, bottle=white, gross_g=D(332))
    counts.record(count=count, by=by, bottle=gold, gross_g=D(65))
    counts.finish_count(count=count, by=by)
    assert books.check(studio) == []

    count.lines.update(counted=D("49.9999"))
    found = books.check(studio)
    assert [(one.check, one.row) for one in found] == [
        ("counts", f"{gold.code} of shelf count 1"),
        ("counts", f"{white.code} of shelf count 1"),
    ]

    count.lines.filter(bottle=gold).update(counted=D(50))
    count.lines.filter(pk=line.pk).update(counted=D(240), bottle=tiles)  # another bottle's entry
    assert [one.row for one in books.check(studio)] == [f"{tiles.code} of shelf count 1"]


def test_a_finished_count_with_a_line_that_waits_is_found(studio, by, white):
    count = started(studio, by)
    ShelfCount.objects.filter(pk=count.pk).update(status="finished", ended_at=count.started_at)

    (found,) = books.check(studio)

    assert "neither weighed nor left out" in found.sentence
    assert Bottle.objects.count() == ShelfCountLine.objects.count() == 1
