"""Prices that have risen since a quote: which, by how much, and what that leaves, by hand."""

from decimal import Decimal as D

import pytest
from django.urls import reverse

from inventory.buying.alert_mail import choose_alert_mail, write_news
from inventory.buying.alerts import alerts
from inventory.models import Pack
from pricing.alerts import LEAST_RISE, price_alerts, rises
from pricing.models import Quote
from pricing.quoting import quotes as quoting
from studio.models import Mail
from studio.money import format_money
from studio.preferences import change_settings
from tests.conftest import member
from tests.factories import going_on
from tests.factories.bench import working_studio
from tests.inventory.pages import words
from tests.inventory.stock.shelves import use
from tests.pricing.commissions.test_commissions import accepted, add_tiles, opened

pytestmark = pytest.mark.django_db


@pytest.fixture
def bench():
    return working_studio()


def sent(bench, **more):
    """Send a quote for two boxes of four tiles each, nothing risen yet."""
    commission = opened(bench)
    add_tiles(bench, commission, packaging=bench.box, **more)
    return going_on.send_quote(quote=quoting.draft_quote(commission=commission, by=None), by=None)


def use_up(material):
    """Leave none, so that the next comes from a pack, at twice what the shelf cost."""
    use(material, material.movements.get().quantity)


def test_a_dearer_tile_is_told_with_what_it_leaves(bench):
    """Tiles rise from 0.50 to 1.00. The quote pays for 8 / 0.85 of them, to the four
    decimals that stock has: 4.705882 more."""
    quote = sent(bench)
    assert price_alerts(bench.studio) == []
    use_up(bench.tile)

    (risen,) = rises(bench.studio)
    (alert,) = price_alerts(bench.studio)

    assert (risen.quote, risen.material) == (quote, bench.tile)
    assert (risen.then, risen.now, risen.rise) == (D("0.5"), D(1), 1)
    assert risen.extra_cost == pytest.approx(D("4.705882"), abs=D("1e-4"))
    profit = D(quote.frozen["totals"]["profit"])

    def money(amount):
        return format_money(amount, "USD", "en_US")

    assert alert.sentence == (
        f"It costs 100% more than was reckoned with. That takes $4.71 from the profit of "
        f"{money(profit)}, so {money(profit - risen.extra_cost)} is left."
    )
    assert (alert.work, alert.work_url) == ("Quote 1 (Coasters)", f"/quotes/{quote.pk}/")


def test_drafting_the_quote_anew_costs_just_that_much_more(bench):
    """The second way: the whole quote worked out again at today's prices."""
    quote = sent(bench)
    use_up(bench.tile)
    use_up(bench.box)
    use_up(bench.blue)

    anew = quoting.draft_quote(commission=quote.commission, by=None).frozen["totals"]["cost"]

    extra = sum(one.extra_cost for one in rises(bench.studio))
    assert D(anew) - D(quote.frozen["totals"]["cost"]) == pytest.approx(extra, abs=D("0.0001"))


def test_a_quote_in_another_currency_is_not_held_against_this_ones_prices(bench):
    """A tile that rose from 0.50 dollars to 1.00 has not doubled for a quote in euros."""
    quote = sent(bench)
    use_up(bench.tile)
    assert [one.quote for one in rises(bench.studio)] == [quote]

    change_settings(studio=bench.studio, currency="EUR")
    bench.studio.refresh_from_db()

    assert rises(bench.studio) == price_alerts(bench.studio) == []


def test_packaging_of_pieces_that_fail_is_not_paid(bench):
    """Two boxes at 2.40 in place of 1.20."""
    sent(bench)
    use_up(bench.box)

    assert [one.extra_cost for one in rises(bench.studio)] == [D("2.4")]


@pytest.mark.parametrize(("price", "found"), [("10.49", 0), ("10.50", 1)])
def test_a_rise_counts_from_five_per_cent(bench, price, found):
    sent(bench)
    use_up(bench.tile)
    Pack.objects.filter(material=bench.tile).update(price=D(price))  # for 20, which were 0.50 each

    assert D("0.05") == LEAST_RISE
    assert len(rises(bench.studio)) == found


def test_less_than_a_cent_is_not_worth_a_word(bench):
    sent(bench)
    use_up(bench.box)
    Quote.objects.update(frozen=_a_thousandth_of_the_boxes(Quote.objects.get().frozen))

    assert rises(bench.studio) == []


def _a_thousandth_of_the_boxes(frozen):
    for row in frozen["prices"]:
        row["quantity"] = str(D(row["quantity"]) / 1000)
    return frozen


def test_cheaper_is_no_alert(bench):
    sent(bench)
    use_up(bench.tile)
    Pack.objects.filter(material=bench.tile).update(price=D(4))

    assert rises(bench.studio) == []


def test_work_that_is_settled_or_begun_is_not_told(bench):
    agreed, declined = accepted(bench), sent(bench)
    quoting.decline_quote(quote=declined)
    for quote in Quote.objects.all():
        quote.frozen["prices"] = [row | {"unit_price": "0.01"} for row in quote.frozen["prices"]]
        quote.save()

    assert {one.quote.commission for one in rises(bench.studio)} == {agreed}

    type(agreed).objects.filter(pk=agreed.pk).update(status="ready")

    assert rises(bench.studio) == []


def test_another_studios_quotes_are_not_told(bench):
    other = working_studio()
    sent(other)
    use_up(other.tile)

    assert price_alerts(bench.studio) == []
    assert len(price_alerts(other.studio)) == 1


def test_what_is_dearer_comes_after_all_that_stops_work(bench):
    sent(bench)
    use_up(bench.tile)
    bench.white.reorder_point = D(5000)
    bench.white.save()

    kinds = [alert.kind for alert in alerts(bench.studio)]

    assert kinds == ["out", "low", "price_risen"]


@pytest.mark.parametrize("rows", (1, 3))
def test_rises_ask_as_often_for_one_quote_as_for_three(bench, django_assert_num_queries, rows):
    for _ in range(rows):
        sent(bench)
    use_up(bench.tile)

    with django_assert_num_queries(7):  # quotes, materials, bottles, what is bought at, promises
        assert len(rises(bench.studio)) == rows


def test_page_home_and_api_tell_it(bench):
    owner = member(bench.studio, "owner")
    quote = sent(bench)
    use_up(bench.tile)

    for name in ("alerts", "home"):
        page = words(owner.client.get(reverse(name)))
        assert "Quote 1 (Coasters)" in page and "Price risen" in page
        assert "It costs 100% more than was reckoned with. That takes $4.71" in page
    rows = owner.api.get(reverse("api-alerts-list")).data["results"]
    (row,) = [row for row in rows if row["kind"] == "price_risen"]
    assert (row["work"], row["rise"], row["extra_cost"]) == (
        f"{quote} (Coasters)",
        "1.0000",
        "4.706",
    )
    assert row["material"]["name"] == "tile"


def test_what_it_takes_from_a_profit_is_for_owners(bench):
    """As the cost sheet is: pages, API and mail leave it out for others."""
    sent(bench)
    use_up(bench.tile)
    maker = member(bench.studio, "maker")
    choose_alert_mail(membership=maker.membership, wanted=True)

    for name in ("alerts", "home"):
        assert "was reckoned with" not in words(maker.client.get(reverse(name)))
    rows = maker.api.get(reverse("api-alerts-list")).data["results"]
    assert {row["kind"] for row in rows} == {"out"}
    write_news(membership=maker.membership)
    write_news(membership=member(bench.studio, "owner").membership)

    to_owner, to_maker = Mail.objects.values_list("text", flat=True)
    assert "reckoned" not in to_maker and "tile is out" in to_maker
    assert "tile costs more than Quote 1 (Coasters) reckoned with" in to_owner
