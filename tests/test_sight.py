"""Who sees what: every page, answer and file, opened by those who may and those who may not.

What must not be seen carries numbers and words that stand nowhere else. Which columns are of which
kind is written down here once more, so that a column the code forgets to leave out is found.
"""

import re
from decimal import Decimal as D
from io import BytesIO

import pytest
from django.apps import apps
from django.db.models import DecimalField, QuerySet
from django.urls import resolve, reverse
from pypdf import PdfReader

from inventory.buying.alert_mail import news_for
from inventory.buying.replacing import renew_replacement_costs
from inventory.models import Bottle, Movement, OrderLine, Pack
from inventory.stock import ledger as stock
from pricing.costing import lists, register_lists
from studio import people
from studio.sight import ADDRESSES, COSTS, PRICES, PROFIT, Sight
from tests.addresses import addresses, pages
from tests.api.routes import address, operations
from tests.conftest import member
from tests.factories import world as worlds
from tests.factories.everything import one_of_everything
from tests.factories.inventory import MaterialFactory
from tests.forms import read_page

COST, PRICE = D("7713.37"), D("6613.29")
ADDRESS = {
    "email": "heron.steps@quillmouth.example",
    "phone": "0613 448812",
    "address": "7 Heron Steps, Quillmouth",
    "notes": "Knocks twice at the green gate",
}
KEPT = {"cost_materials", "cost_labour", "cost_overhead"}
# Every column of money there is, by its kind.
MONEY = {
    COSTS: {
        "Studio": {"labour_rate", "overhead_rate", "monthly_costs"},
        "Material": {"value"},
        "Supplier": {"minimum_order", "shipping_fee", "free_shipping_over"},
        "Pack": {"price"},
        "PurchaseOrder": {"shipping"},
        "OrderLine": {"unit_price"},
        "Delivery": {"discount", "freight", "duty"},
        "Bottle": {"price_paid", "value"},
        "Movement": {"value"},
        "MonthEnd": {"value"},
        "ShelfCountLine": {"expected_value"},
        "ReplacementCost": {"unit_cost"},
        "PieceSet": {"labour_rate", "overhead_rate"} | KEPT,
        "FinishedPiece": KEPT,
        "FinishedChange": {"cost"},
        "Posting": {"materials", "labour", "overhead"},
        "Pour": {"labour_rate", "overhead_rate"},
        "Topcoating": {"labour_rate", "overhead_rate"},
        "PourLayer": {"took_value"},
        "Appraisal": {"value"},
    },
    PRICES: {
        "Studio": {"rounding_step", "minimum_charge"},
        "Channel": {"fixed_fee", "listing_fee"},
        "Sale": {"shipping_charged", "shipping_paid", "fees", "fees_kept"},
        "SaleLine": {"price"},
        "Posting": {"revenue", "tax", "fees", "shipping"},
        "ConsignedSet": {"asked"},
        "Payment": {"amount", "owed_after"},
        "Invoice": {"net", "tax", "gross"},
        "Product": {"price"},
        "Quote": {"net", "tax", "gross", "deposit"},
        "QuoteLine": {"unit_price", "amount"},
    },
}
# Three or six decimals that are no money.
NO_MONEY = {
    *("parts", "volume_ml", "mixed_ml", "left_ml", "kept_ml", "from_mixes_ml"),
    *("forecast_low_ml", "forecast_median_ml", "forecast_high_ml", "minutes", "cost_minutes"),
    *("rule_ml", "scaled_ml"),
}
# Names that tell of a kind in answers of the API.
KEYS = {
    COSTS: {
        *("value", "price_paid", "took_value", "spent", "cost", "unit_landed", "unit_price"),
        *("expected_value", "undone_value", "freight", "duty", "discount", "last_paid"),
        *("minimum_order", "shipping_fee", "free_shipping_over", "shipping_tiers"),
        *("price_breaks", "goods", "compared_with", "labour_rate", "overhead_rate"),
        *("monthly_costs", "materials_cost", "whereabouts", "totals"),
    },
    PROFIT: {
        *("profit", "margin", "markup", "forecast_profit", "sums", "earns", "earned"),
        *("contribution", "extra_cost_of_profit", "per_hour", "best", "losing"),
    },
    PRICES: {
        *("gross", "net", "deposit", "owed", "agreed", "paid", "owed_after", "asked"),
        *("sold_for", "percent_fee", "fixed_fee", "fees", "minimum_charge"),
    },
    ADDRESSES: {"address", "phone"},
}
# In answers of these a name means something else: the studio's and the suppliers' own addresses.
OTHERWISE = {
    "api-studio": {"address", "phone"},
    "api-suppliers": {"phone"},
    "api-quotes": {"unit_price"},
    "api-commissions": {"totals"},
    "api-record-scores": {"totals"},
    "api-pours-compared": {"best"},  # of two pours
}
MONEY_TEXT = re.compile(r"[$€£]\s?\d[\d.,]*")
OF_PROFIT = re.compile(
    r"\b(Profits?|profits?|Margin|[Mm]ark-?up|Profit after paying yourself|Cost in all)\b"
)


def plant(studio):
    """Give every row of a studio what cannot be mistaken, and return nothing."""
    for model in apps.get_models():
        for kind, mark in ((COSTS, COST), (PRICES, PRICE)):
            if names := MONEY[kind].get(model.__name__):
                rows = QuerySet(model)  # of the ledger too, which no manager would let change
                if model is Movement:  # what went out stays below nothing
                    rows.filter(value__lt=0).update(value=-mark)
                    rows = rows.filter(value__gte=0)
                rows.update(**dict.fromkeys(names, mark))
    studio.suppliers.update(shipping_tiers=[{"goods_from": "9", "fee": str(COST)}])
    Pack.objects.update(price_breaks=[{"min_count": 2, "price": str(COST)}])
    studio.customers.update(**ADDRESS)
    for quote in studio.quotes.all():
        quote.frozen["totals"]["profit"] = quote.frozen["totals"]["cost"] = str(COST)
        quote.save(update_fields=["frozen"])
    studio.refresh_from_db()


@pytest.fixture
def world(db):
    made = worlds.world()
    plant(made.studio)
    return made


@pytest.fixture
def bottle(studio):
    """A bottle that is promised to nobody."""
    material = MaterialFactory(studio=studio)
    receipt = stock.Receipt(material=material, quantity=D(100), value=COST)
    entry = stock.receive(studio=studio, by=None, receipts=[receipt])
    return studio.bottles.get(movements__entry=entry)


@pytest.fixture
def one(studio):
    made = one_of_everything(studio)
    renew_replacement_costs(studio=studio)
    plant(studio)
    return made


def team(studio):
    """Return {who: a member of the studio} of each sort."""
    return {
        "owner": member(studio, "owner"),
        "trusted": member(studio, "maker", sees_costs=True),
        "hand": member(studio, "maker"),
        "viewer": member(studio, "viewer"),
    }


def words_of(answer):
    """Return all that an answer says, as text."""
    if answer.get("Content-Type", "").startswith("application/pdf"):
        body = b"".join(answer) if answer.streaming else answer.content
        return " ".join(page.extract_text() for page in PdfReader(BytesIO(body)).pages)
    body = b"".join(answer) if answer.streaming else answer.content
    return body.decode("utf-8", errors="ignore")  # of a picture, what can be read as text


def marks_in(words):
    """Return the kinds of which something is told."""
    plain = words.replace(",", "").replace("&#x27;", "'")
    found = {COSTS} if "7713.37" in plain else set()
    found |= {PRICES} if "6613.29" in plain else set()
    return found | ({ADDRESSES} if any(text in words for text in ADDRESS.values()) else set())


def unseen(who):
    return {sight for sight in Sight if not who.membership.sees(sight)}


def links_of(words, here):
    """Return the pages that a page links to."""
    links = (link.partition("#")[0].partition("?")[0] for link in read_page(words, here)[1])
    return {link for link in links if link.startswith("/")}


# Nothing to be opened, or it is for nobody of the studio.
SKIP = {"sign-out", "switch-studio", "studio-archive"}
SECRET = ("q/", "join/", "calendar/", "admin/")
FEW = 1
ALL_KINDS = {"list-file", "import", "import-template"}


def opened(world, who):
    """Yield (name, address, answer) of every page and file, each at a few rows."""
    for path, pattern in pages():
        if pattern.name in SKIP or path.startswith(SECRET):
            continue
        rows = addresses(path, pattern, world)
        few = rows if pattern.name in ALL_KINDS else [*rows[:FEW], *rows[-FEW:]]
        for one in dict.fromkeys(few):
            if not one.endswith((".xlsx", ".zip", ".jpg")):
                yield pattern.name, one, who.client.get(one)


def test_every_column_of_money_is_of_a_kind():
    columns = {
        (model.__name__, field.name)
        for app in ("studio", "inventory", "pricing")
        for model in apps.get_app_config(app).get_models()
        for field in model._meta.fields
        if isinstance(field, DecimalField) and field.decimal_places in (3, 6)
    }
    known = {(m, name) for kind in MONEY.values() for m, names in kind.items() for name in names}

    assert {(m, name) for m, name in columns - known if name not in NO_MONEY} == set()
    assert known <= columns


# By name, what is wholly of a kind.
OF_COSTS = {
    *("pack-new", "pack-edit", "receive", "stock-table", "what-came", "material-prices"),
    *("valuation", "valuation-file"),
    *(
        "valuation-sheet",
        "import",
        "import-template",
        "own-sheet",
        "break-even",
        "hindsight",
        "profit",
    ),
    *(
        "hindsight-csv",
        "hindsight-of-one",
        "profit-csv",
        "price-list-csv",
        "cost-sheet-pdf",
        "quote-pdf",
    ),
    *("invoice-pdf", "receipt-pdf"),
}
OF_PRICES = {
    *("quote", "sales", "sale", "consignments", "consignment", "consignment-note-pdf"),
    *("consignment-statement-pdf", "owed", "owed-file", "payments", "invoices"),
    *("channels", "list-file"),
}


def test_pages_and_files_tell_nobody_what_they_may_not_see(world):
    told, refused, leaks, dead = {}, {}, [], []
    people_of = team(world.studio)
    del people_of["owner"]  # who sees what a trusted maker sees, as the API shows
    for name, who in people_of.items():
        hidden, told[name], refused[name] = unseen(who), {}, {}
        links, status = {}, {}
        for page, here, answer in opened(world, who):
            status[here] = answer.status_code
            if answer.status_code == 403:
                refused[name].setdefault(page, words_of(answer))
            if answer.status_code != 200:
                continue
            words = words_of(answer)
            if answer.get("Content-Type", "").startswith("text/html"):
                links |= {link: here for link in links_of(words, here)}
            leaks += [(name, here, sight) for sight in marks_in(words) & hidden]
            if PROFIT in hidden:
                leaks += [(name, here, word) for word in set(OF_PROFIT.findall(words))]
            if PRICES in hidden:  # no amount of money at all
                leaks += [(name, here, text) for text in set(MONEY_TEXT.findall(words))]
            for sight in marks_in(words):
                told[name].setdefault(sight, set()).add(page)
        for link, found_on in links.items():
            if link not in status and resolve(link).url_name not in SKIP:
                status[link] = who.client.get(link).status_code
            if status.get(link) == 403:
                dead.append((name, found_on, link))

    assert leaks == []
    assert dead == []
    of_sight = {page for page, words in refused["viewer"].items() if "This tells" in words}
    assert {page for page, words in refused["trusted"].items() if "This tells" in words} == set()
    assert {p for p, words in refused["hand"].items() if "This tells" in words} == OF_COSTS
    assert of_sight == (OF_COSTS | OF_PRICES) - MAKERS
    assert all("An owner can" in refused["viewer"][page] for page in of_sight)
    assert len(told["trusted"][COSTS]) >= 20
    assert len(told["trusted"][PRICES]) >= 8
    assert told["trusted"][ADDRESSES] >= {"customers", "customer-edit", "list-file", "receipt-pdf"}
    assert len(told["hand"][PRICES]) >= 8
    assert told["viewer"] == {}


# Of these the viewer reads that they are for makers.
MAKERS = {"pack-new", "pack-edit", "receive", "import", "import-template", "price-list-csv"} | {
    *("cost-sheet-pdf", "stock-table", "what-came", "own-sheet"),
}


def keys_of(data):
    """Yield every name in an answer."""
    if isinstance(data, dict):
        for name, inner in data.items():
            yield name
            yield from keys_of(inner)
    elif isinstance(data, list):
        for inner in data:
            yield from keys_of(inner)


ALL = list(operations())


def asked_of_api(who, one):
    for method, name, _ in ALL:
        if method == "get" and name not in {"api-studio-archive"}:
            yield name, who.api.get(address(name, one))


def test_the_api_tells_nobody_what_they_may_not_see(one):
    told, refused = {}, {}
    for name, who in team(one.studio).items():
        one.membership = who.membership
        hidden, told[name], refused[name] = unseen(who), {}, set()
        for operation, answer in asked_of_api(who, one):
            if answer.status_code == 403:
                refused[name].add(operation)
                continue
            words = words_of(answer)
            assert not marks_in(words) & hidden, (name, operation)
            for sight in marks_in(words):
                told[name].setdefault(sight, set()).add(operation)
            if answer["Content-Type"] != "application/json":
                continue
            fine = {k for at, names in OTHERWISE.items() if operation.startswith(at) for k in names}
            bad = {key for sight in hidden for key in KEYS[sight]} - fine
            assert bad & set(keys_of(answer.json())) == set(), (name, operation)

    assert refused["owner"] == set()
    assert len(told["owner"][COSTS]) >= 15
    assert told["owner"] == told["trusted"]
    assert told["hand"][PRICES] == told["owner"][PRICES] - refused["hand"]
    assert set(told["viewer"]) == set()


def test_what_a_maker_needs_at_the_bench_stays_visible(one, hand, viewer):
    OrderLine.objects.filter(order=one.order).delete()  # so that there is something to buy

    for who in (hand, viewer):
        bottle = who.api.get(f"/api/v1/bottles/{one.bottle.code}/").json()
        customer = who.api.get(f"/api/v1/customers/{one.customer.pk}/").json()
        plan = who.api.get("/api/v1/reorder-plan/").json()
        page = who.client.get("/reorder/").content.decode()

        assert D(bottle["remaining"]) == 100
        assert customer == {"id": one.customer.pk, "name": one.customer.name, "archived_at": None}
        assert plan["orders"][0]["lines"][0]["count"] >= 1
        assert one.material.name in page


def test_nothing_is_found_or_sorted_by_what_is_not_seen(one, hand, owner):
    find = f"/api/v1/customers/?search={ADDRESS['email'][:11]}"

    assert owner.api.get(find).json()["count"] == 1
    assert hand.api.get(find).json()["count"] == 0
    assert owner.api.get("/api/v1/packs/?sort=price").status_code == 200
    assert hand.api.get("/api/v1/packs/?sort=price").status_code == 400
    assert owner.api.get("/api/v1/reorder-plan/?budget=90").status_code == 200
    assert hand.api.get("/api/v1/reorder-plan/?budget=90").status_code == 400
    assert hand.client.get("/reorder/?budget=90").status_code == 403


def test_what_is_not_seen_is_not_written(one, hand):
    customer = hand.api.patch(f"/api/v1/customers/{one.customer.pk}/", {"address": "Elsewhere"})
    supplier = hand.api.patch(f"/api/v1/suppliers/{one.supplier.pk}/", {"shipping_fee": "1"})
    hand.client.post(f"/customers/{one.customer.pk}/edit/", {"name": "Rosa", "address": "Away"})

    assert (customer.status_code, supplier.status_code) == (400, 400)
    one.customer.refresh_from_db()
    assert (one.customer.name, one.customer.address) == ("Rosa", ADDRESS["address"])


def test_a_maker_who_sees_no_costs_receives_an_order_as_it_was_ordered(one, hand):
    one.order_line.unit_price = one.order.shipping = D("12.5")
    one.order_line.save()
    one.order.save()
    line = one.order_line

    page = hand.client.get(f"/orders/{one.order.number}/receive/").content.decode()
    sent = {f"count_{line.pk}": line.count, "received_on": "2026-03-01", "currency": "EUR"}
    answer = hand.client.post(f"/orders/{one.order.number}/receive/", sent)

    assert "12.5" not in page
    assert answer.status_code == 302
    delivery = one.order.deliveries.get()
    assert (delivery.freight, delivery.currency) == (D("12.5"), one.studio.currency)
    assert {b.price_paid for b in Bottle.objects.filter(delivery=delivery)} == {D("12.5")}


def test_the_api_receives_an_order_as_it_was_ordered_too(one, hand):
    one.order.shipping = D(8)
    one.order.save()
    lines = [{"line": one.order_line.pk, "count": one.order_line.count}]

    with_price = hand.api.post(
        f"/api/v1/orders/{one.order.number}/receive/", {"lines": [lines[0] | {"price": "1"}]}
    )
    answer = hand.api.post(f"/api/v1/orders/{one.order.number}/receive/", {"lines": lines})

    assert with_price.status_code == 400
    assert answer.status_code == 201
    assert "freight" not in answer.json()
    assert one.order.deliveries.get().freight == D(8)


def test_the_mail_of_alerts_tells_of_profit_to_those_who_see_it(world):
    team_of = team(world.studio)
    mails = {name: news_for(who.membership) for name, who in team_of.items()}

    told = {name: "from the profit" in mail.text for name, mail in mails.items()}
    assert told == {"owner": True, "trusted": True, "hand": False, "viewer": False}
    assert "from the profit" not in mails["hand"].html
    assert mails["hand"].news  # of stock it is told


def test_an_answer_is_not_told_again_once_trust_is_gone(bottle, studio, maker):
    key = {"HTTP_IDEMPOTENCY_KEY": "one-spoon"}
    ask = f"/api/v1/bottles/{bottle.code}/use/"
    first = maker.api.post(ask, {"quantity": "5 mL"}, **key)
    people.change_role(membership=maker.membership, role="maker", sees_costs=False)

    again = maker.api.post(ask, {"quantity": "5 mL"}, **key)

    assert first.json()["entry"]["movements"][0]["value"] == "-385.668500"  # 5 of 100 mL
    assert (again.status_code, again.json()["code"]) == (409, "told_no_more")
    assert not marks_in(again.content.decode())
    assert studio.entries.filter(purpose="Taken by hand").count() == 1
    people.change_role(membership=maker.membership, role="maker", sees_costs=True)
    assert maker.api.post(ask, {"quantity": "5 mL"}, **key).json() == first.json()


def test_a_page_sent_again_once_trust_is_gone_says_nothing_of_what_it_said(bottle, studio, maker):
    ask = reverse("bottle-take", args=[bottle.code, "use"])
    sent = {"quantity": "5 mL", "why": "", "once": "abc"}
    maker.client.post(ask, sent, follow=True)
    people.change_role(membership=maker.membership, role="maker", sees_costs=False)

    again = maker.client.post(ask, sent, follow=True)

    words = [str(message) for message in again.context["messages"]]
    assert words == [
        "This was sent before, so it was not done again. To do it again, open its page anew."
    ]
    assert studio.entries.filter(purpose__startswith="Taken").count() == 1


def test_owners_say_whom_they_trust(studio, owner, hand):
    here = f"/people/{hand.membership.pk}/role/"
    owner.client.post(here, {"role": "maker", "sees_costs": "on"})
    page = owner.client.get("/people/").content.decode()

    assert hand.membership.sees_costs
    assert "Trusted maker" in page
    assert "Customers&#x27; addresses" in page
    answer = owner.api.patch(
        f"/api/v1/people/{hand.membership.pk}/", {"role": "maker", "sees_costs": False}
    )
    assert answer.json()["sees_costs"] is False
    assert hand.client.post(here, {"role": "owner"}).status_code == 403
    again = owner.api.patch(f"/api/v1/people/{hand.membership.pk}/", {"role": "viewer"})
    assert (again.json()["role"], again.json()["sees_costs"]) == ("viewer", False)


def test_an_invitation_carries_trust(studio, owner, other_owner):
    _, secret = people.invite(
        studio=studio, by=owner.user, email="m@example.com", role="maker", sees_costs=True
    )

    membership = people.accept_invitation(secret=secret, user=other_owner.user)

    assert membership.sees(COSTS)


def test_a_viewer_sees_nothing_of_it_even_if_trusted(studio):
    membership = member(studio, "viewer", sees_costs=True).membership

    assert [sight for sight in Sight if membership.sees(sight)] == []


def test_a_list_has_only_the_columns_that_are_seen(one, hand, owner):
    names = {
        listing.name
        for listing in (*lists.LISTS, *register_lists.LISTS)
        if PRICES not in listing.sights
    }
    assert {"customers", "products"} <= names

    def heads(who):
        return who.client.get("/in-and-out/customers.csv").content.decode("utf-8-sig").split()[0]

    assert heads(owner) == "Name,E-mail,Phone,Address,Notes,Archived"
    assert heads(hand) == "Name,Archived"
