"""Sets at shops: sent out, sold, taken back, lost, and what that does to stock, money and pages."""

from datetime import UTC, date, datetime
from decimal import Decimal as D

import pytest
from django.urls import reverse

from inventory.stock import books
from pricing.commissions import orders as commissions
from pricing.earnings import profit
from pricing.errors import ConsignmentRefused, SaleRefused, SetRefused
from pricing.models import ConsignedSet, PieceSet, Sale
from pricing.selling import consigning, sales
from pricing.selling.consignment_papers import note_context, statement_context
from studio.rows import NotYours
from tests.conftest import member
from tests.factories import going_on
from tests.factories.bench import working_studio
from tests.factories.going_on import WITH
from tests.factories.pricing import ChannelFactory, PieceSetFactory
from tests.pricing.bench.test_pours import log
from tests.pricing.commissions.test_commissions import accepted
from tests.pricing.selling import test_sales
from tests.pricing.selling.test_sales import sell

pytestmark = pytest.mark.django_db
SENT, SETTLED = date(2026, 3, 2), date(2026, 3, 20)
POURED = datetime(2026, 2, 28, 12, tzinfo=UTC)


@pytest.fixture
def bench():
    bench = working_studio()
    bench.shop = ChannelFactory(
        studio=bench.studio, name="Quay shop", percent_fee=D("0.40"), is_consignment=True
    )
    return bench


def pack(bench):
    return test_sales.pack(bench, poured_at=POURED)


def send(bench, sets, price=D(50), **more):
    wanted = {"channel": bench.shop, "sent_on": SENT, **more}
    items = [(one, price) for one in sets]
    return going_on.send_out(studio=bench.studio, by=None, items=items, **wanted)


def settle(consignment, **more):
    return consigning.settle(consignment=consignment, by=None, **{"on": SETTLED, **more})


def of(note):
    return consigning.consignments_of(note.studio).get(pk=note.pk)


def test_a_set_at_a_shop_is_the_studios_and_not_for_sale_elsewhere(bench):
    one = pack(bench)
    before = profit.whereabouts(bench.studio)

    note = send(bench, [one])

    assert list(PieceSet.objects.unsold().values_list("shop", flat=True)) == ["Quay shop"]
    assert not PieceSet.objects.for_sale().exists()
    assert profit.whereabouts(bench.studio) == before
    with pytest.raises(SaleRefused, match="out on Consignment note 1"):
        sell(bench, [(one, D(55))])
    with pytest.raises(SetRefused, match="Take it back there first"):
        sales.unpack_set(piece_set=one, by=None)
    with pytest.raises(ConsignmentRefused, match="out on Consignment note 1 already"):
        send(bench, [one])
    assert (note.number, note.share, bench.studio.consignments.count()) == (1, D("0.40"), 1)


def test_what_cannot_be_sent_is_refused_and_nothing_is_kept(bench):
    one, gone, sold = pack(bench), pack(bench), pack(bench)
    sales.unpack_set(piece_set=gone, by=None)
    sell(bench, [(sold, D(40))])
    refused = {
        "does not sell on consignment": {"sets": [one], "channel": bench.own_sale},
        "is not packed any more": {"sets": [one, gone]},
        "is sold already": {"sets": [one, sold]},
        "each once": {"sets": [one, one]},
        "at least one set": {"sets": []},
        "below zero": {"sets": [one], "price": D(-1)},
        "before the day they are sent": {"sets": [one], "due_back_on": date(2026, 3, 1)},
    }

    for words, asked in refused.items():
        with pytest.raises(ConsignmentRefused, match=words):
            send(bench, **asked)
    with pytest.raises(NotYours):
        send(bench, [PieceSetFactory()])

    assert not bench.studio.consignments.exists()
    assert send(bench, [one]).number == 1  # no number is lost to what was refused


def test_a_set_made_to_order_waits_for_its_customer(bench):
    commission = accepted(bench, quantity=1)
    line = commission.lines.get()
    pieces = log(bench, line=line, good_count=4, poured_at=POURED).pieces.all()
    packed = {"pieces": pieces, "line": line, "made_on": POURED.date()}
    one = going_on.pack_set(studio=bench.studio, by=None, name="", **packed)
    with pytest.raises(ConsignmentRefused, match="Cancel that first if nobody wants it"):
        send(bench, [one])
    commission.refresh_from_db()
    commissions.move_on(commission=commission, by=None, status="cancelled")

    note = send(bench, [one])
    sale = settle(note, sold=[(one, D(50))]).sale

    assert (sale.commission, sale.customer) == (None, None)
    commission.refresh_from_db()
    assert commission.status == "cancelled"
    assert not bench.studio.payments.exists()


def test_settling_makes_one_sale_with_the_share_that_was_agreed(bench):
    """40 % of 96.00 is 38.40, whatever the shop asks of later notes; tax is a tenth on top of it:
    96.00 / 11 = 8.73. The third set comes back and is sold at the door."""
    first, second, third = (pack(bench) for _ in range(3))
    note = send(bench, [first, second, third])
    bench.shop.percent_fee = D("0.45")
    bench.shop.save()

    made = settle(note, sold=[(first, D(50)), (second, D(46))], returned=[third], note="Scuffed")

    assert (made.sale.fees, made.sale.sold_on, made.returned) == (D("38.40"), SETTLED, 1)
    shown = consigning.account(of(note), SETTLED)
    assert (shown.out, shown.sold_for, shown.fees, shown.to_pay) == (0, 96, D("38.40"), D("57.60"))
    assert [one.outcome for one in note.lines.all()] == ["sold", "sold", "returned"]
    sell(bench, [(third, D(55))])
    rows = profit.set_profit(bench.studio)
    whole = profit.total(rows)
    assert (whole.revenue, whole.tax) == (151, D("8.73") + 5)
    assert whole.profit == (
        whole.revenue - whole.fees - whole.tax - whole.materials - whole.labour - whole.overhead
    )
    for by in profit.CUTS:
        assert sum(one.profit.profit for one in profit.cut(rows, by)) == whole.profit, by
    assert {one.label: one.sets for one in profit.cut(rows, "channel")}["Quay shop"] == 2
    assert books.check(bench.studio) == []


def test_settling_is_all_or_nothing(bench):
    first, second = pack(bench), pack(bench)
    note = send(bench, [first, second])
    refused = {
        "at least one set what became": {},
        "each once": {"returned": [first, first]},
        "is not out on Consignment note 1": {"sold": [(first, D(9))], "lost_sets": [first]},
        "went out later": {"sold": [(first, D(9))], "on": date(2026, 3, 1)},
    }

    for words, asked in refused.items():
        with pytest.raises(ConsignmentRefused, match=words):
            settle(note, **asked)
    with pytest.raises(SaleRefused, match="below zero"):
        settle(note, returned=[second], sold=[(first, D(-9))])

    assert set(note.lines.values_list("outcome", flat=True)) == {"out"}
    assert not Sale.objects.exists()


def test_what_a_shop_loses_is_written_off_with_its_cost(bench):
    """A set is 7.40 of materials (earnings.test_profit); it earned nothing and is lost."""
    one = pack(bench)
    note = send(bench, [one])

    settle(note, lost_sets=[one], note="Dropped")

    where = profit.whereabouts(bench.studio)
    assert (where.lost.materials, where.for_sale.materials) == (D("7.40"), 0)
    assert profit.set_profit(bench.studio) == []
    with pytest.raises(ConsignmentRefused, match="not packed any more"):
        send(bench, [one])
    assert books.check(bench.studio) == []


def test_a_sale_refunded_is_not_paid_on(bench):
    one = pack(bench)
    note = send(bench, [one])
    sale = settle(note, sold=[(one, D(50))]).sale

    sales.refund(sale=sale, by=None, why="Chipped")

    assert consigning.account(of(note), SETTLED).to_pay == 0
    assert [title for title, _ in statement_context(of(note), SETTLED)["others"]] == [
        "Sold and refunded"
    ]
    assert send(bench, [one]).number == 2
    assert books.check(bench.studio) == []


def test_days_out_and_lateness_count_only_what_is_out(bench):
    first, second = pack(bench), pack(bench)
    note = send(bench, [first, second], due_back_on=date(2026, 3, 10))
    today = date(2026, 3, 22)

    shown = consigning.account(of(note), today)
    assert (shown.days_out, shown.is_late, shown.out_asked) == (20, True, 100)
    settle(note, returned=[first, second])
    shown = consigning.account(of(note), today)
    assert (shown.days_out, shown.is_late, shown.out_asked) == (None, False, 0)


def test_the_papers_name_prices_and_shares_and_no_cost(bench):
    """Of 50.00 the shop keeps 20.00 and passes 30.00 on."""
    note = send(bench, [pack(bench), pack(bench)], note="Shelf by the door")

    context = note_context(of(note))

    assert [(share, rest) for _, share, rest in context["lines"]] == [(20, 30)] * 2
    assert (context["asked"], context["kept"], context["passed_on"]) == (100, 40, 60)
    assert "cost" not in " ".join(context)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"outcome": "sold", "settled_on": SETTLED}, "it has no sale"),
        ({"piece_set": "written off"}, "and the set is sold, taken apart or written off"),
    ],
)
def test_the_books_name_what_does_not_agree(bench, change, words):
    note = send(bench, [pack(bench)])
    if "piece_set" in change:
        PieceSet.objects.update(written_off_at="2026-03-03T10:00Z")
    else:
        ConsignedSet.objects.update(**change)

    found = {one.check: one for one in books.check(bench.studio)}["consignments"]

    assert (found.check, found.row) == ("consignments", str(note.lines.get()))
    assert words in found.sentence


PAGES = {
    "consignments": "maker",
    "consignment": "maker",
    "consignment-note-pdf": "maker",
    "consignment-statement-pdf": "maker",
    "consignment-new": "maker",
    "consignment-settle": "maker",
}


def test_pages_open_by_role_and_are_not_there_for_another_studio(bench, other_owner):
    one, _ = pack(bench), pack(bench)
    note = send(bench, [one])
    people = {role: member(bench.studio, role).client for role in ("viewer", "maker")}

    for page, least in PAGES.items():
        url = reverse(page, args=[] if page in ("consignments", "consignment-new") else [1])
        answers = {role: client.get(url).status_code for role, client in people.items()}
        assert answers == {"viewer": 200 if least == "viewer" else 403, "maker": 200}, page
        theirs = other_owner.client.get(url)
        assert theirs.status_code == (404 if "/1/" in url else 302 if "new" in page else 200)
        assert one.name not in theirs.content.decode()
    assert "At Quay shop" in people["viewer"].get(reverse("sets")).content.decode()
    assert str(note) in people["maker"].get(reverse("consignment", args=[1])).content.decode()


@pytest.mark.parametrize("count", (1, 3))
def test_the_list_and_the_note_ask_the_same_for_more(bench, django_assert_num_queries, count):
    poured = log(bench, count=2 * count, good_count=2 * count, poured_at=POURED)
    pieces, packed = list(poured.pieces.all()), {"name": "Tile", "made_on": POURED.date()}
    for first, second in zip(pieces[::2], pieces[1::2], strict=True):
        sets = [
            going_on.pack_set(studio=bench.studio, by=None, pieces=[piece], **packed)
            for piece in (first, second)
        ]
        settle(send(bench, sets), sold=[(sets[0], D(50))])
    client = member(bench.studio, "maker", sees_costs=True).client

    # session, person, membership; count, notes, lines with sets and sales; out; shops
    with django_assert_num_queries(8):
        client.get(reverse("consignments"))
    with django_assert_num_queries(8):  # and the pieces of the sets, and their topcoats
        client.get(reverse("consignment", args=[1]))


def test_a_form_sends_and_settles_several_and_says_what_is_missing(bench):
    first, second = pack(bench), pack(bench)
    client = member(bench.studio, "maker").client
    new, settling = reverse("consignment-new"), "/consignments/1/settle/"
    sent = {"channel": bench.shop.pk, "sent_on": "2026-03-02"}
    assert b"price of at least one set" in client.post(new, sent).content
    sent |= {f"price_{first.pk}": "48.00", f"price_{second.pk}": "52", **WITH}
    assert client.post(new, sent).url == "/consignments/1/"

    lines = {line.piece_set_id: line.pk for line in ConsignedSet.objects.all()}
    settled = {
        "on": "2026-03-20",
        f"outcome_{lines[first.pk]}": "sold",
        f"outcome_{lines[second.pk]}": "out",
    }
    assert b"Say what it was sold for" in client.post(settling, settled).content
    assert not Sale.objects.exists()
    answer = client.post(settling, {**settled, f"price_{lines[first.pk]}": "47.50"}, follow=True)

    assert "Sale 1 is recorded." in answer.content.decode()
    assert Sale.objects.get().fees == D("19.00")


def test_the_api_does_the_same(bench, other_owner):
    first, second = pack(bench), pack(bench)
    maker, viewer = member(bench.studio, "maker").api, member(bench.studio, "viewer").api
    items = [{"set": one.number, "price": "50.00"} for one in (first, second)]
    body = {"channel": bench.shop.pk, "items": items, "sent_on": "2026-03-02", **WITH}

    assert viewer.post("/api/v1/consignments/", body, format="json").status_code == 403
    made = maker.post("/api/v1/consignments/", body, format="json")
    assert (made.status_code, made.data["out"], made.data["share"]) == (201, 2, "0.4000")
    again = maker.post("/api/v1/consignments/", body, format="json")
    assert (again.status_code, again.data["code"]) == (409, "consignment_refused")

    url = "/api/v1/consignments/1/settle/"
    unpriced = {"items": [{"set": first.number, "outcome": "sold"}], "on": "2026-03-20"}
    assert maker.post(url, unpriced, format="json").status_code == 400
    unpriced["items"][0]["price"] = "50.00"
    unpriced["items"].append({"set": second.number, "outcome": "lost"})
    done = maker.post(url, unpriced, format="json")
    assert (done.data["to_pay"], done.data["out"], done.data["days_out"]) == ("30.000", 0, None)
    assert [line["outcome"] for line in done.data["lines"]] == ["sold", "lost"]
    assert done.data["lines"][0]["sale"] == 1
    for path in ("", "note/", "statement/"):
        assert other_owner.api.get(f"/api/v1/consignments/1/{path}").status_code == 404
