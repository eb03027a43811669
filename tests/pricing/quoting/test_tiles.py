"""Test tiles: what they cost, who sees their pictures, and what is said of them."""

from decimal import Decimal as D

import pytest
from django.test import Client
from django.urls import reverse

from pricing.bench.pictures import add_pictures
from pricing.bench.pours import LayerLog, log_pour, undo_pour
from pricing.commissions import orders
from pricing.errors import CommissionClosed, NothingOrdered, SetRefused, TileAnswerRefused
from pricing.estimating.estimates import estimate_commission
from pricing.models import TileAnswer
from pricing.quoting import quote_links
from pricing.quoting import quotes as quoting
from pricing.quoting.tiles import answer_tile, tiles_of
from studio.errors import Refused
from studio.models import Mail
from tests.conftest import member
from tests.factories.bench import working_studio
from tests.factories.going_on import pack_set, send_quote
from tests.factories.judged import judge
from tests.factories.pricing import one_colour
from tests.forms import read_page
from tests.pricing.commissions.test_commissions import add_tiles, opened
from tests.pricing.quoting.test_quote_pages import paper_of, text_of

pytestmark = pytest.mark.django_db

# One tile takes 10 mL of base (0.18), 6 mL of colours (0.22), 0.8 mL of activator (0.02) and a tile
# (0.50); 6 minutes are 1.80 of work and 0.60 of overhead. See `working_studio` for the prices.
LAYERS = {"base": D(10), "colours": D(6), "activator": D("0.8")}
TILE = (D("0.92"), D("1.80"), D("0.60"))


@pytest.fixture
def bench():
    return working_studio()


def with_tile(bench, **tile):
    """A commission of a test tile and a set of four; its lines."""
    commission = opened(bench)
    wanted = {"quantity": 1, "pieces_each": 1, "is_test": True, **tile}
    line = add_tiles(bench, commission, **wanted)
    return commission, line, add_tiles(bench, commission, quantity=1, packaging=bench.box)


def accepted(commission):
    quote = quoting.draft_quote(commission=commission, by=None)
    return quoting.accept_quote(quote=send_quote(quote=quote, by=None), name="Wren Alder")


def pour(line, count=1):
    layers = {name: LayerLog(ml * count) for name, ml in LAYERS.items()}
    studio, minutes = line.commission.studio, D(6) * count
    return log_pour(studio=studio, by=None, line=line, count=count, layers=layers, minutes=minutes)


def pictured(line, colour="#204060", **more):
    poured = pour(line)
    (picture,) = add_pictures(thing=poured, by=None, pictures=[one_colour(colour)], **more)
    return poured, picture


def spent(poured):
    return [
        (piece.spent.materials, piece.spent.labour, piece.spent.overhead)
        for piece in poured.pieces.order_by("number")
    ]


# What it is


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ({"quantity": 2}, "order 1 of it"),
        ({"is_test": False, "is_free": True}, "Only a test tile can be left out of the price"),
    ],
)
def test_a_test_tile_is_one_and_only_it_can_be_free(bench, wrong, told):
    with pytest.raises(NothingOrdered, match=told):
        with_tile(bench, **wrong)


def test_a_test_tile_is_packed_in_nothing(bench):
    with pytest.raises(NothingOrdered, match="not packed"):
        with_tile(bench, packaging=bench.box)


def test_a_test_tile_alone_is_no_order(bench):
    commission = opened(bench)
    add_tiles(bench, commission, quantity=1, pieces_each=1, is_test=True)

    with pytest.raises(Refused, match="add the pieces that it is for"):
        quoting.draft_quote(commission=commission, by=None)


def test_what_was_poured_for_stays_a_test_tile(bench):
    commission, tile, _ = with_tile(bench)
    accepted(commission)
    pour(tile)
    orders.move_on(commission=commission, status="cancelled", by=None)
    orders.move_on(commission=commission, status="enquiry", by=None)
    tile.refresh_from_db()

    with pytest.raises(CommissionClosed, match="stays what it is"):
        orders.change_line(line=tile, by=None, is_test=False)


def test_nothing_is_planned_for_packing_it(bench):
    commission, tile, _ = with_tile(bench)

    one, other = estimate_commission(commission).lines

    assert (one.line, one.by_stage["pack"]) == (tile, {})
    assert list(other.by_stage["pack"]) == [bench.box]
    quote = quoting.draft_quote(commission=commission, by=None)
    labels = [line["label"] for line in quote.frozen["lines"][0]["cost_lines"]]
    assert "Pack" not in labels


# The price


def test_in_the_price_it_is_a_line_and_free_it_is_none(bench):
    """The fixed fees are of what is sold alone, and the cost stands with the quote either way."""
    asked = quoting.draft_quote(commission=with_tile(bench)[0], by=None)
    free = quoting.draft_quote(commission=with_tile(bench, is_free=True)[0], by=None)

    tile = asked.lines.first()
    assert (tile.description[:11], tile.quantity) == ("Test tile: ", 1)
    assert tile.amount > 0
    assert asked.net == tile.amount + asked.lines.last().amount
    assert free.net == free.lines.last().amount == asked.lines.last().amount
    assert free.lines.first().amount == 0
    costs = [D(one.frozen["totals"]["cost"]) for one in (asked, free)]
    assert costs[0] == costs[1]
    profits = [D(one.frozen["totals"]["profit"]) for one in (asked, free)]
    assert profits[0] - profits[1] == asked.net - free.net


def test_the_customer_reads_that_it_is_free(bench):
    quote = quoting.draft_quote(commission=with_tile(bench, is_free=True)[0], by=None)
    owner = member(bench.studio, "owner").client

    page = text_of(owner.get(reverse("quote", args=[quote.pk])))
    paper = paper_of(owner.get(reverse("quote-pdf", args=[quote.pk])))

    assert "Test tile: " in page
    assert '<td class="num">free</td>' in page
    assert "Test tile: " in paper
    assert "free free" in paper


# What it costs


def test_a_tile_carries_its_cost_until_there_are_pieces_to_sell(bench):
    commission, tile, line = with_tile(bench)
    accepted(commission)

    first = pour(tile)
    assert spent(first) == [TILE]

    # Four tiles cost four times as much, and the test tile's cost is shared by them: 1.15 each.
    made = pour(line, 4)
    assert spent(first) == [(0, 0, 0)]
    assert spent(made) == [tuple(amount * 5 / 4 for amount in TILE)] * 4

    undo_pour(pour=made, by=None, why="Wrong line")
    assert spent(first) == [TILE]


def test_a_tile_that_failed_is_lost_until_there_are_pieces_to_sell(bench):
    commission, tile, line = with_tile(bench)
    accepted(commission)
    first = pour(tile)
    judge(first, 0)
    assert bench.studio.postings.get().cost.total == sum(TILE)
    pour(line, 4)

    assert sum(one.cost.total for one in bench.studio.postings.all()) == 0


# What is done with it


def test_it_is_not_packed_and_nothing_waits_for_it(bench):
    commission, tile, line = with_tile(bench)
    accepted(commission)
    (one,) = pour(tile).pieces.all()
    four = list(pour(line, 4).pieces.all())

    for pieces, what in (([one], tile), ([one], None)):
        with pytest.raises(SetRefused, match="not packed"):
            pack_set(studio=bench.studio, by=None, name="", pieces=pieces, line=what)
    pack_set(studio=bench.studio, by=None, name="", pieces=four, line=line)

    commission.refresh_from_db()
    assert commission.status == "ready"
    assert not commission.work.holds.open().exists()


def test_without_its_tile_the_rest_is_made_all_the_same(bench):
    commission, _, line = with_tile(bench)
    accepted(commission)
    pack_set(
        studio=bench.studio, by=None, name="", pieces=list(pour(line, 4).pieces.all()), line=line
    )

    commission.refresh_from_db()
    assert commission.status == "ready"


# What is said of it


def test_each_pour_is_answered_once(bench):
    commission, tile, line = with_tile(bench)
    accepted(commission)
    first, other = pour(tile), pour(line, 4)

    answer = answer_tile(pour=first, accepted=False, name=" Wren Alder", note="Less blue")

    assert (answer.name, answer.note, answer.words) == ("Wren Alder", "Less blue", "Not quite")
    with pytest.raises(TileAnswerRefused, match="has answered about Pour 1 already"):
        answer_tile(pour=first, accepted=True, name="Wren Alder")
    with pytest.raises(TileAnswerRefused, match="no test tile"):
        answer_tile(pour=other, accepted=True, name="Wren Alder")
    assert answer_tile(pour=pour(tile), accepted=True, name="Wren Alder").accepted


def test_an_answer_stays_when_its_pour_is_undone(bench):
    commission, tile, _ = with_tile(bench)
    accepted(commission)
    first, second = pour(tile), pour(tile)
    answer_tile(pour=first, accepted=True, name="Wren Alder")
    for one in (first, second):
        undo_pour(pour=one, by=None, why="Wrong line")

    (shown,) = tiles_of(commission)
    assert (shown.pour, shown.is_undone, shown.answer.accepted) == (first, True, True)
    with pytest.raises(TileAnswerRefused, match="was undone"):
        answer_tile(pour=second, accepted=True, name="Wren Alder")
    page = member(bench.studio, "viewer").client.get(f"/commissions/{commission.number}/")
    assert "This pour was undone." in text_of(page)


@pytest.mark.parametrize("role", ["viewer", "maker", "owner", "other"])
def test_makers_write_down_what_was_said(bench, role):
    commission, tile, _ = with_tile(bench)
    accepted(commission)
    first = pour(tile)
    who = member(
        working_studio().studio if role == "other" else bench.studio, role.replace("other", "owner")
    )
    page = reverse("tile-answer", args=[first.number if role != "other" else 77])

    shown = who.client.get(page)
    answer = who.client.post(page, {"accepted": "no", "name": "Wren Alder", "note": "Less blue"})

    expected = {"viewer": (403, 403), "other": (404, 404)}.get(role, (200, 302))
    assert (shown.status_code, answer.status_code) == expected
    kept = [(one.accepted, one.note, one.by_link, one.by) for one in TileAnswer.objects.all()]
    assert kept == ([(False, "Less blue", False, who.user)] if expected == (200, 302) else [])
    if kept:
        for where in (reverse("pour", args=[first.number]), f"/commissions/{commission.number}/"):
            assert "Not quite" in text_of(who.client.get(where))


def test_a_pour_that_is_no_tile_has_no_page_for_it(bench):
    commission, _, line = with_tile(bench)
    accepted(commission)
    made = pour(line, 4)

    page = member(bench.studio, "owner").client.get(reverse("tile-answer", args=[made.number]))

    assert page.status_code == 404
    assert Client().get(reverse("tile-answer", args=[made.number])).status_code == 302


# The customer's page


@pytest.fixture
def shown(bench):
    """A commission whose link is out, the first pour of its tile and a picture of that."""
    commission, tile, line = with_tile(bench)
    quote = accepted(commission)
    secret = quote_links.make_link(quote=quote, by=None)[1]
    poured, picture = pictured(tile)
    return commission, line, secret, poured, picture


def forms_of(secret, number):
    address = reverse("customer-quote", args=[secret])
    forms, _ = read_page(Client().get(address).content.decode(), address)
    return [one for one in forms if one.action == reverse("customer-tile", args=[secret, number])]


def press(secret, number, says, **typed):
    """Press a button of the form on the customer's page, as a browser does."""
    (form,) = forms_of(secret, number)
    button = next(one for one in form.buttons if one[1] == says)
    sent = {**form.data(button), **{name: [value] for name, value in typed.items()}}
    return Client(enforce_csrf_checks=True).post(form.action, sent)


def test_the_customer_sees_the_tile_and_answers(bench, shown):
    _, _, secret, poured, picture = shown
    owner = member(bench.studio, "owner")
    file = reverse("customer-picture", args=[secret, picture.pk, "small"])
    assert file in text_of(Client().get(reverse("customer-quote", args=[secret])))
    assert Client().get(file)["Content-Type"] == "image/jpeg"

    answered = press(secret, poured.number, "no", note="Less blue,\r\nmore white")

    assert answered.status_code == 302
    assert answered["Location"].endswith(f"#tile-{poured.number}")
    kept = poured.tile_answer
    assert (kept.accepted, kept.note, kept.by_link) == (False, "Less blue, more white", True)
    assert forms_of(secret, poured.number) == []
    assert "“Not quite”, said" in text_of(Client().get(reverse("customer-quote", args=[secret])))
    (letter,) = Mail.objects.all()
    assert letter.to == owner.user.email
    assert "“Not quite” of the test tile, Pour 1: Less blue, more white" in letter.text
    assert "says “Not quite” of the test tile</a>" in text_of(owner.client.get(reverse("home")))


def test_the_same_answer_twice_is_one_and_another_is_refused(shown):
    _, _, secret, poured, _ = shown
    address = reverse("customer-tile", args=[secret, poured.number])
    said = {"accepted": "yes", "name": "Wren Alder", "note": ""}

    answers = [
        Client().post(address, {**said, "accepted": how}).status_code
        for how in ("yes", "yes", "no")
    ]

    assert answers == [302, 302, 409]
    assert TileAnswer.objects.get().accepted


def test_what_is_typed_stays_where_something_lacks(shown):
    _, _, secret, poured, _ = shown
    address = reverse("customer-tile", args=[secret, poured.number])

    answer = Client().post(address, {"accepted": "no", "name": "W", "note": "Less blue"})

    assert answer.status_code == 422
    assert "Less blue" in text_of(answer)
    assert not TileAnswer.objects.exists()
    assert Client().get(address).status_code == 302


def test_a_link_shows_the_tiles_of_its_commission_alone(bench, shown):
    """No picture of another pour, of a fault, of the commission, nor of somebody else's tile."""
    commission, line, secret, poured, picture = shown
    other, tile, _ = with_tile(bench)
    theirs, their_picture = pictured(tile)
    elsewhere = quote_links.make_link(quote=accepted(other), by=None)[1]
    made = pour(line, 4)
    hidden = [
        their_picture,
        *add_pictures(thing=made, by=None, pictures=[one_colour("#111111")]),
        *add_pictures(thing=poured, by=None, pictures=[one_colour("#222222")], kind="fault"),
        *add_pictures(thing=commission, by=None, pictures=[one_colour("#333333")]),
        *add_pictures(thing=poured.pieces.get(), by=None, pictures=[one_colour("#444444")]),
    ]

    def status(link, one, size="full"):
        return Client().get(reverse("customer-picture", args=[link, one.pk, size])).status_code

    assert [status(secret, one) for one in hidden] == [404] * len(hidden)
    assert (status(secret, picture), status(secret, picture, "raw")) == (200, 404)
    assert (status(elsewhere, picture), status(elsewhere, their_picture)) == (404, 200)
    assert status("nobody-has-this", picture) == 404
    for number in (theirs.number, made.number):
        said = {"accepted": "yes", "name": "Wren Alder"}
        address = reverse("customer-tile", args=[secret, number])
        assert Client().post(address, said).status_code == 404
    quote_links.revoke_link(quote=commission.accepted_quote)
    assert status(secret, picture) == 404


def test_a_tile_without_a_picture_is_not_shown(bench):
    commission, tile, _ = with_tile(bench)
    secret = quote_links.make_link(quote=accepted(commission), by=None)[1]
    poured = pour(tile)

    assert "Your test tile" not in text_of(Client().get(reverse("customer-quote", args=[secret])))
    assert forms_of(secret, poured.number) == []


# The API


def test_programs_write_and_read_answers(bench):
    maker, viewer = member(bench.studio, "maker"), member(bench.studio, "viewer")
    commission = opened(bench)
    wanted = {"surface": bench.tile_size.pk, "technique": "bloom", "palette": bench.palette.pk}
    lines = f"/api/v1/commissions/{commission.number}/lines/"
    tile = maker.api.post(lines, {**wanted, "is_test": True, "is_free": True}).data
    refused = maker.api.post(lines, {**wanted, "is_test": True, "quantity": 2})
    maker.api.post(lines, {**wanted, "pieces_each": 4, "use": "look"})
    accepted(commission)
    poured = pour(commission.lines.get(pk=tile["id"]))
    said = {"pour": poured.number, "accepted": False, "note": "Less blue", "name": "Wren Alder"}

    answer = maker.api.post("/api/v1/tile-answers/", said)

    assert (tile["is_test"], tile["is_free"], refused.status_code) == (True, True, 409)
    assert answer.status_code == 201
    assert viewer.api.post("/api/v1/tile-answers/", said).status_code == 403
    assert maker.api.post("/api/v1/tile-answers/", said).data["code"] == "tile_answer_refused"
    (row,) = viewer.api.get("/api/v1/tile-answers/", {"commission": commission.number}).data[
        "results"
    ]
    assert {name: row[name] for name in said} == said
    assert (row["commission"], row["line"], row["is_undone"]) == (
        commission.number,
        tile["id"],
        False,
    )
    undo_pour(pour=poured, by=None, why="Wrong line")
    assert viewer.api.get(f"/api/v1/tile-answers/{row['id']}/").data["is_undone"]


@pytest.mark.parametrize("rows", (1, 3))
def test_a_page_of_a_commission_asks_as_often_for_more_tiles(
    bench, shown, django_assert_num_queries, rows
):
    commission, _, secret, _, _ = shown
    tile = commission.lines.get(is_test=True)
    viewer, by = member(bench.studio, "viewer"), member(bench.studio, "maker").user
    for _ in range(rows):
        poured, _ = pictured(tile)
        answer_tile(pour=poured, accepted=False, by=by)

    with django_assert_num_queries(3):  # the link, the pours, their pictures
        assert Client().get(reverse("customer-quote", args=[secret])).status_code == 200
    with django_assert_num_queries(58):  # as many for one tile as for three
        assert viewer.client.get(f"/commissions/{commission.number}/").status_code == 200
