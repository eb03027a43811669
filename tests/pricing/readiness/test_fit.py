"""What is not fit for what it is for is packed, sold and sent to a shop for a written reason only.

A hot cup may have 90 °C, as far as a coaster maker's own resin goes; clear table epoxy gives way at
38 to 54 °C (facts of the trade, heat).
"""

from decimal import Decimal as D

import pytest
from django.urls import reverse

from pricing.errors import ReasonNeeded
from pricing.models import Consignment, GoneOn, PieceSet, Sale
from pricing.selling.consigning import send_out
from pricing.selling.sales import sell
from tests.conftest import member
from tests.factories.bench import working_studio
from tests.factories.pricing import ChannelFactory
from tests.pricing.bench.test_pours import log
from tests.pricing.readiness.test_gate import POURED, THIN, WHY, coat, pack

pytestmark = pytest.mark.django_db
LATER = 60  # days: paint and resin are cured


@pytest.fixture
def bench():
    return working_studio(time_zone="UTC")


def made(bench, limit=None, coated=True, **more):
    """Pour four long ago, under a resin of such a limit unless they stay bare."""
    told = {"poured_at": POURED, "layers": THIN, "count": 4, "good_count": 4, **more}
    pour = log(bench, **told)
    if coated:
        bench.kit.heat_limit_c = limit
        bench.kit.save()
        coat(bench, pour, 10)
    return pour


@pytest.mark.parametrize(
    ("limit", "coated", "use", "said"),
    [
        (None, False, "", "Without resin the paint softens under a hot cup"),
        (None, False, "hot", "Without resin the paint softens under a hot cup"),
        (None, False, "food", "Without resin the paint cannot be wiped clean"),
        (None, True, "", "The heat limit of the resin is not known"),
        (
            D(50),
            True,
            "hot",
            "a heat limit of 50 °C",
        ),
        (D("89.9"), True, "", "a heat limit of 89.9 °C"),
    ],
)
def test_what_is_not_fit_is_packed_for_a_reason_only(bench, limit, coated, use, said):
    pour = made(bench, limit, coated)

    with pytest.raises(ReasonNeeded, match=said):
        pack(bench, pour, LATER, use=use)
    assert not PieceSet.objects.exists()

    one = pack(bench, pour, LATER, use=use, reason=WHY)

    row = GoneOn.objects.get()
    assert (row.act, row.piece_set, row.reason) == ("pack", one, WHY)
    assert said in row.said


@pytest.mark.parametrize(
    ("limit", "coated", "use"),
    [(None, False, "look"), (None, True, "look"), (None, True, "food"), (D(90), True, "hot")],
)
def test_what_is_fit_is_packed_without_a_word(bench, limit, coated, use):
    pack(bench, made(bench, limit, coated), LATER, use=use)

    assert not GoneOn.objects.exists()


def test_a_larger_piece_of_which_nothing_is_said_counts_as_having_food_nearby(bench):
    pour = made(bench, coated=False, surface=bench.canvas_size, count=1, good_count=1)

    with pytest.raises(ReasonNeeded, match="cannot be wiped clean"):
        pack(bench, pour, LATER, use="", pieces=pour.pieces.all()[:1])


def test_selling_and_shops_ask_anew(bench):
    pour = made(bench, D(50))
    sets = [
        pack(bench, pour, LATER, pieces=[one], use="hot", reason=WHY)
        for one in pour.pieces.all()[:2]
    ]
    shop = ChannelFactory(studio=bench.studio, is_consignment=True)
    today = bench.studio.today()
    sale = {"studio": bench.studio, "by": None, "channel": bench.own_sale, "sold_on": today}
    out = {"studio": bench.studio, "by": None, "channel": shop, "sent_on": today}

    for act, told, one in ((sell, sale, sets[0]), (send_out, out, sets[1])):
        with pytest.raises(ReasonNeeded, match="a hot cup may have 90 °C"):
            act(items=[(one, D(20))], **told)
        assert act(items=[(one, D(20))], reason=WHY, **told).pk

    assert (Sale.objects.count(), Consignment.objects.count()) == (1, 1)
    assert {one.act for one in GoneOn.objects.all()} == {"pack", "sell", "consign"}


def test_the_page_keeps_what_was_typed_and_the_api_says_what_it_needs(bench):
    first, second = made(bench, coated=False), made(bench, coated=False)
    maker = member(bench.studio, "maker")
    sent = {"name": "Two", "minutes": "7", "use": "hot", "made_on": "2026-06-01"}
    page = {**sent, "pieces": [one.pk for one in first.pieces.all()[:2]]}
    body = {**sent, "pieces": [one.pk for one in second.pieces.all()[:2]]}

    refused = maker.client.post(reverse("set-new"), page)
    by_api = maker.api.post("/api/v1/sets/", body, format="json")

    form = refused.context["form"]
    assert (refused.status_code, form["name"].value(), form["use"].value()) == (422, "Two", "hot")
    assert "Without resin" in form.errors["reason"][0]
    assert (by_api.status_code, by_api.data["code"]) == (409, "reason_needed")
    assert "Without resin" in by_api.data["fields"]["reason"][0]
    assert maker.client.post(reverse("set-new"), {**page, "reason": WHY}).status_code == 302
    again = maker.api.post("/api/v1/sets/", {**body, "reason": WHY}, format="json")
    assert (again.status_code, again.data["use"]) == (201, "hot")
    shown = maker.client.get(reverse("set", args=[again.data["number"]])).content.decode()
    assert "Packed all the same." in shown and WHY in shown
    stranger = member(working_studio().studio, "owner")
    assert stranger.client.get(reverse("set", args=[again.data["number"]])).status_code == 404


def test_what_is_planned_is_warned_of_where_it_is_planned(bench):
    product = bench.studio.products.create(
        name="Coaster",
        surface=bench.tile_size,
        technique=bench.bloom,
        palette=bench.palette,
        price=D(9),
    )
    owner = member(bench.studio, "owner").client
    pages = [reverse("products"), reverse("product-edit", args=[product.pk])]
    pages += [f"{reverse('price-list')}?technique=bloom&palette={bench.palette.pk}"]

    told = ["Without resin the paint softens" in owner.get(one).content.decode() for one in pages]
    product.use = "look"
    product.save()
    after = ["Without resin the paint softens" in owner.get(one).content.decode() for one in pages]

    assert (told, after) == ([True, True, True], [False, False, True])
