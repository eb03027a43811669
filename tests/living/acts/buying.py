"""Buying: what to buy, orders, deliveries with and without one, in money of here or elsewhere."""

from decimal import Decimal

from tests.living import words
from tests.living.acts.registry import act


def _to_receive(story):
    return story.studio.purchase_orders.filter(status__in=("sent", "partly_received"))


def _drafts(story):
    return story.studio.purchase_orders.filter(status="draft")


@act(3)
def order_what_is_short(story):
    bench = story.bench
    budget = story.dice.choice(("", "", "", "250", "5"))
    story.viewer.open("/alerts/")
    shown = bench.open(f"/reorder/?budget={budget}" if budget else "/reorder/")
    form = shown.page.form("/reorder/orders/")
    if form is None:  # nothing is short: keep more of something from now on
        wanted = {"reorder_point": "9000"}
        pack = story.any(story.studio.packs.all())
        bench.fill_in(f"/stock/{pack.material_id}/edit/", wanted)
        shown = bench.open("/reorder/")
        form = shown.page.form("/reorder/orders/")
        if form is None:
            return
    bench.submit(shown, form)
    for order in _drafts(story).order_by("number"):
        bench.press(f"/orders/{order.number}/", f"/orders/{order.number}/send/")


@act(2)
def change_an_order(story):
    bench = story.bench
    order = story.any(story.studio.purchase_orders.all())
    if order is None:
        return
    page = f"/orders/{order.number}/"
    pack = story.any(order.supplier.packs.all())
    bench.fill_in(
        f"{page}lines/new/", {"pack": pack and pack.pk, "count": str(story.dice.randint(0, 4))}
    )
    line = story.any(order.lines.all())
    if line:
        bench.fill_in(
            f"{page}lines/{line.pk}/", {"count": story.dice.choice(("1", "3", "0", "-1"))}
        )
    if story.chance(0.2):
        bench.press(page, f"{page}cancel/")


@act(4, lambda story: _to_receive(story).exists())
def receive_an_order(story):
    bench = story.bench
    order = story.any(_to_receive(story))
    page = f"/orders/{order.number}/receive/"

    def told(form):
        asked = {"reference": story.name("Invoice"), "freight": story.money(0, 9)}
        if story.chance(0.3):
            asked["discount"] = story.money(0, 3)
        if story.chance(0.2):
            asked |= {"currency": "EUR", "rate": words.amount(story.dice, 0.5, 2, 4)}
        if story.chance(0.3):  # only a part has come
            first = next((name for name in form.fields if "count" in name), None)
            asked[first] = "1"
        return asked

    bench.fill_in(page, told)
    bench.open(f"/orders/{order.number}/")


@act(4)
def buy_at_a_shop(story):
    """Put bottles on the shelf that came without an order, and keep what they cost."""
    dice = story.dice
    found = story.any(story.studio.materials.filter(is_stocked=True, archived_at=None))
    if found is None:
        return
    bottles, price = dice.randint(1, 3), Decimal(story.money(0, 40))
    size = {"ml": f"{dice.randint(50, 900)} mL", "g": "50 g"}.get(
        found.unit, str(dice.randint(1, 30))
    )
    freight, discount = (Decimal(story.money(0, 6)) if story.chance(0.4) else 0 for _ in "ab")
    asked = {"bottles": str(bottles), "size": size, "price": str(price)}
    asked |= {"freight": str(freight), "discount": str(discount)}
    if story.chance(0.3):
        asked["received_on"] = words.day(dice, story.today, 30)
    if story.chance(0.2):
        asked |= {
            "currency": dice.choice(("EUR", "JPY", "USD")),
            "rate": words.amount(dice, 0.5, 2),
        }
    answer = story.bench.fill_in(f"/stock/{found.pk}/receive/", asked)
    story.viewer.open(f"/stock/{found.pk}/")
    entry = story.studio.entries.order_by("pk").last()
    if answer and answer.is_done and "rate" not in asked:
        story.ledger.bought[entry.pk] = bottles * price + freight - discount


@act(2)
def receive_by_a_program(story):
    found = story.any(story.studio.materials.filter(is_stocked=True, archived_at=None))
    if found is None:
        return
    receipt = {"material": found.pk, "quantity": "40", "bottles": 2}
    receipt["price"] = story.money(0, 12)
    body = {"receipts": [receipt], "reference": story.name("Web order")}
    answer = story.api.send("deliveries/", body)
    if answer.status == 201:
        entry = story.studio.entries.order_by("pk").last()
        story.ledger.bought[entry.pk] = 2 * Decimal(receipt["price"])


@act(1)
def change_a_price(story):
    pack = story.any(story.studio.packs.all())
    if pack is None:
        return
    asked = {"price": story.money(1, 60)}
    if story.chance(0.4):
        asked["price_breaks"] = story.dice.choice(
            ("3 at 5.00", "2 at 4; 9 at 3", "x at y", "0 at 0")
        )
    story.bench.fill_in(f"/packs/{pack.pk}/edit/", asked)
    story.viewer.open(f"/stock/{pack.material_id}/")
    story.viewer.open(f"/suppliers/{pack.supplier_id}/")


@act(2)
def undo_an_entry(story):
    """Undo something in the ledger, if the product lets one."""
    bench = story.bench
    entry = story.any(story.studio.entries.all())
    bench.open(f"/ledger/{entry.pk}/")
    bench.fill_in(f"/ledger/{entry.pk}/undo/", {"why": story.dice.choice(words.REASONS)})
    story.viewer.open("/ledger/")
