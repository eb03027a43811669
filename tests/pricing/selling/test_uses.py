"""What a packed set is for is put right, and what was said of it before is kept."""

from decimal import Decimal as D

import pytest
from django.urls import reverse

from pricing.errors import ReasonNeeded, SetRefused
from pricing.models import GoneOn, UseChange
from pricing.selling.sales import unpack_set
from pricing.selling.uses import change_use
from tests.conftest import member
from tests.factories import going_on
from tests.factories.bench import working_studio
from tests.factories.pricing import ChannelFactory
from tests.pricing.bench.test_pours import log

pytestmark = pytest.mark.django_db
WHY = "It goes out with mats"
BARE = "Without resin the paint softens under a hot cup"


@pytest.fixture
def bench():
    return working_studio(time_zone="UTC")


@pytest.fixture
def packed(bench):
    """Four bare tiles that were packed as to look at."""
    pour = log(bench, count=4, good_count=4)
    sent = {"studio": bench.studio, "by": None, "name": "Four", "use": "look"}
    made = going_on.pack_set(pieces=pour.pieces.all(), **sent)
    GoneOn.objects.all().delete()  # of the cure
    return made


def test_a_use_that_fits_is_put_right_and_what_it_was_is_kept(bench, packed):
    going_on.change_use(piece_set=packed, by=None, use="hot")

    change_use(piece_set=packed, by=None, use="look", why="The wrong card")

    packed.refresh_from_db()
    assert packed.use == "look"
    assert [(one.was, one.use, one.why) for one in UseChange.objects.all()] == [
        ("hot", "look", "The wrong card"),
        ("look", "hot", ""),
    ]


def test_a_use_that_does_not_fit_asks_and_changes_nothing(packed):
    with pytest.raises(ReasonNeeded, match=BARE) as refused:
        change_use(piece_set=packed, by=None, use="hot")

    packed.refresh_from_db()
    assert (packed.use, UseChange.objects.count()) == ("look", 0)
    assert str(refused.value).endswith("Choose another use, or write down why it goes on.")

    change_use(piece_set=packed, by=None, use="hot", reason=WHY)
    row = GoneOn.objects.get()
    assert (row.act, row.piece_set, row.reason) == ("use", packed, WHY)


def test_the_same_use_again_is_no_change(packed):
    change_use(piece_set=packed, by=None, use="look")

    assert not UseChange.objects.exists()


def test_what_is_sold_or_taken_apart_stays_as_it_was_said(bench, packed):
    sold = {"channel": bench.own_sale, "sold_on": bench.studio.today()}
    going_on.sell(studio=bench.studio, by=None, items=[(packed, D(20))], **sold)
    with pytest.raises(SetRefused, match="is sold, and its card went with it"):
        change_use(piece_set=packed, by=None, use="food", reason=WHY)

    pour = log(bench, count=1, good_count=1)
    other = {"studio": bench.studio, "by": None, "name": "One", "pieces": pour.pieces.all()}
    apart = unpack_set(piece_set=going_on.pack_set(**other), by=None)
    with pytest.raises(SetRefused, match="is not packed any more"):
        change_use(piece_set=apart, by=None, use="food", reason=WHY)


def test_a_set_at_a_shop_is_put_right_too(bench, packed):
    shop = ChannelFactory(studio=bench.studio, is_consignment=True)
    sent = {"channel": shop, "sent_on": bench.studio.today(), "items": [(packed, D(20))]}
    going_on.send_out(studio=bench.studio, by=None, **sent)

    assert going_on.change_use(piece_set=packed, by=None, use="food").use == "food"


def test_the_page_asks_keeps_and_shows_it(bench, packed):
    maker = member(bench.studio, "maker").client
    address, page = (reverse(name, args=[packed.number]) for name in ("set-use", "set"))

    shown = maker.get(page).content.decode()
    refused = maker.post(address, {"use": "hot", "why": "Wrong box"})
    done = maker.post(address, {"use": "hot", "why": "Wrong box", "reason": WHY})
    after = maker.get(page).content.decode()

    assert address in shown
    form = refused.context["form"]
    assert (refused.status_code, form["why"].value()) == (422, "Wrong box")
    assert BARE in form.errors["reason"][0]
    assert done.url == page
    for words in (
        "For hot drinks.",
        "Before this was changed: to look at.",
        "Wrong box",
        "Use changed all the same.",
        WHY,
    ):
        assert words in after


def test_the_api_asks_keeps_and_tells_it(bench, packed):
    maker = member(bench.studio, "maker").api
    address = f"/api/v1/sets/{packed.number}/use/"

    refused = maker.post(address, {"use": "hot"}, format="json")
    done = maker.post(address, {"use": "hot", "reason": WHY}, format="json")

    assert (refused.status_code, refused.data["code"]) == (409, "reason_needed")
    assert (done.status_code, done.data["use"]) == (200, "hot")
    told = done.data["use_changes"]
    assert [(one["was"], one["use"]) for one in told] == [("look", "hot")]


@pytest.mark.parametrize("role", ["viewer", "elsewhere"])
def test_nobody_else_changes_it(bench, packed, role, other_owner):
    who = other_owner if role == "elsewhere" else member(bench.studio, role)

    page = who.client.post(reverse("set-use", args=[packed.number]), {"use": ""})
    by_api = who.api.post(f"/api/v1/sets/{packed.number}/use/", {"use": ""}, format="json")

    expected = 404 if role == "elsewhere" else 403
    assert (page.status_code, by_api.status_code) == (expected, expected)
    packed.refresh_from_db()
    assert packed.use == "look"


@pytest.mark.parametrize("count", [1, 3])
def test_the_page_of_a_set_asks_as_often_for_one_change_as_for_three(
    bench, packed, count, django_assert_num_queries
):
    for use in ("food", "", "food")[:count]:
        going_on.change_use(piece_set=packed, by=None, use=use)
    GoneOn.objects.all().delete()
    viewer = member(bench.studio, "viewer").client

    with django_assert_num_queries(21):
        page = viewer.get(reverse("set", args=[packed.number]))

    assert page.content.decode().count("Before this was changed") == count
