"""Pouring bottles together and apart: nothing is made or lost, in amount, value or promise."""

from datetime import date, timedelta

import pytest
from django.urls import reverse

from inventory.buying import demand
from inventory.errors import BadAmount, DecantRefused, NotInBottle
from inventory.models import Bottle, Movement
from inventory.stock import books, holds
from inventory.stock import ledger as stock
from tests.factories.inventory import MaterialFactory, WorkFactory
from tests.inventory.pages import words
from tests.inventory.stock.shelves import D, receive, shelf, use

pytestmark = pytest.mark.django_db


@pytest.fixture
def white(studio):
    return MaterialFactory(studio=studio, name="White", tare_g=D(40), density_g_per_ml=D("1.25"))


@pytest.fixture
def pair(white):
    """500 mL bottles of White: one with 60 mL left at 0.02 each, one with 300 mL at 0.05."""
    old, new = receive(white, (500, 10), (500, 25))
    use(white, 440)
    stock.recount(studio=white.studio, by=None, bottle=new, quantity=D(300))
    return Bottle.objects.get(pk=old.pk), Bottle.objects.get(pk=new.pk)


def decant(bottle, into, quantity=None, **told):
    told["quantity"] = None if quantity is None else D(quantity)
    return stock.decant(studio=bottle.studio, by=None, bottle=bottle, into=into, **told)


def row(bottle):
    return Bottle.objects.select_related("material").get(pk=bottle.pk)


def test_a_bottle_poured_into_another_takes_its_value_along(pair, white):
    old, new = pair

    entry = decant(old, new)

    assert shelf(old) == (D(0), D(0))
    assert shelf(new) == (D(360), D("16.2"))  # 60 x 0.02 + 300 x 0.05
    assert shelf(white) == (D(360), D("16.2"))
    assert [(m.quantity, m.value) for m in entry.movements.all()] == [
        (D(-60), D("-1.2")),
        (D(60), D("1.2")),
    ]
    assert row(old).archived_at == entry.recorded_at
    assert entry.purpose == f"Poured from {old.code} into {new.code}"
    assert books.check(white.studio) == []


def test_a_third_of_a_bottle_takes_a_third_of_its_value(white):
    (bottle,) = receive(white, (3, 10))

    made = decant(bottle, stock.Vessel(), 1).movements.get(quantity__gt=0).bottle

    assert shelf(made) == (D(1), D("3.333333"))  # 10/3 to a millionth; the rest stays
    assert shelf(bottle) == (D(2), D("6.666667"))


def test_a_new_bottle_has_its_own_code_tare_capacity_and_place(white):
    Bottle.objects.filter(pk=receive(white, (500, 10), received_on=date(2026, 1, 9))[0].pk).update(
        place="shelf 2", density_g_per_ml=D("1.3"), expires_on=date(2027, 1, 9)
    )
    bottle = row(white.bottles.get())

    vessel = stock.Vessel(code="SQ-1", capacity=D(120), tare_g=D("18.5"))
    decant(bottle, vessel, 100)
    decant(bottle, stock.Vessel(place="tray"), 100)

    first, second = white.bottles.exclude(pk=bottle.pk).order_by("pk")
    assert (first.code, first.capacity, first.tare_g, first.place) == (
        "SQ-1",
        D(120),
        D("18.5"),
        "shelf 2",
    )
    assert (second.code, second.capacity, second.place) == ("B0002", D(100), "tray")
    # What is in it is as old as where it came from, and was bought once only.
    assert (first.received_on, first.expires_on) == (date(2026, 1, 9), date(2027, 1, 9))
    assert (first.density_g_per_ml, first.delivery, first.pack) == (D("1.3"), None, None)


def test_a_new_bottle_may_weigh_nothing_but_not_less(white):
    (bottle,) = receive(white, (500, 10))

    made = decant(bottle, stock.Vessel(tare_g=D(0)), 100).movements.get(quantity__gt=0).bottle

    assert made.tare_g == 0  # a scale that was set to zero with the bottle on it
    with pytest.raises(BadAmount, match="0 g or more"):
        decant(bottle, stock.Vessel(tare_g=D("-0.1")), 100)


def test_a_new_bottle_holds_something(white):
    (bottle,) = receive(white, (500, 10))

    with pytest.raises(BadAmount):
        decant(bottle, stock.Vessel(capacity=D(0)), 100, over_capacity=True)


@pytest.mark.parametrize(
    ("source_ends", "target_ends", "ends"),
    (
        (date(2027, 3, 1), date(2027, 6, 1), date(2027, 3, 1)),
        (date(2027, 6, 1), date(2027, 3, 1), date(2027, 3, 1)),
        (None, date(2027, 3, 1), date(2027, 3, 1)),
        (date(2027, 3, 1), None, date(2027, 3, 1)),
        (None, None, None),
    ),
)
def test_what_is_poured_together_keeps_until_the_sooner_day(pair, source_ends, target_ends, ends):
    old, new = pair
    Bottle.objects.filter(pk=old.pk).update(expires_on=source_ends)
    Bottle.objects.filter(pk=new.pk).update(expires_on=target_ends)

    decant(old, new)

    assert row(new).expires_on == ends
    assert row(new).opened_on == new.studio.today()


def test_the_life_of_a_bottle_opened_long_ago_goes_along(white):
    white.opened_life_days = 30
    white.save()
    today = white.studio.today()
    old, new = receive(white, (100, 1), (100, 1), received_on=today - timedelta(days=25))
    Bottle.objects.filter(pk=old.pk).update(opened_on=today - timedelta(days=20))

    decant(old, new, 50, over_capacity=True)

    assert row(new).expires_on == today + timedelta(days=10)
    assert row(old).opened_on == today - timedelta(days=20)


def test_a_bottle_filled_again_is_back_and_forgets_its_old_content(pair):
    old, new = pair
    Bottle.objects.filter(pk=old.pk).update(
        expires_on=date(2026, 1, 1), opened_on=date(2025, 1, 1), density_g_per_ml=D("1.1")
    )
    stock.recount(studio=old.studio, by=None, bottle=old, quantity=D(0))
    assert row(old).archived_at

    decant(new, old, 200)

    kept = row(old)
    assert (kept.archived_at, kept.expires_on, kept.density_g_per_ml) == (None, None, None)
    assert kept.opened_on == kept.studio.today()


def test_densities_mix_by_volume(pair):
    old, new = pair
    Bottle.objects.filter(pk=old.pk).update(density_g_per_ml=D("1.10"))

    decant(old, new)

    # 60 mL at 1.10 and 300 mL at the material's 1.25: 441 g in 360 mL
    assert row(new).density_g_per_ml == D("1.2250")


def test_densities_of_which_one_is_not_known_do_not_mix(pair):
    old, new = pair
    Bottle.objects.filter(pk=old.pk).update(density_g_per_ml=D("1.10"))
    type(old.material).objects.update(density_g_per_ml=None)

    decant(old, new)

    assert row(new).density is None


def test_a_density_that_was_measured_stays_when_what_comes_in_has_none(pair):
    old, new = pair
    Bottle.objects.filter(pk=new.pk).update(density_g_per_ml=D("1.10"))
    type(old.material).objects.update(density_g_per_ml=None)

    decant(old, new)

    assert row(new).density_g_per_ml == D("1.10")


def test_too_little_room_is_refused_unless_it_is_said_to_take_more(pair):
    old, new = pair
    Bottle.objects.filter(pk=new.pk).update(capacity=D(320))
    before = Movement.objects.count()

    with pytest.raises(DecantRefused, match="holds 320 mL when full and has room for 20 mL"):
        decant(old, new)
    Bottle.objects.filter(pk=new.pk).update(capacity=D(250))
    with pytest.raises(DecantRefused, match="has room for 0 mL"):
        decant(old, new)
    assert Movement.objects.count() == before

    decant(old, new, over_capacity=True)
    assert row(new).capacity == D(360)


def test_what_cannot_be_poured_is_refused(pair, studio):
    old, new = pair
    (blue,) = receive(MaterialFactory(studio=studio, name="Blue"), (10, 1))
    empty = row(decant(old, stock.Vessel()).movements.get(quantity__lt=0).bottle)
    before = Movement.objects.count()

    for refusal, bottle, into, quantity in (
        (DecantRefused, new, new, 1),
        (DecantRefused, new, blue, 1),
        (DecantRefused, empty, new, None),
        (NotInBottle, new, empty, 301),
        (BadAmount, new, empty, 0),
        (DecantRefused, new, stock.Vessel(capacity=D(5)), 10),
        (BadAmount, new, stock.Vessel(code=empty.code), 10),
        (BadAmount, new, stock.Vessel(code="no/slash"), 10),
        (BadAmount, new, stock.Vessel(tare_g=D(-1)), 10),
    ):
        with pytest.raises(refusal):
            decant(bottle, into, quantity)

    assert Movement.objects.count() == before
    assert Bottle.objects.count() == 4


def test_boxes_of_items_pour_together_and_are_not_opened(studio):
    tiles = MaterialFactory(studio=studio, unit="each", kind="surface")
    one, other = receive(tiles, (12, 6), (12, 6))
    decant(one, stock.Vessel(), 5)

    decant(other, one, over_capacity=True)

    assert (row(one).remaining, row(one).capacity, row(one).opened_on) == (D(19), D(19), None)


def test_pouring_over_is_no_use_and_touches_no_promise(pair, white):
    old, new = pair
    (hold,) = holds.hold(work=WorkFactory(studio=white.studio), label="Work", needs={white: D(360)})
    before = demand.demand(white.studio, white)

    decant(old, new)
    decant(new, stock.Vessel(), 100)

    hold.refresh_from_db()
    assert (hold.used, hold.released_at) == (D(0), None)
    assert demand.demand(white.studio, white) == before


def test_undone_it_is_as_before(pair, white):
    old, new = pair
    before = shelf(old), shelf(new)

    merged, split = decant(old, new), decant(new, stock.Vessel(), 100)
    made = split.movements.get(quantity__gt=0).bottle
    for entry in (split, merged):
        stock.reverse(studio=white.studio, by=None, entry=entry)

    assert (shelf(old), shelf(new)) == before
    assert row(old).archived_at is None
    assert row(made).archived_at is not None
    assert books.check(white.studio) == []


def test_on_the_page_a_bottle_is_poured_into_another(maker, pair):
    old, new = pair
    here = reverse("bottle-decant", args=[old.code])
    page = maker.client.get(here)

    answer = maker.client.post(here, {"into": new.pk, "quantity": "50 mL"}, follow=True)

    assert f"{new.code}, 300 mL of 500 mL" in words(page)
    assert answer.redirect_chain[0][0] == reverse("bottle", args=[new.code])
    assert f"50 mL of {old.code} is in {new.code} now, which holds 350 mL." in words(answer)
    assert row(old).remaining == D(10)


def test_on_the_page_a_refusal_loses_nothing_typed(maker, pair, other_owner):
    old, _ = pair
    (theirs,) = receive(MaterialFactory(studio=other_owner.studio), (10, 1))
    here = reverse("bottle-decant", args=[old.code])

    told = {"quantity": "50 mL", "capacity": "20 mL", "place": "tray 9"}
    small = maker.client.post(here, told)
    foreign = maker.client.post(here, {"into": theirs.pk})

    assert small.status_code == foreign.status_code == 422
    assert "has room for 20 mL" in words(small)
    assert 'value="tray 9"' in small.content.decode()
    assert row(old).remaining == D(60)


@pytest.mark.parametrize("others", (1, 3))
def test_the_page_asks_as_often_for_one_other_bottle_as_for_three(
    maker, white, django_assert_num_queries, others
):
    bottle, *_ = receive(white, *[(10, 1)] * (1 + others))
    here = reverse("bottle-decant", args=[bottle.code])

    # session, person, membership; the bottle; the empty ones, those to choose from
    with django_assert_num_queries(6):
        maker.client.get(here)


def test_the_api_pours_into_a_bottle_or_a_new_one(maker, viewer, other_owner, pair):
    old, new = pair
    here = f"/api/v1/bottles/{old.code.lower()}/decant/"

    split = maker.api.post(here, {"new": {"capacity": "30", "tare_g": "12 g"}, "quantity": 20})
    merged = maker.api.post(here, {"into": new.code.lower(), "why": "last of it"})
    wrong = [
        maker.api.post(here, sent)
        for sent in ({}, {"into": "B9999"}, {"into": new.code, "new": {}}, {"new": {"code": "a/b"}})
    ]

    made = new.studio.bottles.latest("pk")
    assert split.status_code == merged.status_code == 200
    assert (made.remaining, made.capacity, made.tare_g) == (D(20), D(30), D(12))
    assert [m["kind"] for m in merged.data["entry"]["movements"]] == ["decant", "decant"]
    assert merged.data["bottle"]["archived_at"]
    assert [answer.status_code for answer in wrong] == [400] * 4
    assert [set(answer.data.get("fields", ())) for answer in wrong[1:2]] == [{"into"}]
    assert viewer.api.post(here, {"into": new.code}).status_code == 403
    assert other_owner.api.post(here, {"into": new.code}).status_code == 404


@pytest.mark.parametrize(("left", "has_silicone"), [(60, True), (0, False)])
def test_a_bottle_keeps_its_silicone_until_it_is_empty(pair, left, has_silicone):
    old, new = pair
    Bottle.objects.filter(pk=old.pk).update(has_silicone=True)
    stock.recount(studio=old.studio, by=None, bottle=old, quantity=D(left))

    decant(new, old, 20)

    assert row(old).has_silicone is has_silicone
