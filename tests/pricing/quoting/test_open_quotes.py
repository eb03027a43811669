"""What open quotes may take: the chance from the record, and what it does to buying."""

from datetime import timedelta
from decimal import Decimal as D

import pytest
from django.urls import reverse

from inventory.buying.demand import level_of, levels
from inventory.buying.possible import possible_uses
from inventory.buying.purchasing.needs import needs
from inventory.buying.reasons import quoted_words, reorder_reasons
from inventory.models import Pack, with_promises
from pricing.models import Quote
from pricing.quoting import quotes as quoting
from pricing.quoting.acceptance import Acceptance, acceptance
from tests.conftest import member
from tests.factories import going_on
from tests.factories.bench import working_studio
from tests.factories.pricing import CommissionFactory, QuoteFactory
from tests.inventory.pages import words
from tests.inventory.stock.shelves import use
from tests.pricing.commissions.test_commissions import accepted, add_tiles, opened

pytestmark = pytest.mark.django_db


@pytest.fixture
def bench():
    return working_studio()


def sent(bench, days=None, **more):
    """Send a quote for eight tiles, wanted in so many days."""
    commission = opened(bench)
    commission.due_on = bench.studio.today() + timedelta(days=days) if days else None
    commission.save()
    add_tiles(bench, commission, **more)
    return going_on.send_quote(quote=quoting.draft_quote(commission=commission, by=None), by=None)


def level(bench, name):
    rows = with_promises(bench.studio.materials)
    return level_of(bench.studio, rows.get(pk=getattr(bench, name).pk))


def quote(studio, status, number, days=5, **options):
    until = studio.today() + timedelta(days=days)
    return QuoteFactory(studio=studio, status=status, number=number, valid_until=until, **options)


def test_the_record_counts_each_commission_once(studio):
    quote(studio, "accepted", 1)
    quote(studio, "declined", 2)
    quote(studio, "expired", 3)
    quote(studio, "sent", 4, days=-1)  # ran out, though nobody has marked it yet
    quote(studio, "sent", 5)  # open: not settled
    QuoteFactory(studio=studio)  # a draft
    twice = CommissionFactory(studio=studio)
    quote(studio, "superseded", 6, commission=twice)
    quote(studio, "accepted", 6, commission=twice, version=2)
    again = CommissionFactory(studio=studio)  # ran out and was quoted anew: open
    quote(studio, "expired", 7, commission=again)
    quote(studio, "sent", 7, commission=again, version=2)
    quote(working_studio().studio, "declined", 1)

    assert acceptance(studio) == Acceptance(accepted=2, settled=5)
    assert acceptance(studio).rate == 2.5 / 6


def test_the_chance_is_said_with_what_it_rests_on(studio):
    assert acceptance(studio).sentence == (
        "No quote has been answered yet, so each open one counts as an even chance."
    )
    assert Acceptance(1, 4).sentence == (
        "Of the quotes settled so far, 1 of 4 was accepted. With half a quote added on either "
        "side, since a short record proves little, each open one counts with 30%."
    )


def test_an_open_quote_takes_what_it_was_frozen_with(bench):
    made = sent(bench)
    by_hand = {}
    for stage in made.frozen["lines"][0]["needs"].values():
        for key, amount in stage:
            by_hand[key] = by_hand.get(key, 0) + D(amount)

    found = possible_uses(bench.studio)

    for name in ("white", "blue", "tile"):
        (one,) = found[getattr(bench, name).pk]
        assert (one.quantity, one.chance) == (by_hand[getattr(bench, name).pk], 0.5)
        assert one.label == f"Quote {made.number} (Coasters)"
    assert found[bench.tile.pk][0].quantity == 8


def test_answered_and_run_out_quotes_take_nothing(bench):
    made = sent(bench)
    Quote.objects.filter(pk=made.pk).update(valid_until=bench.studio.today() - timedelta(days=1))
    quoting.decline_quote(quote=sent(bench))
    accepted(bench)

    assert not possible_uses(bench.studio)


def test_what_is_due_before_a_delivery_raises_the_reorder_point(bench):
    """Tiles: a box of 20, so 5 without history; 8 at one half in 5 days is 4 more. Work in 20 days
    and work without a date can wait for a delivery, and raise what an order fills up to."""
    assert level(bench, "tile").reorder_at == 5

    sent(bench, days=5)
    assert level(bench, "tile").reorder_at == 9
    sent(bench, days=20)
    sent(bench)
    sent(bench, days=300)  # after the next order

    found = level(bench, "tile")
    assert (found.reorder_at, found.point.quoted, found.quoted_later) == (9, 4, 8)
    assert found.quoted == pytest.approx((12, (3 * 0.25 * 64) ** 0.5))
    assert reorder_reasons(found, bench.studio) == [
        "Fewer than 3 days of use are on record, too few to learn from, so a share of 25% of a "
        "usual pack, 20, is kept.",
        "Open quotes due by then are expected to take 4, each by its chance.",
        "An order fills the shelf up to 17: the reorder point (9), the usual use of 30 days (0) "
        "and what open quotes are expected to take in that time (8).",
    ]
    assert quoted_words(found).startswith("All or nothing of each: 12 on average, give or take 6.9")


def test_a_quote_alone_is_no_need_and_is_counted_once_an_order_is_due(bench):
    sent(bench, days=5)
    sent(bench)
    assert needs(bench.studio, {}) == []

    use(bench.tile, 12)  # 8 are left, and 9 is the point

    found = needs(bench.studio, {})  # to the reorder point first, and then the rest
    assert {need.material for need in found} == {bench.tile.pk}
    # Up to 9, 4 for the second quote and 30 days at the mean use so far; 8 are there.
    used = level(bench, "tile").point.mean_per_day * 30
    assert sum(need.quantity for need in found) == -(-(13 + used - 8) // 1)
    assert {need.needed_by for need in found} == {None}
    assert {need.reason for need in found} == {
        "the shelf, to last 30 days after it arrives, counting 8 for open quotes by their chance"
    }


def test_a_point_by_hand_stays_as_it_was_set(bench):
    bench.tile.reorder_point = D(3)
    bench.tile.save()
    sent(bench, days=5)

    found = level(bench, "tile")

    assert (found.reorder_at, found.point.quoted, found.quoted_later) == (3, 0, 4)
    assert reorder_reasons(found, bench.studio)[0] == "Set by hand at 3."


def test_a_stranger_material_is_nobodys_use(bench):
    other = working_studio()
    sent(other)

    assert not possible_uses(bench.studio)
    assert all(not one.possible for one in levels(bench.studio))


@pytest.mark.parametrize("rows", (1, 3))
def test_levels_ask_as_often_for_one_quote_as_for_three(bench, django_assert_num_queries, rows):
    for _ in range(rows):
        sent(bench)

    # materials, packs, history, uses, open quotes, the record
    with django_assert_num_queries(6):
        found = levels(bench.studio)

    assert max(len(one.possible) for one in found) == rows


def test_the_page_shows_use_quotes_and_how_the_point_came_about(bench):
    owner = member(bench.studio, "owner")
    moment = bench.white.movements.get().entry.happened_at
    for days_ago, amount in ((0, 100), (1, 150), (2, 20)):
        use(bench.white, amount, happened_at=moment - timedelta(days=days_ago))
    bench.white.bottles.update(received_on=bench.studio.today() - timedelta(days=29))
    sent(bench)

    page = words(owner.client.get(reverse("material", args=[bench.white.pk])))

    assert "In a day 9 mL on average, give or take" in page
    assert "on 3 days of the last 30, so every 10 days" in page
    assert "Kind of demand Now and then, in like amounts" in page
    assert "Quote 1 (Coasters)" in page and "chance 50%" in page
    assert "No quote has been answered yet, so each open one counts as an even chance." in page
    assert "came about" in page
    assert f"usual use of 30 days ({'270 mL'})" in page


def test_the_api_gives_the_same_numbers(bench):
    viewer, stranger = member(bench.studio, "viewer"), member(working_studio().studio, "owner")
    made = sent(bench, days=5)
    address = reverse("api-materials-demand", args=[bench.tile.pk])

    data = viewer.api.get(address).data

    assert (data["basis"], data["demand_class"]) == ("no_history", "unknown")
    assert (data["reorder_point"], data["order_up_to"]) == ("9.0000", "9.0000")
    assert (data["quoted"], data["quoted_sd"]) == ("4.0000", "4.0000")
    assert data["days_between_uses"] is None
    (one,) = data["open_quotes"]
    assert (one["label"], one["quantity"]) == (f"Quote {made.number} (Coasters)", "8.0000")
    assert stranger.api.get(address).status_code == 404


def test_a_material_that_is_not_counted_has_no_reorder_point(bench):
    viewer = member(bench.studio, "viewer")

    assert viewer.api.get(reverse("api-materials-demand", args=[bench.water.pk])).status_code == 404
    assert "How it is used" not in words(
        viewer.client.get(reverse("material", args=[bench.water.pk]))
    )


def test_without_a_pack_and_history_nothing_is_kept(bench):
    Pack.objects.filter(material=bench.box).delete()

    found = level(bench, "box")

    assert found.reorder_at == 0
    assert "nothing is kept until a pack is on offer" in reorder_reasons(found, bench.studio)[0]


def test_all_that_may_go_adds_up_with_its_spread(bench):
    """White: 270 in 30 days, so 9 a day, and uses of 100, 150 and 20: their squares add up to
    32,900, so a day's variance is 32,900 / 30 - 81. Over ten days that tenfold, and the quote's
    quarter of its square; what is held is certain."""
    moment = bench.white.movements.get().entry.happened_at
    for days_ago, quantity in ((0, 100), (1, 150), (2, 20)):
        use(bench.white, quantity, happened_at=moment - timedelta(days=days_ago))
    bench.white.bottles.update(received_on=bench.studio.today() - timedelta(days=29))
    sent(bench)
    found = level(bench, "white")
    found.material.held = D(40)
    quoted = float(found.possible[0].quantity)

    mean, sd = found.outlook(10)

    assert mean == pytest.approx(90 + 40 + quoted / 2)
    assert sd**2 == pytest.approx(10 * (32900 / 30 - 81) + quoted**2 / 4)
