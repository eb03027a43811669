"""A piece has one asking price, whichever page, paper, file or program asks for it."""

import csv
import io
import random
from decimal import Decimal as D

import pytest
from django.urls import reverse
from pypdf import PdfReader

from inventory.buying.replacing import renew_replacement_costs
from inventory.models import ReplacementCost
from pricing.bench.pours import LayerLog
from pricing.commissions import orders as commissions
from pricing.costing.price import Terms, ToPrice, offer
from pricing.demo import story
from pricing.earnings.break_even import break_even
from pricing.earnings.price_list import price_list
from pricing.models import Product
from pricing.quoting.quotes import accept_quote, draft_quote
from studio.errors import Refused
from studio.money import format_money
from tests.conftest import member
from tests.factories import going_on
from tests.factories.bench import working_studio
from tests.factories.pricing import CustomerFactory
from tests.pricing.bench.test_pours import log

pytestmark = pytest.mark.django_db


def one_piece(studio, surface, technique, palette):
    return Product.objects.create(
        studio=studio, name="One piece", surface=surface, technique=technique, palette=palette
    )


def quoted(product, by, count=1):
    commission = commissions.open_commission(
        studio=product.studio,
        by=by,
        customer=CustomerFactory(studio=product.studio),
        title="A piece",
    )
    going_on.add_line(
        commission=commission,
        by=by,
        surface=product.surface,
        technique=product.technique,
        palette=product.palette,
        quantity=count,
        pieces_each=1,
    )
    return draft_quote(commission=commission, by=by)


def prices_shown(owner, product, count):
    """Return {where: what it asks for one piece of so many that are made in one go}."""
    studio, size = owner.studio, product.surface
    asked = {"technique": product.technique.slug, "palette": product.palette.pk}
    many = {"together": count, **asked}

    def in_rows(rows, key="surface", name="asked"):
        return next(D(r[name]) for r in rows if r[key] in (size.pk, size.name))

    planned = owner.client.get(reverse("planner"), {"size": size.name, "count": count, **asked})
    listed = owner.client.get(reverse("price-list"), many).context["found"]
    file = owner.client.get(reverse("price-list-csv"), many).content.decode("utf-8-sig")
    paper = PdfReader(io.BytesIO(owner.client.get(reverse("price-list-pdf"), many).content))
    estimates = [
        owner.api.post("/api/v1/estimates/", {**asked, **named, "count": count}).json()["asking"]
        for named in (
            {"surface": size.pk},
            {"size": f"{size.width_mm} x {size.height_mm} x {size.depth_mm} mm"},
        )
    ]
    told = owner.api.get(f"/api/v1/products/{product.pk}/asking/", {"together": count}).json()
    quote = quoted(product, owner.user, count)
    costs = owner.api.get(f"/api/v1/quotes/{quote.pk}/costs/").json()
    assert {one["together"] for one in (*estimates, told)} == {count}
    shown = {
        "planner": planned.context["priced"].asking.each,
        "price list": next(r.asked for r in listed.rows if r.surface == size),
        "its API": in_rows(owner.api.post("/api/v1/price-list/", many).json()["rows"]),
        "its file": in_rows(csv.DictReader(io.StringIO(file)), "Size", "Price"),
        "estimates API": D(estimates[0]["asked"]),
        "estimates API by size": D(estimates[1]["asked"]),
        "product API": D(told["asked"]),
        "quote": D(quote.frozen["lines"][0]["unit_price"]),
        "quote API": D(costs["lines"][0]["unit_price"]),
    }
    words = format_money(shown["planner"], studio.currency, studio.locale)
    assert words in planned.content.decode()
    assert words in paper.pages[0].extract_text()
    assert words in owner.client.get(reverse("quote", args=[quote.pk])).content.decode()
    return shown


def prices_shown_for_one(owner, product):
    """Return {where: what it asks for one} of the screens that speak of one by itself."""
    studio = owner.studio
    listed = owner.client.get(reverse("products"))
    opened = owner.client.get(reverse("product-edit", args=[product.pk]))
    broken = owner.client.get(reverse("break-even"))
    made = owner.client.get(reverse("producible"))
    rows = owner.api.get("/api/v1/break-even/").json()["results"]
    possible = owner.api.post("/api/v1/producible/", {}).json()["possible"]
    shown = {
        "products": next(r for r in listed.context["page"] if r == product).priced().asking.each,
        "product": opened.context["form"].instance.priced().asking.each,
        "break-even": next(r for r in broken.context["rows"] if r.product == product).price,
        "its API": next(D(r["price"]) for r in rows if r["product"] == product.pk),
        "what can I make": next(
            r for r in made.context["found"].possible if r.product == product
        ).price,
        "the API of that": next(
            D(r["price"]) for r in possible if r["product"]["id"] == product.pk
        ),
    }
    words = format_money(shown["product"], studio.currency, studio.locale)
    for page in (listed, opened, broken, made):
        assert words in page.content.decode()
    return shown


def the_demo():
    studio, _ = story.begin(1)
    owner = member(studio, "owner")
    surface = studio.surfaces.order_by("pk").first()
    technique = studio.techniques.get(slug="bloom")
    return owner, one_piece(studio, surface, technique, studio.palettes.first())


def a_random_studio(seed):
    draw = random.Random(seed)
    bench = working_studio(
        price_by=draw.choice(["margin", "markup"]),
        margin=D(draw.choice(["0.25", "0.4"])),
        markup=D(draw.choice(["0.3", "1.2"])),
        labour_rate=D(draw.randrange(12, 30)),
        tax_rate=D(draw.choice(["0", "0.2"])),
        tax_inclusive=draw.choice([True, False]),
        rounding_step=D(draw.choice(["0.5", "1"])),
        review_days=draw.randrange(7, 60),
    )
    studio = bench.studio
    for pack in studio.packs.all():
        pack.price = D(draw.randrange(300, 4000)) / 100
        pack.save()
    if draw.random() < 0.7:
        renew_replacement_costs(studio=studio)
    owner = member(studio, "owner")
    return owner, one_piece(studio, bench.tile_size, bench.bloom, bench.palette)


@pytest.mark.parametrize("seed", [None, 1, 2, 3])
def test_a_piece_has_the_same_price_everywhere(seed):
    owner, product = the_demo() if seed is None else a_random_studio(seed)

    one, four = prices_shown(owner, product, 1), prices_shown(owner, product, 4)
    one |= {
        f"{where}, for one": price for where, price in prices_shown_for_one(owner, product).items()
    }

    assert len(set(one.values())) == 1, one
    assert len(set(four.values())) == 1, four
    assert four["planner"] < one["planner"]


def test_break_even_counts_on_the_asking_price():
    """What one brings is its price, where no channel and no tax take anything of it."""
    owner, product = a_random_studio(1)
    studio = owner.studio
    studio.tax_rate = D(0)
    studio.save()

    row = next(one for one in break_even(studio, D(100)) if one.product == product)

    price = price_list(studio, product.technique, product.palette)
    assert row.kept == next(r.asked for r in price.rows if r.surface == product.surface)


def asked_for(product, count):
    listed = price_list(product.studio, product.technique, product.palette, together=count)
    return next(row for row in listed.rows if row.surface == product.surface)


def test_more_pieces_share_the_set_up():
    owner, product = a_random_studio(2)

    one, four, forty = (asked_for(product, count) for count in (1, 4, 40))

    assert one.cost > four.cost > forty.cost
    quote = quoted(product, owner.user, 4)
    assert D(quote.frozen["lines"][0]["unit_price"]) == four.asked


def test_a_larger_size_does_not_move_the_price_of_a_smaller():
    owner, product = a_random_studio(2)
    before = asked_for(product, 1)
    product.surface.pk, product.surface.name = None, "Very large"
    product.surface.width_mm = product.surface.height_mm = D(1200)
    product.surface.save()

    listed = price_list(owner.studio, product.technique, product.palette)

    after = next(row for row in listed.rows if row.surface == before.surface)
    for name in ("cost", "asked", "profit", "forecast"):
        assert getattr(after, name) == getattr(before, name)


def test_an_accepted_job_does_not_move_the_price_of_the_next():
    owner, product = a_random_studio(2)
    renew_replacement_costs(studio=owner.studio)
    first = quoted(product, owner.user, 4)
    accept_quote(quote=going_on.send_quote(quote=first, by=owner.user), by=owner.user)
    renew_replacement_costs(studio=owner.studio)

    second = quoted(product, owner.user, 4)

    assert second.frozen["lines"][0]["unit_price"] == first.frozen["lines"][0]["unit_price"]


def test_the_price_rests_on_replacement_and_the_forecast_on_the_shelf():
    """Twice as dear to replace: the price follows, and what the shelf costs stays."""
    owner, product = a_random_studio(2)
    renew_replacement_costs(studio=owner.studio)
    before = quoted(product, owner.user).frozen
    for row in ReplacementCost.objects.all():
        row.unit_cost *= 2
        row.save()

    after = quoted(product, owner.user).frozen

    materials = ("material", "surface", "packaging")
    spent = [
        sum(D(one["amount"]) for one in frozen["asking"]["lines"][0]["cost_lines"]
            if one["kind"] in materials)
        for frozen in (before, after)
    ]  # fmt: skip  # a sum for each quote
    assert abs(spent[1] - 2 * spent[0]) < D("0.0001")
    assert after["totals"]["cost"] == before["totals"]["cost"]
    for frozen in (before, after):
        totals, asking = frozen["totals"], frozen["asking"]
        kept = D(totals["net"]) - D(totals["fees"])
        assert D(asking["profit"]) == kept - D(asking["cost"])
        assert D(totals["profit"]) == kept - D(totals["cost"])


def test_fees_on_shipping_are_earned_back():
    """10.00 to send, 5 % kept of it and no tax: 10.53, of which 0.53 are the channel's."""
    terms = Terms(
        margin=D("0.5"), tax_rate=D(0), tax_inclusive=False, rounding_step=D(1),
        minor_unit=D("0.01"), percent_fee=D("0.05"), fee_on_shipping=True, shipping=D(10),
    )  # fmt: skip  # all the terms at a glance

    sent = offer([ToPrice(1, D(20), D(20))], terms)

    assert sent.shipping == D("10.53")
    at_the_door = offer([ToPrice(1, D(20), D(20))], Terms(**vars(terms) | {"shipping": D(0)}))
    assert sent.profit == at_the_door.profit


@pytest.mark.parametrize(("by", "reached"), [("margin", "margin"), ("markup", "markup")])
def test_a_studio_prices_by_margin_or_by_markup(by, reached):
    """The one chosen is met by the least price of whole 0.01; the other follows from it."""
    bench = working_studio(price_by=by, margin=D("0.2"), markup=D("0.8"), rounding_step=D("0.01"))
    bench.studio.tax_rate = D("0.1")
    bench.studio.save()
    listed = price_list(bench.studio, bench.bloom, bench.palette)

    for row in listed.rows:
        aimed = {"margin": D("0.2"), "markup": D("0.8")}[by]
        assert aimed <= getattr(row, reached) < aimed + D("0.01")
        assert row.markup == row.profit / row.cost


def test_one_quote_may_be_priced_the_other_way():
    """One and a half times the cost on top of it, where the studio prices by margin."""
    owner, product = a_random_studio(1)
    studio = owner.studio
    studio.price_by, studio.rounding_step = "margin", D("0.01")
    studio.save()
    line = quoted(product, owner.user)

    by_markup = draft_quote(commission=line.commission, by=owner.user, markup=D("1.5")).frozen

    assert (by_markup["terms"]["margin"], by_markup["terms"]["markup"]) == ("0", "1.5")
    assert D("1.5") <= D(by_markup["asking"]["markup"]) < D("1.51")
    with pytest.raises(Refused, match="one of the two"):
        draft_quote(commission=line.commission, by=owner.user, markup=D("1.5"), margin=D("0.2"))


def test_the_form_of_a_quote_asks_as_the_studio_prices():
    owner, product = a_random_studio(1)
    commission = quoted(product, owner.user).commission
    page = reverse("quote-new", args=[commission.number])
    sent = {"rush": "0", "discount": "0", "deposit": "50"}
    for by, share in (("margin", "50"), ("markup", "100")):
        owner.studio.price_by = by
        owner.studio.save()
        form = owner.client.get(page).context["form"]
        assert [name for name in form.fields if name in ("margin", "markup")] == [by]

        owner.client.post(page, {**sent, by: share})

        terms = commission.quotes.get().frozen["terms"]
        assert D(terms[by]) == D(share) / 100


def test_a_viewer_sees_no_price(viewer):
    bench = working_studio()
    viewer = member(bench.studio, "viewer")
    asked = {"technique": "bloom", "palette": bench.palette.pk, "size": "4 x 4 in"}

    page = viewer.client.get(reverse("planner"), asked)

    assert "priced" not in page.context


def test_a_viewer_is_told_amounts_and_no_price_by_the_api():
    bench = working_studio()
    asked = {"technique": "bloom", "palette": bench.palette.pk, "surface": bench.tile_size.pk}
    product = one_piece(bench.studio, bench.tile_size, bench.bloom, bench.palette)
    viewer = member(bench.studio, "viewer")

    planned = viewer.api.post("/api/v1/estimates/", asked)

    assert planned.status_code == 200
    assert {"asking", "no_price"} & planned.data.keys() == set()
    assert viewer.api.get(f"/api/v1/products/{product.pk}/asking/").status_code == 403
    assert "asking price" not in viewer.client.get(reverse("products")).content.decode()


def test_what_has_no_price_says_so_wherever_it_would_stand():
    bench = working_studio()
    product = one_piece(bench.studio, bench.tile_size, bench.bloom, bench.palette)
    nowhere = bench.studio.materials.create(name="Slate", kind="surface", unit="each")
    product.surface.material = nowhere
    product.surface.save()
    maker = member(bench.studio, "maker")
    asked = {"technique": "bloom", "palette": bench.palette.pk, "surface": product.surface.pk}

    planned = maker.api.post("/api/v1/estimates/", asked).data
    told = maker.api.get(f"/api/v1/products/{product.pk}/asking/")
    pages = [
        maker.client.get(reverse("products")),
        maker.client.get(f"/products/{product.pk}/edit/"),
    ]

    sentence = "No price is known for Slate. Add a pack with its price, or receive some."
    assert (planned["asking"], planned["no_price"]) == (None, sentence)
    assert (told.status_code, told.data["detail"]) == (409, sentence)
    for page in pages:
        assert sentence in page.content.decode()


def test_guesses_stand_beside_the_price_until_ten_pours_are_logged():
    """Success as it came with the program, and then as the studio logged it."""
    bench = working_studio()
    product = one_piece(bench.studio, bench.tile_size, bench.bloom, bench.palette)
    owner = member(bench.studio, "owner")
    asked = {"technique": "bloom", "palette": bench.palette.pk}

    def told():
        pages = (
            owner.client.get(reverse("planner"), {"size": bench.tile_size.name, **asked}),
            owner.client.get(reverse("price-list"), asked),
            owner.client.get(reverse("break-even")),
            owner.client.get(f"/products/{product.pk}/edit/"),
        )
        answers = (
            owner.api.post("/api/v1/estimates/", {"surface": bench.tile_size.pk, **asked}),
            owner.api.post("/api/v1/price-list/", asked),
            owner.api.get("/api/v1/break-even/"),
            owner.api.get(f"/api/v1/products/{product.pk}/asking/"),
        )
        texts = [one.content.decode() for one in (*pages, *answers)]
        assert all("our guess, no source" in text for text in texts)  # of packing, to the end
        return ["How many pours come out well" in text for text in texts]

    little = {name: LayerLog(D(20)) for name in ("base", "colours", "activator")}
    for _ in range(10):
        assert all(told())
        log(bench, count=1, good_count=1, layers=little)
    assert not any(told())


def test_the_customers_list_says_for_how_many_it_speaks():
    owner, product = a_random_studio(1)
    asked = {"technique": product.technique.slug, "palette": product.palette.pk}

    def paper(together):
        file = owner.client.get(reverse("price-list-pdf"), {"together": together, **asked})
        return " ".join(PdfReader(io.BytesIO(file.content)).pages[0].extract_text().split())

    assert "of a size ordered together" not in paper(1)
    assert "For one piece of 12 of a size ordered together" in paper(12)
