"""The whole way from an enquiry to profit, in every kind of studio there may be.

Costing, the way tax is shown, a currency with no, two or three decimals, resin or none: whatever a
studio chose, the same refusals hold on the way and the accounts tie to the last minor unit.
"""

from decimal import Decimal as D

import pytest

from studio.money import minor_places
from tests.journeys.workshop import LAYERS, Workshop, accept, decline

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("costing", ["fifo", "moving_average"])
@pytest.mark.parametrize("with_tax", [True, False], ids=["tax inside", "tax on top"])
@pytest.mark.parametrize("currency", ["USD", "JPY", "KWD"])
@pytest.mark.parametrize("coated", [True, False], ids=["resin", "no resin"])
def test_an_enquiry_becomes_profit(costing, with_tax, currency, coated):
    shop = Workshop(costing=costing, tax_inclusive=with_tax, currency=currency, tax_rate=D("0.175"))
    places = D(1).scaleb(-minor_places(currency))
    number, line = shop.enquiry(sets=1, coated=coated)
    quote = shop.quote(number, rush="0.10")
    gross, deposit = D(quote.gross), D(quote.deposit)
    assert gross == D(quote.net) + D(quote.tax)
    assert gross == gross.quantize(places)  # nothing below the smallest coin
    accept(quote.link)
    assert "Accepted by Wren Alder" in accept(quote.link)  # the same answer twice is one
    assert "cannot be answered" in decline(quote.link, "Too dear")

    payments = f"commissions/{number}/payments/"
    shop.refused("payment_refused", payments, {"amount": str(gross + places)})
    shop.do(payments, {"amount": str(deposit)})

    # The first pour fails altogether; the second carries its cost.
    shop.pour(line, good=0, layers=LAYERS[:1])
    pour = shop.pour(line)
    if coated:
        early = {"line": line, "pieces": shop.good_pieces(pour)}
        assert "resin topcoat" in shop.refused("set_refused", "sets/", early)
        shop.coat(pour)
    shop.pack(line, shop.good_pieces(pour))
    told = shop.refused("pour_refused", f"pours/{pour['number']}/undo/", {"why": "Mistaken"})
    assert "first" in told
    sale = shop.sell(number, how="cash")
    assert shop.status(number) == "paid"
    invoice = shop.do("invoices/", {"commission": number}, "owner")
    assert (D(invoice["net"]), D(invoice["tax"])) == (D(quote.net), D(quote.tax))

    # Sold, given back, sold again: paid in all what was agreed, and costed once.
    shop.do(f"sales/{sale['number']}/refund/", {"why": "Second thoughts", "returned": True})
    assert shop.account(number)["owed"] == gross
    shop.refused("sale_refused", f"sales/{sale['number']}/refund/", {"why": "Again"})
    shop.sell(number)
    assert shop.account(number) == {"agreed": gross, "paid": gross, "owed": 0, "deposit_owed": 0}

    whole = shop.ties()
    assert (whole.revenue, whole.tax) == (gross, D(quote.tax))
    took = sum(-move.value for move in shop.studio.movements.filter(kind="use"))
    assert whole.materials == took  # what left the ledger for it, the lost pour too
