"""Selling: sets packed and taken apart, sales, refunds, consignment with shops."""

from tests.living import words
from tests.living.acts.registry import act


def _good(story):
    return story.studio.pieces.filter(state="good", piece_set=None)


@act(5, lambda story: _good(story).exists())
def pack(story):
    piece = story.any(_good(story))
    line = piece.pour.line_id
    page = f"/sets/new/?line={line}" if line else "/sets/new/"

    def told(form):
        if "pieces" not in form:
            return None
        if form.fields["pieces"].values and story.chance(0.8):
            return {}
        asked = {"pieces": story.dice.sample(form.fields["pieces"].offered(), 1)}
        if "name" in form:
            asked["name"] = story.name("Set")
        return asked

    story.bench.fill_in(page, told)
    story.viewer.open("/sets/")


def _loose(story):
    return _good(story).filter(pour__line=None)


@act(1, lambda story: _loose(story).exists())
def pack_for_stock(story):
    """Pack pieces that nobody ordered; what was poured for somebody is not for the shop."""
    keys = [str(key) for key in _loose(story).order_by("pk").values_list("pk", flat=True)[:2]]
    asked = {"pieces": keys, "name": story.name("For the shop"), "minutes": "3"}
    story.bench.fill_in("/sets/new/", asked)


@act(1, lambda story: story.studio.sets.filter(unpacked_at=None).exists())
def say_what_a_set_is_for(story):
    found = story.any(story.studio.sets.filter(unpacked_at=None))
    asked = {"use": story.dice.choice(("", "hot", "food", "look")), "why": "The wrong card"}
    story.bench.fill_in(f"/sets/{found.number}/use/", asked)


@act(1, lambda story: story.studio.sets.filter(unpacked_at=None).exists())
def take_a_set_apart(story):
    bench = story.bench
    found = story.any(story.studio.sets.filter(unpacked_at=None))
    bench.open(f"/sets/{found.number}/")
    bench.fill_in(f"/sets/{found.number}/unpack/", {"why": "Wrong box"})


@act(5, lambda story: story.studio.sets.for_sale().exists())
def sell(story):
    work = story.any(story.studio.commissions.filter(status__in=("ready", "in_work", "accepted")))
    page = "/sales/new/"
    if work and story.chance(0.6):
        page += f"?commission={work.number}"

    def told(form):
        asked, prices = {}, [name for name in form.fields if name.startswith("price_")]
        channels = form.fields["channel"].offered() if "channel" in form else []
        asked["channel"] = story.dice.choice(channels) if channels else ""
        if not any(form.fields[name].values[0] for name in prices):
            for name in story.dice.sample(prices, min(2, len(prices))):
                asked[name] = story.money(8, 90)
        if "how" in form:
            asked["how"] = story.dice.choice(form.fields["how"].offered())
        if story.chance(0.3):
            asked |= {"shipping_charged": "7", "shipping_paid": story.money(1, 9)}
        return asked

    with story.paying_unseen():  # what is still owed is paid along with it
        story.bench.fill_in(page, told)
    for seen in ("/sales/", "/profit/"):
        story.maker.open(seen)


@act(2, lambda story: story.studio.sales.exists())
def refund(story):
    sale = story.any(story.studio.sales.all())
    asked = {"why": story.dice.choice(words.REASONS), "fees_kept": story.dice.choice(("", "0.25"))}
    asked["returned"] = story.dice.choice(("on", None))
    with story.paying_unseen():
        story.bench.fill_in(f"/sales/{sale.number}/refund/", asked)
    story.maker.open(f"/sales/{sale.number}/")


@act(2, lambda story: story.studio.sets.for_sale().exists())
def send_to_a_shop(story):
    ready = story.studio.sets.for_sale()
    found = story.any(ready.filter(line=None)) or story.any(ready)

    def told(form):
        shops = form.fields["channel"].offered() if "channel" in form else []
        return {"channel": shops[0], f"price_{found.pk}": "48"} if shops else None

    story.bench.fill_in("/consignments/new/", told)
    story.maker.open("/consignments/")


@act(2, lambda story: story.studio.consignments.exists())
def settle_with_a_shop(story):
    found = story.any(story.studio.consignments.all())
    page = f"/consignments/{found.number}/"

    def told(form):
        names = [name for name in form.fields if name.startswith("outcome_")]
        return {name: story.dice.choice(form.fields[name].offered()) for name in names} or None

    story.bench.fill_in(f"{page}settle/", told)
    story.maker.open(page)


@act(1)
def appraise(story):
    def told(form):
        things = form.fields["thing"].offered()
        if not things:
            return None
        asked = {"thing": story.dice.choice(things), "reason": "Skinned over"}
        return asked | {"value": story.dice.choice(("0", "3.50", "1000"))}

    story.owner.fill_in("/valuation/appraise/", told)
    made = story.any(story.studio.appraisals.filter(withdrawn_at=None))
    if made and story.chance(0.3):
        story.owner.press("/valuation/", f"/valuation/appraisals/{made.pk}/withdraw/")
    story.maker.open("/valuation/")
