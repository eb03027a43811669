"""Heat and food stand on every paper and page that goes with a piece, whatever is on it."""

from datetime import timedelta
from decimal import Decimal as D
from io import BytesIO

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from django.utils.html import strip_tags
from pypdf import PdfReader

from pricing.bench.pour_materials import LayerLog
from pricing.commissions.payments import take_payment
from pricing.models import Use
from pricing.quoting import quote_links
from pricing.quoting import quotes as quoting
from pricing.quoting.invoicing import credit_invoice, issue_invoice
from tests.conftest import member
from tests.factories import going_on
from tests.factories.bench import working_studio
from tests.factories.pricing import ChannelFactory, CommissionLineFactory
from tests.pricing.bench.test_pours import log
from tests.pricing.commissions.test_commissions import opened

pytestmark = pytest.mark.django_db

FOOD = "Not for contact with food. Use a plate."
# What stands of heat, by the limit that the kit's label states: 50 °C of a clear table epoxy,
# 90 °C of a coaster maker's own; none where nobody has read it.
HEAT = {
    "no limit": "No heat limit is known for this resin: put nothing hot on it",
    "bare": "put nothing hot or wet on it",
    "50": "a heat limit of 50 °C (122 °F). Put nothing hotter on it, and use a mat under hot cups",
    "90": "a heat limit of 90 °C (194 °F). Put nothing hotter on it, such as a pan or a pot",
}
SHORT = {
    "no limit": "Nothing hot on it: mat under cups",
    "bare": "Nothing hot or wet on it",
    "50": "No more than 50 °C (122 °F): mat under hot cups",
    "90": "No more than 90 °C (194 °F): no pans or pots",
}


def words_of(answer):
    """Return what a page or a paper reads as."""
    assert answer.status_code == 200, answer
    if answer["Content-Type"] == "application/pdf":
        text = " ".join(page.extract_text() for page in PdfReader(BytesIO(answer.content)).pages)
    else:
        text = strip_tags(answer.content.decode()).replace("&#x27;", "'")
    return " ".join(text.split())


@pytest.fixture
def shop(request):
    """A studio that has quoted, made, invoiced, sold and consigned coasters of one kind."""
    bench = working_studio(name="Slow Tide", time_zone="UTC")
    kind = request.param
    bench.kit.heat_limit_c = {"50": D(50), "90": D(90)}.get(kind)
    bench.kit.save()
    bench.kind, bench.coated = kind, kind != "bare"
    commission = opened(bench)
    bench.line = CommissionLineFactory(
        commission=commission,
        surface=bench.tile_size,
        technique=bench.bloom,
        palette=bench.palette,
        topcoat=bench.kit if bench.coated else None,
        pieces_each=2,
        use=Use.HOT,
    )
    bench.quote = going_on.send_quote(
        quote=quoting.draft_quote(commission=commission, by=None), by=None
    )
    bench.secret = quote_links.make_link(quote=bench.quote, by=None)[1]
    quoting.accept_quote(quote=bench.quote, name="Wren Alder")
    commission.refresh_from_db()
    bench.commission = commission
    bench.invoice = issue_invoice(commission=commission, by=None)
    bench.payment = take_payment(
        commission=commission, by=None, amount=D(10), paid_on=bench.studio.today(), how="card"
    )
    bench.set, consigned = packed(bench, bench.line), packed(bench, None)
    bench.sale = going_on.sell(
        studio=bench.studio,
        by=None,
        channel=bench.own_sale,
        sold_on=bench.studio.today(),
        items=[(bench.set, D(40))],
    )
    bench.note = going_on.send_out(
        studio=bench.studio,
        by=None,
        channel=ChannelFactory(studio=bench.studio, is_consignment=True),
        items=[(consigned, D(48))],
        sent_on=bench.studio.today(),
    )
    return bench


def packed(bench, line):
    """Pour two long enough ago to be cured, coat them if they are to be, and pack them."""
    pour = log(
        bench,
        count=2,
        good_count=2,
        line=line,
        layers={"base": LayerLog(D(50))},
        poured_at=timezone.now() - timedelta(days=80),
    )
    if bench.coated:
        going_on.log_topcoat(
            pour=pour,
            by=None,
            kit=bench.kit,
            mixed_ml=D(30),
            minutes=D(5),
            coated_at=timezone.now() - timedelta(days=40),
        )
    return going_on.pack_set(
        studio=bench.studio, by=None, name="Two coasters", pieces=pour.pieces.all(), line=line
    )


def addresses(bench):
    """Return each page and paper that goes with a piece, by its name."""
    choice = f"?technique=bloom&palette={bench.palette.pk}&together=1"
    choice += f"&topcoat={bench.kit.pk}" if bench.coated else ""
    numbers = {
        "quote": bench.quote.pk,
        "quote-pdf": bench.quote.pk,
        "customer-quote": bench.secret,
        "customer-quote-pdf": bench.secret,
        "invoice-pdf": bench.invoice.number,
        "receipt-pdf": bench.payment.number,
        "set": bench.set.number,
        "set-care": bench.set.number,
        "set-care-pdf": bench.set.number,
        "sale": bench.sale.number,
        "consignment": bench.note.number,
        "consignment-note-pdf": bench.note.number,
        "consignment-statement-pdf": bench.note.number,
    }
    lists = ("price-list", "price-list-pdf", "price-list-csv")
    return {name: reverse(name, args=[key]) for name, key in numbers.items()} | {
        name: reverse(name) + choice for name in lists
    }


@pytest.mark.parametrize("shop", HEAT, indirect=True)
def test_every_paper_and_page_says_it(shop):
    owner = member(shop.studio, "owner").client
    asked = addresses(shop)
    open_to_all = {name: Client() for name in asked if name.startswith("customer")}

    told = {name: words_of(open_to_all.get(name, owner).get(url)) for name, url in asked.items()}
    tag = words_of(owner.get(reverse("set-care-pdf", args=[shop.set.number]) + "?what=tags"))

    assert [name for name, words in told.items() if HEAT[shop.kind] not in words] == []
    assert [name for name, words in told.items() if FOOD not in words] == []
    for name in ("quote", "quote-pdf", "customer-quote", "customer-quote-pdf", "invoice-pdf"):
        assert "for hot drinks" in told[name], name
    for name in ("set", "consignment-note-pdf"):
        assert ("For hot drinks" in told[name]) == (name == "set"), name
    assert SHORT[shop.kind] in tag and "Not for food" in tag


@pytest.mark.parametrize("shop", ["no limit", "50"], indirect=True)
def test_the_api_says_it_of_a_set(shop):
    answer = member(shop.studio, "viewer").api.get(f"/api/v1/sets/{shop.set.number}/")

    assert answer.data["use"] == "hot"
    assert answer.data["heat_limit_c"] == {"no limit": None, "50": "50.0"}[shop.kind]
    assert HEAT[shop.kind] in answer.data["care"][0]
    assert answer.data["care"][1] == FOOD


@pytest.mark.parametrize("shop", ["50"], indirect=True)
def test_what_was_sent_stays_as_it_was_sent(shop):
    owner = member(shop.studio, "owner").client
    papers = [reverse("quote-pdf", args=[shop.quote.pk])]
    papers += [reverse("invoice-pdf", args=[shop.invoice.number])]
    before = [owner.get(paper).content for paper in papers]
    shop.kit.heat_limit_c = None
    shop.kit.save()

    assert [owner.get(paper).content for paper in papers] == before
    # What goes with a piece from now on says what is known now.
    assert HEAT["no limit"] in words_of(owner.get(reverse("set", args=[shop.set.number])))
    assert HEAT["no limit"] in words_of(
        owner.get(reverse("consignment-note-pdf", args=[shop.note.number]))
    )


@pytest.mark.parametrize("shop", ["bare"], indirect=True)
def test_what_takes_money_back_tells_nothing_of_cups(shop):
    owner = member(shop.studio, "owner").client
    credit = credit_invoice(invoice=shop.invoice, by=None, why="Called off")

    assert FOOD not in words_of(owner.get(reverse("invoice-pdf", args=[credit.number])))


@pytest.mark.parametrize("shop", ["90"], indirect=True)
def test_a_set_with_one_piece_that_is_bare_is_told_of_as_bare(shop):
    bare = mixed(shop)

    words = words_of(member(shop.studio, "viewer").client.get(reverse("set", args=[bare.number])))

    assert HEAT["bare"] in words and HEAT["90"] not in words


def mixed(bench):
    """Pack a coated piece with one that is not."""
    coated = log(bench, count=1, good_count=1, layers={"base": LayerLog(D(20))})
    bare = log(bench, count=1, good_count=1, layers={"base": LayerLog(D(20))})
    going_on.log_topcoat(pour=coated, by=None, kit=bench.kit, mixed_ml=D(10), minutes=D(5))
    pieces = [*coated.pieces.all(), *bare.pieces.all()]
    return going_on.pack_set(studio=bench.studio, by=None, name="Two", pieces=pieces)
