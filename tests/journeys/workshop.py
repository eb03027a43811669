"""A studio's people at work through the API, and customers through their private links.

Each act is one call, so that a journey reads as it happens; an act that should be refused says with
which code, and that nothing changed by it.
"""

from decimal import Decimal as D
from types import SimpleNamespace

from django.test import Client

from inventory.stock import books
from pricing.earnings import profit
from tests.conftest import member
from tests.factories.bench import working_studio
from tests.factories.going_on import WITH

LAYERS = [
    {"layer": "base", "mixed_ml": "100", "kept_ml": "10"},
    {"layer": "colours", "mixed_ml": "60"},
    {"layer": "activator", "mixed_ml": "8"},
]


class Workshop:
    """The bench of `working_studio` with an owner, a trusted maker and a viewer at it."""

    def __init__(self, **settings):
        self.bench = working_studio(**settings)
        self.studio = self.bench.studio
        self.people = {
            role: member(self.studio, role, sees_costs=True)
            for role in ("owner", "maker", "viewer")
        }

    # The API

    def get(self, path, role="maker", **asked):
        answer = self.people[role].api.get(f"/api/v1/{path}", asked)
        assert answer.status_code == 200, answer.content
        return answer.json()

    def do(self, path, body=None, role="maker", method="post"):
        answer = getattr(self.people[role].api, method)(f"/api/v1/{path}", body, format="json")
        if answer.status_code == 409 and answer.data["code"] == "reason_needed":
            return self.do(path, {**(body or {}), **WITH}, role, method)
        assert answer.status_code in (200, 201, 204), answer.content
        return answer.json() if answer.content else None

    def refused(self, code, path, body=None, role="maker", method="post"):
        """Ask for what must be refused; returns the sentence, and no movement was made."""
        before = self.studio.movements.count()
        answer = getattr(self.people[role].api, method)(f"/api/v1/{path}", body, format="json")
        assert answer.status_code in (400, 403, 404, 409), answer.content
        told = answer.json()
        assert told.get("code") == code, told
        assert self.studio.movements.count() == before
        return str(told["detail"])

    # What a studio does

    def enquiry(self, sets=2, pieces=4, coated=True):
        """Take an enquiry for sets of tiles down; returns its number and its line's id."""
        bench = self.bench
        number = self.do("commissions/", {"title": "Coasters", "new_customer": "Wren Alder"})[
            "number"
        ]
        line = {
            "surface": bench.tile_size.pk,
            "technique": "bloom",
            "palette": bench.palette.pk,
            "quantity": sets,
            "pieces_each": pieces,
            "packaging": bench.box.pk,
        }
        if coated:
            line["topcoat"] = bench.kit.pk
        self.do(f"commissions/{number}/lines/", line)
        return number, self.get(f"commissions/{number}/")["lines"][0]["id"]

    def quote(self, number, **terms):
        """Draft and send a quote; returns it with the customer's link."""
        draft = self.do("quotes/", {"commission": number, **terms}, "owner")
        sent = self.do(f"quotes/{draft['id']}/send/", None, "owner")
        link = self.do(f"quotes/{draft['id']}/link/", None, "owner")["url"]
        return SimpleNamespace(**sent, link=link)

    def accepted(self, **wanted):
        number, line = self.enquiry(**wanted)
        quote = self.quote(number)
        accept(quote.link)
        return number, line, quote

    def pour(self, line, count=4, good=4, layers=LAYERS, minutes=30):
        body = {"line": line, "count": count, "minutes": minutes}
        pour = self.do("pours/", {**body, "layers": layers})
        seen = [
            {"piece": number, "verdict": "good" if number <= good else "failed"}
            for number in range(1, count + 1)
        ]
        return self.do(f"pours/{pour['number']}/judge/", {"pieces": seen})

    def coat(self, pour):
        body = {"kit": self.bench.kit.pk, "mixed_ml": "40", "minutes": 20}
        return self.do(f"pours/{pour['number']}/topcoats/", body)

    def good_pieces(self, pour):
        pour = self.studio.pours.get(number=pour["number"])
        good = pour.pieces.filter(state="good", piece_set=None)
        return list(good.order_by("number").values_list("pk", flat=True))

    def pack(self, line, pieces):
        return self.do("sets/", {"line": line, "pieces": pieces, "minutes": 4})

    def sell(self, number, channel=None, **more):
        """Sell what is packed of a commission at the prices agreed."""
        agreed = self.get(f"commissions/{number}/sale-prices/")["results"]
        items = [{"set": one["set"], "price": one["price"]} for one in agreed]
        channel = channel or self.bench.own_sale
        body = {"channel": channel.pk, "items": items, "commission": number}
        return self.do("sales/", {**body, **more})

    def account(self, number):
        told = self.get(f"commissions/{number}/account/")
        return {name: D(told[name]) for name in ("agreed", "paid", "owed", "deposit_owed")}

    def status(self, number):
        return self.get(f"commissions/{number}/")["status"]

    def steps(self, number):
        return [one["status"] for one in self.get(f"commissions/{number}/")["events"]]

    def held(self):
        """Return {material: what is held of it}."""
        return {one.material.name: one.outstanding for one in self.studio.holds.open()}

    # What must hold at the end of every journey

    def ties(self):
        """Prove the books, and that revenue less all it cost is profit on every cut."""
        assert books.check(self.studio) == []
        rows = profit.set_profit(self.studio)
        whole = profit.total(rows)
        parts = (whole.tax, whole.fees, whole.materials, whole.labour, whole.overhead)
        assert whole.revenue - sum(parts) == whole.profit
        for by in profit.CUTS:
            assert sum((cut.profit.profit for cut in profit.cut(rows, by)), D(0)) == whole.profit
        return whole


def accept(link, name="Wren Alder"):
    """Open the customer's link and accept; returns the words of the page that follows."""
    customer = Client()
    assert customer.get(link).status_code == 200
    return _words(customer.post(f"{link}accept/", {"name": name}, follow=True))


def decline(link, why):
    return _words(
        Client().post(f"{link}decline/", {"no-name": "Wren Alder", "no-note": why}, follow=True)
    )


def looked_at(link):
    answer = Client().get(link)
    return _words(answer) if answer.status_code == 200 else None


def _words(answer):
    return " ".join(answer.content.decode().split())
