"""Whole journeys of commissions, from an enquiry to profit, with the refusals on the way."""

from datetime import timedelta
from decimal import Decimal as D

import pytest

from pricing.models import Quote
from tests.factories.going_on import WITH
from tests.factories.pricing import ChannelFactory
from tests.journeys.workshop import LAYERS, Workshop, accept, decline, looked_at

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop():
    return Workshop(deposit=D("0.5"))


def test_a_revised_quote_deposit_failures_and_the_balance_by_invoice(shop):
    number, line = shop.enquiry()
    assert "role" in shop.refused("permission_denied", "quotes/").lower()

    # A first price, then another: the customer's first link can no longer accept.
    first = shop.quote(number)
    second = shop.quote(number, discount="0.10")
    assert D(second.net) < D(first.net)
    assert "replaced by a newer one" in looked_at(first.link)
    assert "superseded" in accept(first.link)
    assert shop.status(number) == "quoted"
    assert "Accepted by Wren Alder" in accept(second.link)
    assert "Accepted by Wren Alder" in accept(second.link)  # the same answer twice is one
    assert "cannot be answered" in decline(second.link, "Too dear")
    assert shop.held()["tile"] == 8

    # The deposit, and no more than is owed.
    owed = shop.account(number)
    assert owed["deposit_owed"] == D(second.deposit) > 0
    shop.do(f"commissions/{number}/payments/", {"amount": second.deposit, "how": "card"})
    told = shop.refused("payment_refused", f"commissions/{number}/payments/", {"amount": "9999"})
    assert "is owed for" in told

    # At the bench: one tile fails, so one more is poured.
    wrong = {"line": line, "count": 2, "minutes": -5, "layers": LAYERS}
    shop.refused("invalid", "pours/", wrong)
    pours = [shop.pour(line, 4, 4), shop.pour(line, 4, 3), shop.pour(line, 1, 1)]
    pieces = [piece for pour in pours for piece in shop.good_pieces(pour)]
    early = {"line": line, "pieces": pieces[:4]}
    assert "resin topcoat" in shop.refused("set_refused", "sets/", early)
    for pour in pours:
        shop.coat(pour)
    assert "is 4 pieces" in shop.refused("set_refused", "sets/", {**early, "pieces": pieces[:3]})
    shop.pack(line, pieces[:4])
    shop.pack(line, pieces[4:])
    assert shop.status(number) == "ready"
    assert shop.held() == {}

    # Handed over on an invoice, paid later.
    shop.sell(number, pays_later=True)
    assert shop.status(number) == "delivered"
    invoice = shop.do("invoices/", {"commission": number}, "owner")
    assert "stands for" in shop.refused(
        "invoice_refused", "invoices/", {"commission": number}, "owner"
    )
    balance = shop.account(number)["owed"]
    assert D(invoice["gross"]) - D(second.deposit) == balance
    shop.do(f"commissions/{number}/payments/", {"amount": str(balance), "how": "transfer"})

    assert shop.account(number)["owed"] == 0
    way = ["enquiry", "quoted", "accepted", "in_work", "ready", "delivered", "paid"]
    assert shop.steps(number) == way
    whole = shop.ties()
    assert whole.revenue == D(second.gross)
    # The failed tile's paint is carried by the three that lived.
    (low, high) = shop.get("profit/")["results"]
    assert D(low["sums"]["materials"]) != D(high["sums"]["materials"])
    (compared,) = shop.get("hindsight/")["results"]
    assert D(compared["actual"]["revenue"]) == D(compared["forecast"]["revenue"])


def test_declined_asked_again_accepted_cancelled_and_the_deposit_given_back(shop):
    number, line = shop.enquiry(coated=False)
    quote = shop.quote(number)
    assert "Declined on" in decline(quote.link, "Too dear")
    assert shop.status(number) == "declined"
    told = shop.refused("commission_closed", "quotes/", {"commission": number}, "owner")
    assert "not quoted any more" in told

    shop.do(f"commissions/{number}/step/", {"status": "enquiry", "note": "Called back"})
    cheaper = shop.quote(number, margin="0.10")
    assert D(cheaper.gross) < D(quote.gross)
    accept(cheaper.link)
    shop.do(f"commissions/{number}/payments/", {"amount": cheaper.deposit})
    pour = shop.pour(line)
    shop.do(f"commissions/{number}/step/", {"status": "cancelled", "note": "Moved abroad"})

    assert shop.held() == {}
    assert shop.account(number)["owed"] == -D(cheaper.deposit)
    closed = {"line": line, "count": 1, "minutes": 5, "layers": LAYERS}
    assert "nothing is poured for it" in shop.refused("pour_refused", "pours/", closed)
    back = {"amount": str(D(cheaper.deposit) + 1)}
    shop.refused("payment_refused", f"commissions/{number}/give-back/", back)
    shop.do(f"commissions/{number}/give-back/", {"amount": cheaper.deposit})
    assert shop.account(number)["owed"] == 0

    # What was poured for it is not lost: it is packed and sold to somebody else.
    pieces = shop.good_pieces(pour)
    made = shop.do("sets/", {"name": "Four coasters", "pieces": pieces, **WITH})
    market = ChannelFactory(studio=shop.studio, percent_fee=D("0.10"), listing_fee=D("0.20"))
    sold = {"channel": market.pk, "items": [{"set": made["number"], "price": "44.00"}]}
    assert D(shop.do("sales/", sold)["fees"]) == D("4.60")
    assert shop.ties().revenue == 44


def test_two_commissions_cannot_count_on_the_same_tiles(shop):
    first, _, _ = shop.accepted(sets=4)
    second, line, _ = shop.accepted(sets=3)

    # Twenty tiles: sixteen are the first one's, and the second lacks eight of its twelve.
    check = {
        one["material"]["name"]: one
        for one in shop.get(f"commissions/{second}/stock-check/")["lines"]
    }
    assert D(check["tile"]["missing"]) == 8
    short = {"line": line, "count": 12, "minutes": 60, "layers": LAYERS}
    told = shop.refused("stock_shortfall", "pours/", short)
    assert "promised to Commission 1" in told
    kinds = [one["kind"] for one in shop.get("alerts/")["results"]]
    assert "held_beyond_stock" in kinds

    shop.do(f"commissions/{first}/step/", {"status": "cancelled"})
    shop.pour(line, 12, 12)
    assert shop.status(second) == "in_work"
    shop.ties()


def test_undone_taken_apart_refunded_and_sold_again(shop):
    number, line, quote = shop.accepted(sets=1, coated=False)
    pour = shop.pour(line)
    packed = shop.pack(line, shop.good_pieces(pour))
    why = {"why": "Logged twice"}
    told = shop.refused("pour_refused", f"pours/{pour['number']}/undo/", why)
    assert "Unpack the set first" in told
    shop.do(f"sets/{packed['number']}/unpack/", {"why": "Wrong box"})
    shop.do(f"pours/{pour['number']}/undo/", why)
    assert shop.status(number) == "accepted"
    assert shop.held()["tile"] == 4

    packed = shop.pack(line, shop.good_pieces(shop.pour(line)))
    sale = shop.sell(number)
    assert shop.status(number) == "paid"
    assert "is sold" in shop.refused(
        "set_refused", f"sets/{packed['number']}/unpack/", {"why": "Changed my mind"}
    )
    shop.do(f"sales/{sale['number']}/refund/", {"why": "Arrived chipped", "returned": True})
    assert (shop.status(number), shop.account(number)["owed"]) == ("ready", D(quote.gross))
    again = f"sales/{sale['number']}/refund/"
    assert "refunded already" in shop.refused("sale_refused", again, {"why": "Again"})

    # The same customer takes it at five less.
    items = [{"set": packed["number"], "price": str(D(quote.gross) - 5)}]
    body = {"channel": shop.bench.own_sale.pk, "items": items, "commission": number}
    shop.do("sales/", body)
    assert shop.status(number) == "paid"
    assert shop.account(number)["paid"] == D(quote.gross) - 5
    assert shop.ties().revenue == D(quote.gross) - 5


def test_a_quote_that_ran_out_is_quoted_anew(shop):
    number, _ = shop.enquiry(sets=1, coated=False)
    late = shop.quote(number)
    Quote.objects.update(valid_until=shop.studio.today() - timedelta(days=1))
    assert "was valid until" in accept(late.link)
    assert "was valid until" in shop.refused(
        "quote_not_open", f"quotes/{late.id}/accept/", {"name": "Wren"}
    )
    assert shop.status(number) == "quoted"

    fresh = shop.quote(number)
    assert fresh.number == late.number
    assert fresh.version == 2
    accept(fresh.link)
    assert shop.status(number) == "accepted"


def test_an_order_comes_in_a_batch_is_mixed_and_poured_from(shop):
    number, line, _ = shop.accepted(sets=2, coated=False)
    bench = shop.bench
    before = shop.held()["white"]
    mixed = shop.do("batches/", {"recipe": bench.base.pk, "volume_ml": "150", "commission": number})
    assert shop.held()["white"] < before
    bottle = mixed["bottle"]
    too_much = [{**LAYERS[0], "mixes": [{"bottle": bottle, "ml": "120"}]}, *LAYERS[1:]]
    body = {"line": line, "count": 4, "minutes": 30, "layers": too_much}
    told = shop.refused("pour_refused", "pours/", body)
    assert "mixed" in told
    from_it = [{**LAYERS[0], "mixes": [{"bottle": bottle, "ml": "100"}]}, *LAYERS[1:]]
    for layers in (from_it, LAYERS):
        pour = shop.pour(line, layers=layers)
        shop.pack(line, shop.good_pieces(pour))
    assert D(shop.get(f"bottles/{bottle}/")["remaining"]) == 50  # leftovers stay
    assert shop.held() == {}
    shop.sell(number)
    assert shop.status(number) == "paid"
    shop.ties()


@pytest.mark.parametrize("who", ["viewer", "elsewhere"])
def test_nobody_else_moves_it_at_any_stage(shop, other_owner, who):
    number, line, quote = shop.accepted(sets=1, coated=False)
    api = shop.people["viewer"].api if who == "viewer" else other_owner.api
    pour = shop.pour(line)
    acts = (
        f"commissions/{number}/payments/",
        f"commissions/{number}/step/",
        f"quotes/{quote.id}/send/",
        f"quotes/{quote.id}/link/",
        f"quotes/{quote.id}/accept/",
        f"pours/{pour['number']}/undo/",
        f"pours/{pour['number']}/topcoats/",
    )

    told = {act: api.post(f"/api/v1/{act}", {}, format="json").status_code for act in acts}

    assert set(told.values()) == {403 if who == "viewer" else 404}, told
    for act in ("quotes/", "invoices/"):  # what is named in a body does not exist elsewhere
        answer = api.post(f"/api/v1/{act}", {"commission": number}, format="json")
        assert answer.status_code == (403 if who == "viewer" else 400), act
    assert shop.status(number) == "in_work"
