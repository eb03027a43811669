"""Quotes on the pages and on paper: what the customer reads, and where the money goes."""

from decimal import Decimal as D
from io import BytesIO

import pytest
from django.urls import reverse
from pypdf import PdfReader

from pricing.models import Quote
from pricing.quoting import papers
from pricing.quoting import quotes as quoting
from tests.conftest import member
from tests.factories import going_on
from tests.factories.bench import working_studio
from tests.pricing.commissions.test_commissions import add_tiles, opened

pytestmark = pytest.mark.django_db
RANK = ("viewer", "maker", "owner")
ACTS = {
    "quote": ("get", "maker"),
    "quote-pdf": ("get", "maker"),
    "cost-sheet-pdf": ("get", "maker"),
    "quote-send": ("post", "owner"),
    "quote-accept": ("get", "maker"),
    "quote-decline": ("get", "maker"),
}


@pytest.fixture
def bench():
    return working_studio()


@pytest.fixture
def quote(bench):
    return drafted(bench)


def drafted(bench, lines=1, **terms):
    commission = opened(bench)
    for _ in range(lines):
        add_tiles(bench, commission, topcoat=bench.kit)
    return quoting.draft_quote(commission=commission, by=None, **terms)


def text_of(response):
    return " ".join(response.content.decode().split())


def paper_of(response):
    pages = PdfReader(BytesIO(response.content)).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split())


def ask(person, page, quote):
    how, _ = ACTS[page]
    return getattr(person.client, how)(reverse(page, args=[quote.pk]))


@pytest.mark.parametrize("page", ACTS)
@pytest.mark.parametrize("role", RANK)
def test_a_page_opens_for_its_role_and_above(bench, quote, page, role):
    status = ask(member(bench.studio, role, sees_costs=True), page, quote).status_code

    assert (status != 403) == (RANK.index(role) >= RANK.index(ACTS[page][1]))


@pytest.mark.parametrize("page", ACTS)
def test_another_studio_finds_nothing_there(quote, other_owner, page):
    assert ask(other_owner, page, quote).status_code == 404


def test_a_maker_sees_the_price_and_nothing_of_the_cost(bench, quote):
    owner = text_of(ask(member(bench.studio, "owner"), "quote", quote))
    maker = text_of(ask(member(bench.studio, "maker"), "quote", quote))

    assert f"${quote.gross:.2f}" in maker
    assert "Where the money goes" in owner
    assert "Profit after paying yourself" in owner
    assert "Where the money goes" not in maker
    assert "Profit after paying yourself" not in maker


def test_the_page_shows_what_the_paper_shows(bench, quote):
    owner = member(bench.studio, "owner")

    shown = text_of(ask(owner, "quote", quote))
    paper = paper_of(ask(owner, "quote-pdf", quote))

    for words in ("Set of 4: Tile 10 × 10 cm", "Bloom, Tide, resin topcoat", f"{quote.gross:.2f}"):
        assert words in shown
        assert words in paper


def test_shipping_stands_on_the_page_too(bench):
    quote = drafted(bench, shipping=D("7.50"))

    shown = text_of(ask(member(bench.studio, "maker", sees_costs=True), "quote", quote))

    assert "Shipping</th><td" in shown
    assert "$7.50" in shown


@pytest.mark.parametrize("currency", ("USD", "JPY", "KWD"))
@pytest.mark.parametrize("tax_inclusive", (False, True))
def test_where_the_money_goes_adds_up_as_it_is_shown(tax_inclusive, currency):
    bench = working_studio(
        tax_inclusive=tax_inclusive,
        tax_rate=D("0.08"),
        currency=currency,
        rounding_step=D(1),
    )
    quote = drafted(bench, lines=2, shipping=D(7))
    coin = {"USD": D("0.01"), "JPY": D(1), "KWD": D("0.001")}[currency]

    parts = papers.cost_sheet_context(quote)["goes"].parts

    amounts = {part.label: part.amount for part in parts}
    assert sum(amounts.values()) == quote.gross
    assert sum(part.share for part in parts) == 1
    assert all(amount % coin == 0 for amount in amounts.values())
    for part in parts:
        assert not part.made_of or sum(amount for _, amount in part.made_of) == part.amount
    for name, kind in (("Base coat", "material"), ("Work", "labour")):
        exact = sum(
            D(one["amount"])
            for line in quote.frozen["lines"]
            for one in line["cost_lines"]
            if one["kind"] == kind and (one["label"] == name or kind != "material")
        )
        assert abs(amounts[name] - exact) < coin
    assert amounts["Tax"] == quote.tax
    assert {"Colours", "Cell activator", "Shipping", "Profit"} <= set(amounts)


def test_each_part_of_a_price_opens_to_what_it_is_made_of(bench, quote):
    shown = text_of(ask(member(bench.studio, "owner"), "quote", quote))

    base = shown[shown.index("1 Base coat") :]
    assert "white $" in base[: base.index("</details>")]
    assert shown.count("<svg") > 1


def test_the_cost_sheet_says_first_where_the_money_goes(bench, quote):
    paper = paper_of(ask(member(bench.studio, "owner"), "cost-sheet-pdf", quote))

    assert paper.index("Where the money goes") < paper.index("Paint by layer")
    assert "From the cost of one to its price" in paper


def test_a_price_with_terms_that_leave_nothing_is_refused_and_kept(bench):
    commission = opened(bench)
    add_tiles(bench, commission)
    url = reverse("quote-new", args=[commission.number])
    data = {"margin": "97", "rush": "0", "discount": "0", "shipping": "ten", "deposit": "50"}

    answer = member(bench.studio, "owner").client.post(url, data)

    assert answer.status_code == 422
    assert "Ensure this value is less than or equal to 95." in text_of(answer)
    assert "“ten”" in text_of(answer)
    assert 'value="97"' in text_of(answer)
    assert not Quote.objects.exists()


def test_a_commission_without_pieces_has_no_price(bench):
    url = reverse("quote-new", args=[opened(bench).number])
    data = {"margin": "30", "rush": "0", "discount": "0", "deposit": "50"}

    answer = member(bench.studio, "owner").client.post(url, data)

    assert answer.status_code == 422
    assert "has no pieces yet" in text_of(answer)
    assert not Quote.objects.exists()


def test_a_quote_goes_from_draft_to_accepted_on_the_pages(bench, quote):
    owner, maker = member(bench.studio, "owner"), member(bench.studio, "maker")

    owner.client.post(reverse("quote-send", args=[quote.pk]), {"reason": "Mats go with it"})
    answer = maker.client.post(reverse("quote-accept", args=[quote.pk]), {"name": "Wren Alder"})

    quote.refresh_from_db()
    assert answer.url == reverse("commission", args=[quote.commission.number])
    assert (str(quote), quote.status, quote.answered_by) == ("Quote 1", "accepted", "Wren Alder")


def test_an_answer_needs_a_name(bench, quote):
    going_on.send_quote(quote=quote, by=None)
    url = reverse("quote-accept", args=[quote.pk])

    answer = member(bench.studio, "maker").client.post(url, {"name": "", "note": "By phone"})

    quote.refresh_from_db()
    assert answer.status_code == 422
    assert "By phone" in text_of(answer)
    assert quote.status == "sent"


@pytest.mark.parametrize("lines", (1, 3))
def test_a_quote_asks_as_often_for_one_line_as_for_three(bench, lines, django_assert_num_queries):
    quote, owner = drafted(bench, lines=lines), member(bench.studio, "owner")

    # who asks in three; the quote with its numbers; its link; the plan of accepted work, and of
    # this, in eighteen: whether it can be ready by the day wanted; what speaks against sending it,
    # and what was written of that before
    with django_assert_num_queries(24):
        ask(owner, "quote", quote)
