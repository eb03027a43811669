"""A commission for which one small tile is poured first, until its customer likes the colours."""

from decimal import Decimal as D
from io import BytesIO

import pytest
from django.test import Client

from studio.models import Mail
from tests.factories.pricing import photograph
from tests.forms import read_page
from tests.journeys.workshop import Workshop, accept, looked_at

pytestmark = pytest.mark.django_db

# Of one tile: 10 mL of base 0.18, 6 mL of colours 0.22, 0.8 mL of activator 0.02, the tile 0.50.
ONE = {"base": D(10), "colours": D(6), "activator": D("0.8")}
# Twice 0.92 for the test tile, four times 0.92 for the set, and a box of 1.20.
MATERIALS = D("6.72")
# Twice 6 minutes, 30 and 4, at 18.00 an hour, and at 6.00 of overhead.
LABOUR, OVERHEAD = D("13.80"), D("4.60")


def layers(count):
    return [{"layer": name, "mixed_ml": str(ml * count)} for name, ml in ONE.items()]


def answer(link, number, says, note=""):
    """Press a button on the customer's page; returns the words of the page that follows."""
    forms, _ = read_page(Client().get(link).content.decode(), link)
    (form,) = [one for one in forms if one.action.endswith(f"/tiles/{number}/")]
    (button,) = [one for one in form.buttons if one[1] == says]
    sent = {**form.data(button), "note": [note]}
    shown = Client(enforce_csrf_checks=True).post(form.action, sent, follow=True)
    assert shown.status_code == 200
    return " ".join(shown.content.decode().split())


def show(workshop, pour):
    """Add a picture to a pour, as a phone sends it."""
    file = BytesIO(photograph())
    file.name = "tile.jpg"
    body = {"pour": pour["number"], "files": [file]}
    sent = workshop.people["maker"].api.post("/api/v1/pictures/", body, format="multipart")
    assert sent.status_code == 201, sent.content


@pytest.mark.parametrize("is_free", (False, True))
def test_a_tile_not_quite_right_then_right_then_the_rest(is_free):
    workshop = Workshop(tax_inclusive=True)
    number, line = workshop.enquiry(sets=1, coated=False)
    bench = workshop.bench
    same = {"surface": bench.tile_size.pk, "technique": "bloom", "palette": bench.palette.pk}
    body = {**same, "is_test": True, "is_free": is_free}
    tile = workshop.do(f"commissions/{number}/lines/", body)["id"]
    quote = workshop.quote(number)
    amounts = {one["description"][:9]: D(one["amount"]) for one in quote.lines}
    assert sum(amounts.values()) == D(quote.gross)
    assert (amounts["Test tile"] == 0) is is_free
    assert "Your test tile" not in looked_at(quote.link)
    accept(quote.link)
    workshop.do(f"commissions/{number}/payments/", {"amount": quote.gross})
    assert workshop.held()["tile"] == 5

    # Nothing is packed of it, and the customer wants it lighter.
    first = workshop.pour(tile, 1, 1, layers(1), minutes=6)
    assert (workshop.held()["tile"], workshop.status(number)) == (4, "in_work")
    assert workshop.get("work-list/")["packings"] == []
    show(workshop, first)
    told = answer(quote.link, first["number"], "no", "more white")
    assert "“Not quite”, said Wren Alder" in told
    assert any("tile, Pour 1: more white" in one.text for one in Mail.objects.all())
    assert "“more white”" in _page(workshop, f"/commissions/{number}/")

    again = workshop.pour(tile, 1, 1, layers(1), minutes=6)
    show(workshop, again)
    assert "“Yes, like this”, said" in answer(quote.link, again["number"], "yes")
    answers = workshop.get("tile-answers/", commission=number)["results"]
    assert [(one["pour"], one["accepted"]) for one in answers] == [
        (again["number"], True),
        (first["number"], False),
    ]

    # Then the rest: one set, which is all that is handed over and brings all that was agreed.
    made = workshop.pour(line, 4, 4, layers(4), minutes=30)
    (packing,) = workshop.get("work-list/")["packings"]
    assert (packing["line"], packing["sets"]) == (line, 1)
    workshop.pack(line, workshop.good_pieces(made))
    assert (workshop.status(number), workshop.held()) == ("ready", {})
    (delivery,) = workshop.get("work-list/")["deliveries"]
    assert (delivery["sets"], delivery["of"]) == (1, 1)
    (agreed,) = workshop.get(f"commissions/{number}/sale-prices/")["results"]
    assert D(agreed["price"]) == D(quote.gross)
    workshop.sell(number)

    assert (workshop.status(number), workshop.account(number)["owed"]) == ("paid", 0)
    whole = workshop.ties()
    assert (whole.materials, whole.labour, whole.overhead) == (MATERIALS, LABOUR, OVERHEAD)
    assert whole.revenue == D(quote.gross)
    net = D(quote.net)  # nothing is taken by the studio's own sale
    assert whole.profit == net - MATERIALS - LABOUR - OVERHEAD
    (row,) = workshop.get("hindsight/", "owner")["results"]
    assert row["commission"] == number


def _page(workshop, path):
    return " ".join(workshop.people["viewer"].client.get(path).content.decode().split())
