"""What is not fit for what it is for is planned, offered and quoted for a written reason only.

A hot cup may have 90 °C; paint without resin softens under it (facts of the trade, heat).
"""

from decimal import Decimal as D
from functools import partial

import pytest
from django.urls import reverse

from pricing.commissions.orders import add_line, change_line, move_on
from pricing.costing.products import save_product
from pricing.errors import ReasonNeeded
from pricing.models import CommissionLine, GoneOn, Product, Quote
from pricing.quoting.quotes import draft_quote, send_quote
from pricing.readiness.asking import Concern, offered, what_helps
from pricing.selling.consigning import send_out
from pricing.selling.sales import pack_set, sell
from tests.conftest import member
from tests.factories.bench import working_studio
from tests.factories.going_on import REASON
from tests.factories.pricing import ChannelFactory, GoneOnFactory
from tests.pricing.bench.test_pours import log
from tests.pricing.commissions.test_commissions import accepted, opened
from tests.pricing.readiness.test_gate import POURED, THIN

pytestmark = pytest.mark.django_db
WHY = "It hangs on a wall; mats go with it"
BARE = "Without resin the paint softens under a hot cup"
CHANGE = "Choose another use, topcoat or kit, or write down why it goes on."


@pytest.fixture
def bench():
    return working_studio(time_zone="UTC")


@pytest.fixture
def maker(bench):
    return member(bench.studio, "maker")


def wanted(bench, **changes):
    made_of = {"surface": bench.tile_size, "technique": bench.bloom, "palette": bench.palette}
    return {**made_of, "use": "hot", **changes}


def planned(bench, **changes):
    return add_line(commission=opened(bench), by=None, reason=WHY, **wanted(bench, **changes))


def typed(bench, **changes):
    rows = {"surface": bench.tile_size, "technique": bench.bloom, "palette": bench.palette}
    keys = {name: row.pk for name, row in rows.items()}
    return {**keys, "quantity": "3", "pieces_each": "2", "use": "hot", **changes}


def test_a_line_that_is_not_fit_asks_and_leaves_nothing(bench):
    commission = opened(bench)

    with pytest.raises(ReasonNeeded, match=BARE) as refused:
        add_line(commission=commission, by=None, **wanted(bench))
    assert not CommissionLine.objects.exists()
    assert CHANGE in str(refused.value)
    assert "Wait" not in str(refused.value)

    line = add_line(commission=commission, by=None, reason=WHY, **wanted(bench))
    row = GoneOn.objects.get()
    assert (row.act, row.line, row.reason) == ("plan", line, WHY)
    assert row.said.startswith("“Tile 10 × 10 cm, bloom, Tide”: Without resin")


@pytest.mark.parametrize(("limit", "use"), [(90, "hot"), (50, "food"), (None, "look")])
def test_a_line_that_is_fit_asks_nothing(bench, limit, use):
    bench.kit.heat_limit_c = limit and D(limit)
    bench.kit.save()

    add_line(commission=opened(bench), by=None, **wanted(bench, use=use, topcoat=bench.kit))

    assert not GoneOn.objects.exists()


def test_a_change_of_something_else_does_not_ask_again(bench):
    line = planned(bench)

    change_line(line=line, by=None, quantity=3)

    line.refresh_from_db()
    assert (line.quantity, GoneOn.objects.count()) == (3, 1)


@pytest.mark.parametrize(
    ("changes", "said"),
    [({"use": ""}, BARE), ({"topcoat": "kit"}, "50 °C"), ({"use": "food"}, "wiped clean")],
)
def test_a_change_of_what_it_is_for_asks_and_changes_nothing(bench, changes, said):
    line = planned(bench)
    changes = {name: getattr(bench, one, one) for name, one in changes.items()}

    with pytest.raises(ReasonNeeded, match=said) as refused:
        change_line(line=line, by=None, **changes)

    assert refused.value.offered == (WHY if said == BARE else "")
    line.refresh_from_db()
    assert (line.use, line.topcoat) == ("hot", None)


def test_more_pieces_in_each_ask_where_they_make_it_a_set_for_a_table(bench):
    line = planned(bench, surface=bench.canvas_size, use="", topcoat=None)
    assert "wiped clean" in GoneOn.objects.get().said

    with pytest.raises(ReasonNeeded, match=BARE):
        change_line(line=line, by=None, pieces_each=2)


def test_the_page_of_a_line_keeps_what_was_typed(bench, maker):
    commission = opened(bench)
    new = reverse("line-new", args=[commission.number])

    shown = maker.client.get(new).content.decode()
    refused = maker.client.post(new, typed(bench, surface="", size="9 × 9 cm"))

    form = refused.context["form"]
    assert 'type="hidden" name="reason"' in shown
    assert (refused.status_code, form["size"].value(), form["quantity"].value()) == (
        *(422, "9 × 9 cm"),
        "3",
    )
    assert BARE in form.errors["reason"][0]
    page = refused.content.decode()
    assert CHANGE in page and 'name="reason"' in page
    assert not bench.studio.surfaces.filter(width_mm=90).exists()
    done = maker.client.post(new, typed(bench, reason=WHY))
    assert done.status_code == 302
    page = maker.client.get(reverse("commission", args=[commission.number])).content.decode()
    assert "Planned all the same." in page and WHY in page
    edit = reverse("line-edit", args=[commission.number, CommissionLine.objects.get().pk])
    assert maker.client.post(edit, typed(bench, quantity="4")).status_code == 302
    offered_again = maker.client.post(edit, typed(bench, use=""))
    assert (offered_again.status_code, offered_again.context["form"]["reason"].value()) == (
        *(422, WHY),
    )
    assert "As written before" in offered_again.content.decode()


def test_the_api_of_a_line_says_what_it_needs(bench, maker):
    commission = opened(bench)
    lines = f"/api/v1/commissions/{commission.number}/lines/"
    sent = typed(bench, technique="bloom")

    refused = maker.api.post(lines, sent, format="json")
    made = maker.api.post(lines, {**sent, "reason": WHY}, format="json")
    same = maker.api.patch(f"{lines}{made.data['id']}/", {"quantity": 5}, format="json")
    other = maker.api.patch(f"{lines}{made.data['id']}/", {"use": ""}, format="json")

    assert (refused.status_code, refused.data["code"]) == (409, "reason_needed")
    assert BARE in refused.data["fields"]["reason"][0]
    assert CHANGE in refused.data["detail"]
    assert (made.status_code, same.status_code, other.status_code) == (201, 200, 409)
    rows = maker.api.get("/api/v1/gone-on/", {"act": "plan", "line": made.data["id"]}).data
    assert [(one["line"], one["reason"]) for one in rows["results"]] == [(made.data["id"], WHY)]
    assert maker.api.get("/api/v1/gone-on/", {"product": 1}).data["count"] == 0


def test_a_product_asks_on_its_page_and_keeps_what_was_typed(bench, maker):
    sent = typed(bench, name="Coaster", price="", minutes="", packaging="", topcoat="")
    new = reverse("product-new")

    refused = maker.client.post(new, sent)
    assert (refused.status_code, refused.context["form"]["name"].value()) == (422, "Coaster")
    assert CHANGE in refused.content.decode()
    assert not Product.objects.exists()
    assert maker.client.post(new, {**sent, "reason": WHY}).status_code == 302

    product = Product.objects.get()
    row = GoneOn.objects.get()
    assert (row.act, row.product, row.by) == ("plan", product, maker.user)
    edit = reverse("product-edit", args=[product.pk])
    assert WHY in maker.client.get(edit).content.decode()
    assert maker.client.post(edit, {**sent, "name": "Coasters"}).status_code == 302
    again = maker.client.post(edit, {**sent, "use": ""})
    assert (again.status_code, again.context["form"]["reason"].value()) == (422, WHY)


def test_a_product_asks_through_the_api(bench, maker):
    sent = typed(bench, name="Coaster", technique="bloom")
    sent.pop("quantity")

    refused = maker.api.post("/api/v1/products/", sent, format="json")
    made = maker.api.post("/api/v1/products/", {**sent, "reason": WHY}, format="json")
    address = f"/api/v1/products/{made.data['id']}/"
    same = maker.api.patch(address, {"price": "9"}, format="json")
    other = maker.api.patch(address, {"use": "food"}, format="json")

    assert (refused.status_code, refused.data["code"]) == (409, "reason_needed")
    assert (made.status_code, same.status_code, other.status_code) == (201, 200, 409)
    assert Product.objects.get().use == "hot"


def test_a_product_that_is_not_touched_where_it_matters_is_not_asked_about(bench):
    product = bench.studio.products.create(name="Old", **wanted(bench))
    product.name = "New"

    save_product(product=product, by=None)

    assert not GoneOn.objects.exists()


def test_a_quote_is_sent_for_a_reason_which_is_offered(bench):
    line = planned(bench)
    quote = draft_quote(commission=line.commission, by=None)

    with pytest.raises(ReasonNeeded, match=BARE) as refused:
        send_quote(quote=quote, by=None)
    assert refused.value.offered == WHY
    quote.refresh_from_db()
    assert (quote.status, quote.number) == ("draft", None)

    send_quote(quote=quote, by=None, reason=WHY)
    row = GoneOn.objects.get(act="quote")
    assert (row.quote, row.reason) == (quote, WHY)


def test_the_page_of_a_quote_asks_with_what_was_written(bench):
    line = planned(bench)
    quote = draft_quote(commission=line.commission, by=None)
    owner = member(bench.studio, "owner").client
    page, send = (reverse(name, args=[quote.pk]) for name in ("quote", "quote-send"))

    shown = owner.get(page)
    refused = owner.post(send, {"reason": ""})
    done = owner.post(send, {"reason": WHY})

    text = shown.content.decode()
    assert BARE in text and "As written before" in text
    assert shown.context["form"]["reason"].value() == WHY
    assert refused.status_code == 422
    assert (BARE in refused.content.decode(), CHANGE in refused.content.decode()) == (True, True)
    assert refused.context["form"]["reason"].value() == WHY
    assert done.url == page
    assert Quote.objects.get().status == "sent"
    assert (
        "Quoted all the same."
        in owner.get(reverse("commission", args=[line.commission.number])).content.decode()
    )
    assert BARE not in owner.get(page).content.decode()
    maker = member(bench.studio, "maker").client
    assert maker.post(send, {"reason": WHY}).status_code == 403


def test_the_api_of_a_quote_says_what_it_needs(bench):
    line = planned(bench)
    quote = draft_quote(commission=line.commission, by=None)
    owner = member(bench.studio, "owner").api
    send = f"/api/v1/quotes/{quote.pk}/send/"

    refused = owner.post(send, {}, format="json")
    done = owner.post(send, {"reason": WHY, "valid_days": 9}, format="json")

    assert (refused.status_code, refused.data["code"]) == (409, "reason_needed")
    assert (done.status_code, done.data["status"]) == (200, "sent")


def test_what_fits_is_quoted_by_its_button_alone(bench):
    line = planned(bench, use="look")
    quote = draft_quote(commission=line.commission, by=None)
    owner = member(bench.studio, "owner").client

    page = owner.get(reverse("quote", args=[quote.pk])).content.decode()

    assert "Before it is sent" not in page
    assert owner.post(reverse("quote-send", args=[quote.pk])).status_code == 302


def test_each_line_offers_its_own_reason(bench):
    """Two lines of which the same is said, each with a reason of its own."""
    first = planned(bench)
    other = {"commission": first.commission, "by": None, "reason": "The second has a tray"}
    add_line(**other, **wanted(bench, pieces_each=4))
    quote = draft_quote(commission=first.commission, by=None)

    with pytest.raises(ReasonNeeded) as refused:
        send_quote(quote=quote, by=None)

    assert len(refused.value.sentences) == 2
    assert refused.value.offered == f"{WHY} The second has a tray"


def test_a_reason_is_offered_only_where_all_was_said_and_it_fits(bench):
    line = planned(bench)
    (said,) = GoneOn.objects.get().sentences
    name, sentence = said.rsplit(": ", 1)
    same, new = Concern("a", sentence, name), Concern("b", "It is wet.")

    assert offered([same], [line]) == WHY
    assert offered([Concern("a", sentence, "Set 9")], [line.commission]) == WHY
    assert offered([same, new], [line]) == ""
    assert offered([same], []) == ""
    GoneOnFactory(studio=bench.studio, line=line, said="It is wet.", reason="w" * 290)
    assert offered([same, new], [line]) == ""


def test_another_commissions_reason_is_not_offered(bench):
    planned(bench)

    with pytest.raises(ReasonNeeded) as refused:
        add_line(commission=opened(bench), by=None, **wanted(bench))

    assert refused.value.offered == ""


def test_what_helps_is_told_once_each():
    wait, change = Concern("a", "Wet."), Concern("b", "Hot.", helps="choose another use")

    assert what_helps([wait, change, wait]) == (
        "Wait and choose another use, or write down why it goes on."
    )


def test_packing_selling_and_delivering_offer_what_was_written_at_planning(bench):
    """Pieces that are cured, so that nothing else speaks against them."""
    commission = accepted(bench, quantity=1)
    line = commission.lines.get()
    pour = log(bench, line=line, poured_at=POURED, layers=THIN, count=4, good_count=4)
    both = {"studio": bench.studio, "by": None}
    packing = {**both, "name": "", "pieces": pour.pieces.all(), "line": line}
    sale = {**both, "channel": bench.own_sale, "sold_on": bench.studio.today()}

    with pytest.raises(ReasonNeeded, match=BARE) as asked:
        pack_set(**packing)
    assert asked.value.offered == REASON
    made = pack_set(reason=asked.value.offered, **packing)
    acts = (
        partial(sell, items=[(made, D(20))], **sale),
        partial(move_on, commission=commission, status="delivered", by=None),
    )

    for act in acts:
        with pytest.raises(ReasonNeeded, match=BARE) as asked:
            act()
        assert asked.value.offered == REASON


def test_a_shop_offers_what_was_written_at_packing(bench):
    pour = log(bench, poured_at=POURED, layers=THIN, count=4, good_count=4)
    both = {"studio": bench.studio, "by": None}
    made = pack_set(**both, name="Four", pieces=pour.pieces.all(), use="hot", reason=WHY)
    shop = ChannelFactory(studio=bench.studio, is_consignment=True)

    with pytest.raises(ReasonNeeded, match=BARE) as asked:
        send_out(**both, channel=shop, items=[(made, D(9))], sent_on=bench.studio.today())

    assert asked.value.offered == WHY
