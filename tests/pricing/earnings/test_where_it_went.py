"""Where the money of prices goes: parts that add up, forecast beside actual, worked by hand."""

import random
from decimal import Decimal as D

import pytest
from django.urls import reverse

from pricing.earnings.hindsight import hindsight
from pricing.earnings.report import compared
from pricing.earnings.where_it_went import forecast_beside_actual, spent_on
from pricing.selling import sales
from tests.conftest import member
from tests.factories import going_on
from tests.factories.bench import working_studio
from tests.factories.judged import coat_judged
from tests.factories.pricing import ProductFactory
from tests.pricing.bench.test_pours import log
from tests.pricing.commissions.test_commissions import accepted
from tests.pricing.earnings.test_looking_back import sold_commission
from tests.pricing.quoting.test_quote_pages import text_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def bench():
    return working_studio()


def amounts(lines):
    """Return {(kind, label): amount} of cost lines."""
    found = {}
    for line in lines:
        key = line.kind, line.label
        found[key] = found.get(key, D(0)) + line.amount
    return found


def test_a_pour_is_told_apart_by_layer_and_what_failed_stands_by_itself(bench):
    """Four tiles poured, three good; one of them spoils in the topcoat, two are packed.

    A mL of white is 0.02, of blue 0.04, of gold 0.05, of water 0. 100 mL of base hold 90 of white:
    1.80. 60 mL of colours are 40 of blue mix (0.03) and 20 of gold: 2.20. 8 mL of activator, three
    white to one blue: 0.20. Tiles 4 at 0.50. Half of all that is in the two good ones. 40 mL of
    resin at 0.06 are 2.40, two thirds of it on the good ones. 40 and 20 minutes at 18 and 6 an
    hour; the box is 1.20.
    """
    pour = log(bench, good_count=3)
    coat = coat_judged(
        pour=pour, by=None, kit=bench.kit, mixed_ml=D(40), minutes=D(20), spoiled_count=1
    )
    good = pour.pieces.filter(state="good")
    packed = going_on.pack_set(
        studio=bench.studio, by=None, name="", pieces=good, packaging=bench.box, minutes=D(10)
    )

    found = spent_on([packed.pk])

    assert coat.spoiled_count == 1
    told = {key: round(amount, 6) for key, amount in amounts(found).items() if amount}
    assert told == {
        ("material", "Base coat"): D("0.90"),
        ("material", "Colours"): D("1.10"),
        ("material", "Cell activator"): D("0.10"),
        ("material", "Topcoat"): D("1.60"),
        ("surface", "Surface"): D("1.00"),
        ("failures", "Pieces that fail"): D("0.90") + D("1.10") + D("0.10") + D("1.00") + D("0.80"),
        ("labour", "Pouring"): D(12),
        ("labour", "Topcoats"): D(6),
        ("labour", "Packing"): D(3),
        ("overhead", "Pouring"): D(4),
        ("overhead", "Topcoats"): D(2),
        ("overhead", "Packing"): D(1),
        ("packaging", "Packaging"): D("1.20"),
    }


@pytest.mark.parametrize("seed", range(6))
def test_the_parts_are_what_the_sets_cost_whatever_befell_them(bench, seed):
    """The second way: the cost book, which shares whole acts over the pieces that bear them."""
    dice = random.Random(seed)
    line = accepted(bench, quantity=1, topcoat=bench.kit).lines.get()
    loose = []
    for _ in range(5):
        poured = dice.randrange(1, 5)
        of_line = {"line": line} if dice.random() < 0.7 else {}
        good = dice.randrange(0, poured + 1)
        pour = log(bench, count=poured, good_count=good, minutes=D(dice.randrange(50)), **of_line)
        for _ in range(dice.randrange(3)):
            if pour.pieces.filter(state="good").exists():
                coat_judged(
                    pour=pour,
                    by=None,
                    kit=bench.kit,
                    mixed_ml=D(dice.randrange(5, 15)),
                    minutes=D(dice.randrange(20)),
                    spoiled_count=dice.randrange(2),
                )
        loose += pour.pieces.filter(state="good")
    dice.shuffle(loose)
    sets = [
        going_on.pack_set(studio=bench.studio, by=None, name="", pieces=some, minutes=D(7))
        for some in (loose[:2], loose[2:5])
        if some
    ]

    found = spent_on([one.pk for one in sets])

    costs = [one.spent for one in bench.studio.sets.filter(pk__in=[one.pk for one in sets])]
    for kinds, whole in (
        (("labour",), sum(one.labour for one in costs)),
        (("overhead",), sum(one.overhead for one in costs)),
        (
            ("material", "surface", "failures", "packaging"),
            sum(one.materials for one in costs),
        ),
    ):
        parts = sum(line.amount for line in found if line.kind in kinds)
        assert parts == pytest.approx(whole, abs=D("0.0001"))
    for line in found:
        assert sum(amount for _, amount in line.made_of) in (line.amount, 0)


def test_both_columns_add_up_to_the_table_beside_them(bench):
    for sets in (1, 2):
        sold_commission(bench, sets=sets, sell=sets)
    (table,) = compared(bench.studio)

    beside = forecast_beside_actual(table.rows)

    assert beside.names == ("Forecast", "Actual")
    assert beside.wholes == (table.forecast.revenue, table.actual.revenue)
    by_label = {row.label: [part for _, part in row.cells] for row in beside.rows}
    for place, sums in enumerate((table.forecast, table.actual)):
        shown = {label: parts[place].amount for label, parts in by_label.items()}
        assert sum(shown.values()) == sums.revenue
        for label, amount in (
            ("Profit", sums.profit),
            ("Tax", sums.tax),
            ("Work", sums.labour),
            ("Rent, power and tools", sums.overhead),
        ):
            assert shown[label] == amount
        for part in (parts[place] for parts in by_label.values()):
            assert sum(amount for _, amount in part.made_of) in (part.amount, 0)
    assert "Shipping" not in by_label


def test_what_sending_cost_is_a_part_of_its_own(bench):
    commission = accepted(bench, quantity=1, topcoat=bench.kit)
    line = commission.lines.get()
    pour = log(bench, line=line, good_count=4)
    coat_judged(pour=pour, by=None, kit=bench.kit, mixed_ml=D(40), minutes=D(20))
    going_on.pack_set(studio=bench.studio, by=None, name="", pieces=pour.pieces.all(), line=line)
    going_on.sell(
        studio=bench.studio,
        by=None,
        channel=bench.own_sale,
        sold_on=bench.studio.today(),
        items=sales.prices_quoted(commission),
        commission=commission,
        shipping_paid=D("6.30"),
    )
    (table,) = compared(bench.studio)

    beside = forecast_beside_actual(table.rows)

    (sent,) = [row.cells for row in beside.rows if row.label == "Shipping"]
    assert [(name, part.amount) for name, part in sent] == [("Forecast", 0), ("Actual", D("6.30"))]


def test_nothing_sold_has_no_picture(bench):
    assert forecast_beside_actual([]) is None


@pytest.mark.parametrize("more", (1, 3))
def test_more_commissions_ask_no_more_for_their_picture(bench, more, django_assert_num_queries):
    for _ in range(more):
        sold_commission(bench, sets=1, sell=1)
    rows = hindsight(bench.studio)

    with django_assert_num_queries(13):
        forecast_beside_actual(rows)


# Pages


def test_one_commission_opens_to_where_its_money_went(bench, other_owner, stranger):
    commission = sold_commission(bench)
    path = reverse("hindsight-of-one", args=[commission.number])
    owner = member(bench.studio, "owner").client

    page = text_of(owner.get(path))

    assert commission.title in page and "Base coat" in page and "Pour 1" in page
    assert path in text_of(owner.get(reverse("hindsight")))
    assert owner.get(reverse("hindsight-of-one", args=[99])).status_code == 404
    assert other_owner.client.get(path).status_code == 404
    assert stranger.client.get(path).status_code == 302


def test_a_price_list_and_a_product_show_where_each_price_goes(bench):
    """What the customer pays is the price with 10 % tax; each column adds up to it."""
    product = ProductFactory(
        studio=bench.studio,
        surface=bench.tile_size,
        technique=bench.bloom,
        palette=bench.palette,
        topcoat=bench.kit,
        pieces_each=4,
    )
    owner = member(bench.studio, "owner").client
    asked = {"technique": "bloom", "palette": bench.palette.pk, "together": 3}

    listed = owner.get(reverse("price-list"), asked).context["found"]
    opened = owner.get(reverse("product-edit", args=[product.pk]))

    assert listed.beside.names == tuple(row.surface.name for row in listed.rows)
    for row, whole, place in zip(listed.rows, listed.beside.wholes, (0, 1), strict=True):
        column = [line.cells[place][1].amount for line in listed.beside.rows]
        assert sum(column) == whole == row.asked * D("1.1")
    goes = opened.context["form"].instance.priced().goes
    assert goes.whole == sum(part.amount for part in goes.parts)
    assert goes.whole == opened.context["form"].instance.priced().asking.each * D("1.1")
    labels = [part.label for part in goes.parts]
    assert labels[:4] == ["Base coat", "Colours", "Cell activator", "Topcoat"]
    assert labels[-2:] == ["Profit", "Tax"]
    page = text_of(opened)
    assert "Where the money goes" in page
    assert page.count("<details>") >= 5  # each layer and the work open to what they are made of
