"""Journeys from the day's work list to a shop and back, with the refusals on the way."""

from datetime import timedelta
from decimal import Decimal as D
from io import BytesIO

import pytest
from django.urls import reverse
from pypdf import PdfReader

from pricing.earnings import profit
from pricing.models import Commission, Pour, Sale
from tests.factories.going_on import WITH
from tests.factories.pricing import ChannelFactory
from tests.journeys.workshop import Workshop

pytestmark = pytest.mark.django_db


@pytest.fixture
def workshop():
    made = Workshop()
    made.quay = ChannelFactory(
        studio=made.studio, name="Quay shop", percent_fee=D("0.40"), is_consignment=True
    )
    return made


def text_of(answer):
    pages = PdfReader(BytesIO(answer.content)).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split())


def test_poured_from_the_list_packed_consigned_sold_and_taken_back(workshop):
    number, line, quote = workshop.accepted(sets=2)
    other, loose, _ = workshop.accepted(sets=1, coated=False)
    (session,) = workshop.get("work-list/")["sessions"]
    assert [(job["line"], job["count"]) for job in session["jobs"]] == [(line, 8), (loose, 4)]
    assert session["short"] == []

    # One tile of eight fails, so one more is on the list; then resin, and only then sets.
    pours = [workshop.pour(line, 4, 4), workshop.pour(line, 4, 3)]
    (job, _) = workshop.get("work-list/")["sessions"][0]["jobs"]
    assert (job["line"], job["count"]) == (line, 1)
    pours.append(workshop.pour(line, 1, 1))
    assert [one["count"] for one in workshop.get("work-list/")["coatings"]] == [4, 3, 1]
    assert workshop.get("work-list/")["packings"] == []
    for pour in pours:
        workshop.coat(pour)
    work = workshop.get("work-list/")
    assert (work["coatings"], sum(one["sets"] for one in work["packings"])) == ([], 2)
    pieces = [piece for pour in pours for piece in workshop.good_pieces(pour)]
    ordered = [workshop.pack(line, pieces[:4]), workshop.pack(line, pieces[4:])]
    (delivery,) = workshop.get("work-list/")["deliveries"]
    assert (delivery["commission"], delivery["sets"], delivery["of"]) == (number, 2, 2)

    # What is made to order does not go to a shop, until the order is called off.
    spare = workshop.pack(loose, workshop.good_pieces(workshop.pour(loose, 4, 4)))
    body = {"channel": workshop.quay.pk, "sent_on": "2026-03-02"}
    items = [{"set": spare["number"], "price": "50.00"}]
    told = workshop.refused("consignment_refused", "consignments/", {**body, "items": items})
    assert "was made for" in told
    workshop.do(f"commissions/{other}/step/", {"status": "cancelled", "note": "Moved away"})
    made = workshop.studio.pours.count()
    stock = workshop.do("pours/", _for_stock(workshop))
    assert workshop.studio.pours.count() == made + 1
    own = workshop.do(
        "sets/", {"name": "Four tiles", "pieces": workshop.good_pieces(stock), "minutes": 4, **WITH}
    )
    items.append({"set": own["number"], "price": "46.00"})
    plain = {**body, "channel": workshop.bench.own_sale.pk, "items": items}
    assert "on consignment" in workshop.refused("consignment_refused", "consignments/", plain)
    workshop.refused("permission_denied", "consignments/", {**body, "items": items}, "viewer")
    note = workshop.do("consignments/", {**body, "items": items})
    assert (note["out"], note["out_asked"]) == (2, "96.000")

    # At the shop it is not sold, unpacked or sent again from here.
    door = {"channel": workshop.bench.own_sale.pk, "items": items[:1]}
    assert "out on Consignment note 1" in workshop.refused("sale_refused", "sales/", door)
    workshop.refused("set_refused", f"sets/{own['number']}/unpack/", {"why": "Tidying"})
    workshop.refused("consignment_refused", "consignments/", {**body, "items": items})
    shops = {one["number"]: one["shop"] for one in workshop.get("sets/")["results"]}
    assert (shops[spare["number"]], shops[ordered[0]["number"]]) == ("Quay shop", None)

    # One sold, one back; then the commission is handed over and the other sold at the door.
    settled = [
        {"set": spare["number"], "outcome": "sold", "price": "50.00"},
        {"set": own["number"], "outcome": "returned"},
    ]
    done = workshop.do("consignments/1/settle/", {"items": settled})
    assert (done["to_pay"], done["fees"], done["out"]) == ("30.000", "20.000", 0)
    again = {"items": settled[:1]}
    assert "is not out" in workshop.refused("consignment_refused", "consignments/1/settle/", again)
    workshop.sell(number)
    workshop.do("sales/", {**door, "items": [{"set": own["number"], "price": "55.00"}]})

    assert (workshop.status(number), workshop.status(other)) == ("paid", "cancelled")
    whole = workshop.ties()
    assert whole.revenue == D(quote.gross) + 50 + 55
    assert whole.fees == 20
    assert profit.whereabouts(workshop.studio).for_sale.total == 0
    work = workshop.get("work-list/")
    assert not (work["sessions"] or work["packings"] or work["deliveries"])


def _for_stock(workshop):
    bench = workshop.bench
    return {
        "surface": bench.tile_size.pk,
        "technique": "bloom",
        "palette": bench.palette.pk,
        "count": 4,
        "minutes": 30,
        "layers": [
            {"layer": "base", "mixed_ml": "100"},
            {"layer": "colours", "mixed_ml": "60"},
        ],
    }


def test_the_same_on_pages_a_phone_would_show(workshop):
    """Logged, packed, sent out and settled by forms; a set that the shop broke is lost."""
    number, line, _ = workshop.accepted(sets=2, coated=False)
    maker, viewer = workshop.people["maker"].client, workshop.people["viewer"].client
    ((_, mixing_url, ((_, pour_url),)),) = maker.get(reverse("work")).context["sessions"]
    assert maker.get(mixing_url).status_code == viewer.get(mixing_url).status_code == 200
    assert viewer.get(pour_url).status_code == 403

    form = maker.get(pour_url).context["form"]
    typed = {one.name: one.value() for one in form if one.value() not in (None, "", [])}
    early = {**typed, "poured_at": "2099-01-01T10:00"}
    assert "Choose a time that has come" in maker.post(pour_url, early).content.decode()
    assert not Pour.objects.exists()
    assert maker.post(pour_url, typed).status_code == 302
    judge_url = reverse("judge", args=[Pour.objects.get().number])
    assert "at least one piece" in maker.post(judge_url, {}).content.decode()
    unknown = {"piece1-verdict": "good", "piece1-faults": ["haunted"]}
    refused = maker.post(judge_url, unknown).content.decode()
    assert "haunted is not one of the available choices" in refused
    seen = {"piece1-verdict": "second", "piece1-faults": ["bubbles"], "rest": "on"}
    assert maker.post(judge_url, seen).status_code == 302
    first, *others = Pour.objects.get().pieces.order_by("number")
    assert (first.verdict, first.judgements.get().fault_names) == ("second", ["Bubbles"])
    assert {one.verdict for one in others} == {"good"}

    pack_url = f"{reverse('set-new')}?line={line}"
    for _ in range(2):
        packing = maker.get(pack_url).context["form"]
        chosen = {
            "pieces": packing.initial["pieces"],
            "minutes": packing.initial["minutes"],
            **WITH,
        }
        assert maker.post(pack_url, chosen).status_code == 302
    assert "2 of 2 packed" in viewer.get(reverse("work")).content.decode()
    page = maker.get(f"{reverse('sale-new')}?commission={number}")
    assert len(page.context["form"].sets) == 2

    # The customer goes; the sets stand at a shop instead.
    step = reverse("commission-step", args=[number])
    maker.post(step, {"status": "cancelled", "note": "Too late"})
    assert Commission.objects.get(number=number).status == "cancelled"
    assert maker.get(reverse("work")).context["work"].is_empty
    first, second = workshop.studio.sets.order_by("number")
    today = workshop.studio.today()
    sent = {"channel": workshop.quay.pk, "sent_on": f"{today}"}
    sent |= {f"price_{first.pk}": "48.00", f"price_{second.pk}": "44.00"}
    sent |= WITH
    assert viewer.post(reverse("consignment-new"), sent).status_code == 403
    assert maker.post(reverse("consignment-new"), sent).status_code == 302
    signed = text_of(maker.get(reverse("consignment-note-pdf", args=[1])))
    assert "$48.00 $19.20 $28.80" in signed
    assert "$92.00 $36.80 $55.20" in signed

    lines = {one.piece_set_id: one.pk for one in workshop.studio.consignments.get().lines.all()}
    settled = {
        "on": f"{today - timedelta(days=1)}",
        f"outcome_{lines[first.pk]}": "sold",
        f"price_{lines[first.pk]}": "48.00",
        f"outcome_{lines[second.pk]}": "lost",
    }
    url = reverse("consignment-settle", args=[1])
    assert "went out later" in maker.post(url, settled).content.decode()
    assert not Sale.objects.exists()
    assert maker.post(url, {**settled, "on": f"{today}"}).status_code == 302
    statement = text_of(maker.get(reverse("consignment-statement-pdf", args=[1])))
    assert "To be passed on to" in statement
    assert "$28.80" in statement

    whole = workshop.ties()
    where = profit.whereabouts(workshop.studio)
    assert (whole.revenue, whole.fees) == (48, D("19.20"))
    assert whole.materials == where.sold.materials
    assert where.lost.materials > 0
    for paper in (signed, statement):  # what it cost to make is the studio's own business
        assert f"{where.sold.total:.2f}" not in paper
        assert "ost" not in paper.replace("Lost", "")
