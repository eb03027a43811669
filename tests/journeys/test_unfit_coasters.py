"""Coasters for hot drinks without a topcoat, from the enquiry to the sale, by page and by API.

Each step is refused until somebody writes down why it goes on, what was written is offered again,
and all of it stands on the commission's page in the end.
"""

import re
from datetime import timedelta
from html import unescape

import pytest
from django.urls import reverse

from pricing.models import CommissionLine, GoneOn, PieceSet, Quote, Sale
from studio.dates import in_full as day
from tests.conftest import member
from tests.factories.bench import working_studio
from tests.pricing.commissions.test_commissions import opened

pytestmark = pytest.mark.django_db
MATS = "Felt mats go out with them, and the card says so"
SOON = "She fetches them today, keeps them flat for four weeks, and has felt mats"
BARE = "Without resin the paint softens under a hot cup"


@pytest.fixture
def bench():
    return working_studio(time_zone="UTC")


@pytest.fixture
def maker(bench):
    return member(bench.studio, "maker")


@pytest.fixture
def owner(bench):
    return member(bench.studio, "owner")


def words(answer):
    text = re.sub(r"<[^>]+>", " ", answer.content.decode())
    return " ".join(unescape(text).split())


def refused_page(answer, *, offered, said):
    """Check that a page asks, beside its field, with what was written before in it."""
    assert answer.status_code == 422
    field = answer.context["form"]["reason"]
    assert not field.is_hidden
    assert [one for one in field.errors if said in one]
    assert (field.value() or "") == offered
    return answer


def refused_api(answer, said):
    assert (answer.status_code, answer.data["code"]) == (409, "reason_needed")
    assert [one for one in answer.data["fields"]["reason"] if said in one]


def wanted(bench, **more):
    keys = {"surface": bench.tile_size.pk, "palette": bench.palette.pk, "use": "hot"}
    return {**keys, "quantity": 1, "pieces_each": 4, **more}


def poured(api, line):
    """Log a pour of the four, as thin as they are, and judge them good."""
    layers = [{"layer": "base", "mixed_ml": "40"}, {"layer": "colours", "mixed_ml": "20"}]
    body = {"line": line.pk, "count": 4, "minutes": 30, "layers": layers}
    pour = api.post("/api/v1/pours/", body, format="json").data["number"]
    seen = [{"piece": number, "verdict": "good"} for number in range(1, 5)]
    done = api.post(f"/api/v1/pours/{pour}/judge/", {"pieces": seen}, format="json")
    assert done.status_code == 200
    return list(line.pours.get().pieces.values_list("pk", flat=True))


def test_by_its_pages(bench, maker, owner):
    commission = opened(bench)
    page = reverse("commission", args=[commission.number])

    # Planned: asked, and what was typed stays.
    new, typed = reverse("line-new", args=[commission.number]), wanted(bench)
    typed["technique"] = bench.bloom.pk
    asked = refused_page(maker.client.post(new, typed), offered="", said=BARE)
    assert asked.context["form"]["pieces_each"].value() == "4"
    assert "Choose another use, topcoat or kit, or write down why it goes on." in words(asked)
    assert not CommissionLine.objects.exists()
    assert maker.client.post(new, {**typed, "reason": MATS}).url == page

    # Quoted: asked with what was written, on the page of the draft and after its button.
    terms = {"margin": "30", "rush": "0", "discount": "0", "deposit": "50"}
    owner.client.post(reverse("quote-new", args=[commission.number]), terms)
    quote = Quote.objects.get()
    shown = owner.client.get(reverse("quote", args=[quote.pk]))
    assert BARE in words(shown) and MATS in words(shown)
    send = reverse("quote-send", args=[quote.pk])
    asked = refused_page(owner.client.post(send, {"reason": " "}), offered=MATS, said=BARE)
    assert Quote.objects.get().status == "draft"
    offered = asked.context["form"]["reason"].value()
    owner.client.post(send, {"reason": offered})
    assert Quote.objects.get().status == "sent"
    maker.client.post(reverse("quote-accept", args=[quote.pk]), {"name": "Wren Alder"})

    # Packed before the cure: asked of both, so that the first reason alone does not do.
    line = CommissionLine.objects.get()
    pieces = poured(maker.api, line)
    pack = f"{reverse('set-new')}?line={line.pk}"
    packing = {"pieces": pieces, "minutes": "5", "use": "hot"}
    asked = refused_page(maker.client.post(pack, packing), offered="", said="is cured from")
    assert BARE in words(asked)
    assert "Wait and choose another use, or write down why it goes on." in words(asked)
    assert not PieceSet.objects.exists()
    assert maker.client.post(pack, {**packing, "reason": SOON}).url == page

    # Handed over: what was written at packing is said of the same, and is offered.
    sale = f"{reverse('sale-new')}?commission={commission.number}"
    form = maker.client.get(sale).context["form"]
    selling = {one.html_name: one.value() or "" for one in form}
    selling |= {"channel": bench.own_sale.pk, "sold_on": bench.studio.today().isoformat()}
    selling["reason"] = ""
    asked = refused_page(maker.client.post(sale, selling), offered=SOON, said=BARE)
    assert not Sale.objects.exists()
    maker.client.post(sale, {**selling, "reason": asked.context["form"]["reason"].value()})
    assert Sale.objects.exists()

    # All of it is kept and shown.
    kept = [(one.act, one.reason) for one in GoneOn.objects.order_by("pk")]
    assert kept == [("plan", MATS), ("quote", MATS), ("pack", SOON), ("hand_over", SOON)]
    told = words(member(bench.studio, "viewer").client.get(page))
    for act in ("Planned", "Quoted", "Packed", "Handed over"):
        assert f"{act} all the same." in told
    assert (told.count(f"Reason: {MATS}"), told.count(f"Reason: {SOON}")) == (2, 2)


def test_by_its_api(bench, maker, owner):
    number = opened(bench).number

    def post(who, path, body, code=200):
        answer = who.api.post(f"/api/v1/{path}", body, format="json")
        assert answer.status_code == code, answer.data
        return answer

    # Planned.
    lines, body = f"commissions/{number}/lines/", wanted(bench, technique="bloom")
    refused_api(post(maker, lines, body, 409), BARE)
    line = post(maker, lines, {**body, "reason": MATS}, 201).data["id"]
    # What leaves surface, use and topcoat as they were asks nothing.
    changed = maker.api.patch(f"/api/v1/{lines}{line}/", {"quantity": 1}, format="json")
    assert changed.status_code == 200

    # Quoted and accepted.
    quote = post(owner, "quotes/", {"commission": number}, 201).data["id"]
    refused_api(post(owner, f"quotes/{quote}/send/", {}, 409), BARE)
    post(owner, f"quotes/{quote}/send/", {"reason": MATS})
    post(maker, f"quotes/{quote}/accept/", {"name": "Wren Alder"})

    # Packed before the cure, promised for a day that is before it, and late by that.
    pieces = poured(maker.api, CommissionLine.objects.get())
    promised = bench.studio.today() + timedelta(days=5)
    post(maker, f"commissions/{number}/promise/", {"promised_on": promised.isoformat()})
    packing = {"pieces": pieces, "line": line, "minutes": "5"}
    refused_api(post(maker, "sets/", packing, 409), BARE)
    made = post(maker, "sets/", {**packing, "reason": SOON}, 201).data
    late = words(maker.client.get(reverse("commission", args=[number])))
    assert f"It cannot be handed over by {day(promised)}, the day promised" in late

    # Said to be to look at, it is no longer asked about for cups; said back, it is.
    post(maker, f"sets/{made['number']}/use/", {"use": "look", "why": "She hangs them up"})
    refused_api(post(maker, f"sets/{made['number']}/use/", {"use": "hot"}, 409), BARE)

    # Sold.
    today = bench.studio.today().isoformat()
    items = [{"set": made["number"], "price": "60"}]
    sale = {"channel": bench.own_sale.pk, "sold_on": today, "items": items}
    refused_api(post(maker, "sales/", sale, 409), "is cured from")
    post(maker, "sales/", {**sale, "reason": SOON}, 201)

    rows = maker.api.get("/api/v1/gone-on/", {"commission": number}).data["results"]
    acts = {one["act"] for one in maker.api.get("/api/v1/gone-on/").data["results"]}
    assert acts == {"plan", "quote", "pack", "hand_over"}
    assert all(one["reason"] in (MATS, SOON) for one in rows)
