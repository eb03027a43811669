"""Acts before their time ask for a reason, keep it, and leave nothing where none is given."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal as D

import pytest
from django.urls import reverse
from django.utils import timezone

from pricing.bench.pour_materials import LayerLog
from pricing.bench.topcoats import log_topcoat
from pricing.commissions.orders import move_on
from pricing.errors import ReasonNeeded
from pricing.models import Consignment, GoneOn, PieceSet, Sale, Topcoating
from pricing.selling.consigning import report_sold, send_out
from pricing.selling.sales import pack_set, sell
from tests.conftest import member
from tests.factories import going_on
from tests.factories.bench import working_studio
from tests.factories.pricing import ChannelFactory
from tests.pricing.bench.test_pours import log
from tests.pricing.commissions.test_commissions import accepted

pytestmark = pytest.mark.django_db

# Up to 1.5 mm of wet film: 7 days to resin, 28 to cured (trade.md 4.1, the cautious reading).
POURED = datetime(2026, 4, 1, 12, tzinfo=UTC)
THIN = {"base": LayerLog(D(20))}
WHY = "For our own shelf"


@pytest.fixture
def bench():
    return working_studio(time_zone="UTC")


def poured(bench, **more):
    return log(bench, **{"poured_at": POURED, "layers": THIN, "count": 4, "good_count": 4, **more})


def coat(bench, pour, days, **more):
    at = POURED + timedelta(days=days)
    return log_topcoat(pour=pour, by=None, kit=bench.kit, mixed_ml=D(40), coated_at=at, **more)


def pack(bench, pour, days, **more):
    told = {"name": "Four", "pieces": pour.pieces.all(), "use": "look", **more}
    on = POURED.date() + timedelta(days=days)
    return pack_set(studio=bench.studio, by=None, made_on=on, **told)


def test_resin_on_day_0_asks_and_leaves_nothing(bench):
    pour = poured(bench)

    with pytest.raises(ReasonNeeded, match="dry enough for resin from 8 April 2026") as refused:
        coat(bench, pour, 0)

    assert refused.value.code == "reason_needed"
    assert "Wait, or write down why it goes on." in str(refused.value)
    bench.resin.refresh_from_db()
    assert (Topcoating.objects.count(), bench.resin.on_hand) == (0, D(500))


@pytest.mark.parametrize(("days", "is_asked"), [(6, True), (7, False)])
def test_resin_asks_until_the_day_on_which_the_paint_is_dry(bench, days, is_asked):
    coat(bench, poured(bench), days, reason=WHY)

    assert GoneOn.objects.exists() == is_asked


def test_a_reason_is_kept_with_what_was_said_and_shown(bench):
    maker = member(bench.studio, "maker")
    pour = poured(bench)

    made = coat(bench, pour, 1, reason=f"  {WHY} ")

    row = GoneOn.objects.get()
    assert (row.act, row.reason, row.topcoating) == ("coat", WHY, made)
    assert row.sentences == [
        "Pour 1 is dry enough for resin from 8 April 2026 on: a wet film of 0.2 mm is best left "
        "7 days, or moisture stays under the resin. How much ran off is our guess. The room was "
        "not noted; this is for 18 to 24 °C (64 to 75 °F). A better test: weigh a piece and write "
        "it down on its pour; the same after 48 hours, within 1 % of its paint, is dry."
    ]
    page = maker.client.get(reverse("pour", args=[pour.number])).content.decode()
    assert "Coated all the same." in page
    assert f"Reason: {WHY}" in page
    told = maker.api.get("/api/v1/gone-on/", {"topcoating": made.pk}).data["results"]
    assert [(one["said"], one["reason"]) for one in told] == [(row.sentences, WHY)]


def test_blank_is_no_reason(bench):
    with pytest.raises(ReasonNeeded):
        coat(bench, poured(bench), 1, reason="  \n")


@pytest.mark.parametrize(("days", "is_asked"), [(27, True), (28, False)])
def test_bare_pieces_are_packed_once_their_paint_is_cured(bench, days, is_asked):
    pack(bench, poured(bench), days, reason=WHY)

    assert GoneOn.objects.exists() == is_asked


@pytest.mark.parametrize(("days", "is_asked"), [(9, True), (10, False)])
def test_coated_pieces_are_packed_once_the_resin_is_cured(bench, days, is_asked):
    """Resin on day 7 that its maker says cures in 72 hours."""
    bench.kit.cure_hours = D(72)
    bench.kit.save()
    pour = poured(bench)
    coat(bench, pour, 7)

    pack(bench, pour, days, reason=WHY)

    assert GoneOn.objects.exists() == is_asked


def test_a_cure_that_nobody_read_off_is_asked_about_however_late(bench):
    bench.kit.cure_hours = None
    bench.kit.save()
    pour = poured(bench)
    coat(bench, pour, 7)

    with pytest.raises(ReasonNeeded, match=f"how long {bench.kit} cures is not written down"):
        pack(bench, pour, 200)


def test_pieces_of_two_pours_are_told_of_pour_by_pour(bench):
    pours = [poured(bench) for _ in range(2)]

    with pytest.raises(ReasonNeeded) as refused:
        pack(bench, pours[0], 3, pieces=[one.pieces.first() for one in pours])

    assert len(refused.value.fields["reason"]) == 2


def test_selling_and_shops_ask_and_keep_it_on_the_set_too(bench):
    pieces = poured(bench, poured_at=timezone.now()).pieces.all()
    sets = [
        going_on.pack_set(studio=bench.studio, by=None, name="One", pieces=[piece])
        for piece in pieces[:2]
    ]
    shop = ChannelFactory(studio=bench.studio, is_consignment=True)
    today = bench.studio.today()
    sale = {"studio": bench.studio, "by": None, "channel": bench.own_sale, "sold_on": today}
    out = {"studio": bench.studio, "by": None, "channel": shop, "sent_on": today}

    for act, told, one in ((sell, sale, sets[0]), (send_out, out, sets[1])):
        with pytest.raises(ReasonNeeded):
            act(items=[(one, D(20))], **told)
        act(items=[(one, D(20))], reason=WHY, **told)

    assert (Sale.objects.count(), Consignment.objects.count()) == (1, 1)
    assert {one.act for one in GoneOn.objects.all()} == {"pack", "sell", "consign"}
    viewer = member(bench.studio, "viewer").client
    for one, words in zip(sets, ("Sold", "Sent to a shop"), strict=True):
        page = viewer.get(reverse("set", args=[one.number])).content.decode()
        assert f"{words} all the same." in page


def test_what_a_shop_that_has_it_reports_sold_is_not_asked_about_again(bench):
    pour = poured(bench, poured_at=timezone.now())
    one = going_on.pack_set(studio=bench.studio, by=None, name="One", pieces=pour.pieces.all())
    shop = ChannelFactory(studio=bench.studio, is_consignment=True)
    today = bench.studio.today()
    note = going_on.send_out(
        studio=bench.studio, by=None, channel=shop, items=[(one, D(20))], sent_on=today
    )

    report_sold(consignment=note, by=None, items=[(one, D(20))], sold_on=today)

    assert {one.act for one in GoneOn.objects.all()} == {"pack", "consign"}


def test_delivered_by_hand_asks_for_what_was_made_and_is_not_sold(bench):
    commission = accepted(bench)
    line = commission.lines.get()
    poured(bench, line=line, poured_at=timezone.now())
    for status in ("in_work", "ready"):
        commission.refresh_from_db()
        if commission.status != status:
            move_on(commission=commission, status=status, by=None)

    with pytest.raises(ReasonNeeded, match="is cured from"):
        move_on(commission=commission, status="delivered", by=None)
    commission.refresh_from_db()
    assert commission.status == "ready"

    maker = member(bench.studio, "maker").client
    step = reverse("commission-step", args=[commission.number])
    first = maker.post(step, {"status": "delivered", "note": "By van", "reason": ""})
    assert (first.status_code, "By van" in first.content.decode()) == (422, True)
    assert maker.post(step, {"status": "delivered", "reason": WHY}).status_code == 302
    page = maker.get(reverse("commission", args=[commission.number])).content.decode()
    assert "Handed over all the same." in page


def test_the_form_asks_beside_the_field_and_keeps_what_was_typed(bench):
    maker = member(bench.studio, "maker").client
    pour = poured(bench, poured_at=timezone.now())
    address = reverse("set-new")
    shown = maker.get(address).content.decode()
    sent = {"pieces": [one.pk for one in pour.pieces.all()[:2]], "name": "Two", "minutes": "7"}

    first = maker.post(address, sent)

    assert 'type="hidden" name="reason"' in shown
    assert first.status_code == 422
    form = first.context["form"]
    assert form["name"].value() == "Two"
    assert not form["reason"].is_hidden
    assert form.errors.keys() == {"reason"}
    assert "is cured from" in form.errors["reason"][0]
    again = maker.post(address, {**sent, "name": "", "reason": WHY})  # another fault by the way
    assert (again.status_code, again.context["form"]["reason"].value()) == (422, WHY)
    assert not again.context["form"]["reason"].is_hidden
    assert maker.post(address, {**sent, "reason": WHY}).status_code == 302
    assert GoneOn.objects.get().piece_set == PieceSet.objects.get()


def test_the_api_refuses_with_the_code_and_the_sentences(bench):
    maker = member(bench.studio, "maker")
    pour = poured(bench, poured_at=timezone.now())
    address = f"/api/v1/pours/{pour.number}/topcoats/"
    body = {"kit": bench.kit.pk, "mixed_ml": "40"}

    refused = maker.api.post(address, body, format="json")
    made = maker.api.post(address, {**body, "reason": WHY}, format="json")

    assert (refused.status_code, refused.data["code"]) == (409, "reason_needed")
    assert "dry enough for resin from" in refused.data["fields"]["reason"][0]
    assert made.status_code == 201
    rows = maker.api.get("/api/v1/gone-on/", {"act": "coat"}).data["results"]
    assert [(one["topcoating"], one["reason"]) for one in rows] == [(made.data["id"], WHY)]
    stranger = member(working_studio().studio, "owner").api
    assert stranger.get("/api/v1/gone-on/").data["count"] == 0


def test_other_refusals_come_before_the_question(bench):
    """Nobody writes a reason for what cannot be done anyway."""
    pour = poured(bench)
    pour.pieces.update(state="failed", verdict="failed")

    maker = member(bench.studio, "maker").api
    body = {"kit": bench.kit.pk, "mixed_ml": "40"}
    answer = maker.post(f"/api/v1/pours/{pour.number}/topcoats/", body, format="json")

    assert (answer.status_code, answer.data["code"]) == (409, "pour_refused")
