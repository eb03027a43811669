"""Commissions: asked for, priced, sent, answered by the customer on their private link."""

from datetime import timedelta

from pricing.commissions.likeness import pours_to_like
from tests.living import words
from tests.living.acts.opening import LINK
from tests.living.acts.pouring import pour
from tests.living.acts.registry import act


def enquire(story, lines=None):
    """Take an enquiry down with its lines; returns the commission."""
    bench = story.bench
    dice = story.dice
    asked = {"title": story.name(dice.choice(words.TITLES))}
    customer = story.any(story.studio.customers.filter(archived_at=None))
    if customer and story.chance(0.5):
        asked["customer"] = customer.pk
    else:
        asked |= {"new_customer": story.name(dice.choice(words.CUSTOMERS)), "new_email": ""}
    if story.chance(0.6):
        asked["due_on"] = (story.today + timedelta(days=dice.randint(2, 80))).isoformat()
    if (pour := story.any(pours_to_like(story.studio))) and story.chance(0.3):
        asked["like"] = pour.number
    known = set(story.studio.commissions.values_list("pk", flat=True))
    bench.fill_in("/commissions/new/", asked)
    made = story.studio.commissions.exclude(pk__in=known).first()
    for one in lines or [_line(story) for _ in range(dice.choice((1, 1, 2)))]:
        if made:
            bench.fill_in(f"/commissions/{made.number}/pieces/new/", one)
    return made


def _line(story, words_in_surface=None):
    """Return a line as it is typed: a size that is kept, or one that is not."""
    dice, studio = story.dice, story.studio
    surfaces = studio.surfaces.filter(archived_at=None, material__isnull=False)
    surface = story.any(surfaces)
    palette = story.any(studio.palettes.filter(archived_at=None))
    technique = story.any(studio.techniques.filter(is_offered=True))
    kit = story.any(studio.resin_kits.filter(archived_at=None))
    asked = {
        "surface": surface and surface.pk,
        "technique": technique and technique.pk,
        "palette": palette and palette.pk,
        "quantity": str(dice.choice((1, 1, 2, 3))),
        "pieces_each": str(dice.choice((1, 1, 4))),
    }
    if not surface or story.chance(0.15):
        asked |= {"surface": "", "size": dice.choice(words.STRANGE_SIZES)}
    if kit and story.chance(0.4):
        asked["topcoat"] = kit.pk
    box = story.any(studio.materials.filter(kind="packaging", archived_at=None))
    if box and story.chance(0.5):
        asked["packaging"] = box.pk
    return asked


def price(story, commission, answer=True):
    """Price a commission, send the quote, make the customer's link; returns the link or None."""
    asked = {}
    if story.chance(0.4):
        asked = {
            "rush": "10",
            "discount": story.dice.choice(("0", "7.5")),
            "shipping": story.money(1, 9),
        }
    known = set(commission.quotes.values_list("pk", flat=True))
    story.owner.fill_in(f"/commissions/{commission.number}/price/", asked)
    quote = commission.quotes.exclude(pk__in=known).first()
    if quote is None:
        return None
    page = f"/quotes/{quote.pk}/"
    story.owner.press(page, f"{page}send/")
    shown = story.owner.press(page, f"{page}link/")
    found = shown and LINK.search(" ".join(shown.page.text))
    if not found:
        return None
    story.links["quote"] = found[1]
    story.links.setdefault("quotes", []).append((commission.number, found[1]))
    return found[1]


def answer_by_link(story, link, accepts=True):
    """Let the customer open their link and answer as the page offers."""
    customer = story.stranger
    shown = customer.open(link)
    customer.load(shown)
    form = shown.page.form(f"{link}{'accept' if accepts else 'decline'}/")
    if form is None:
        return None
    changes = {} if accepts else {"no-name": "Wren Alder", "no-note": "Too dear"}
    return customer.submit(shown, form, changes)


@act(2)
def show_a_tile(story):
    """Price a test tile beside the rest, pour it, and let the customer say what they think."""
    made = enquire(story)
    if not made:
        return
    tile = {**_line(story), "quantity": "1", "pieces_each": "1", "packaging": "", "is_test": "on"}
    kept = story.any(story.studio.surfaces.filter(archived_at=None, material__isnull=False))
    tile |= {"surface": kept.pk, "size": ""} if kept else {}
    story.bench.fill_in(f"/commissions/{made.number}/pieces/new/", tile)
    link = price(story, made)
    line = made.lines.filter(is_test=True).last()
    if not link or not line:
        return
    answer_by_link(story, link)
    pour(story, f"/pours/new/?line={line.pk}", 1, pictured=1)
    shown = story.stranger.open(link)
    for poured in line.pours.all():
        form = shown.page.form(f"{link}tiles/{poured.number}/")
        if form and story.chance(0.5):
            story.stranger.submit(shown, form, {"note": "Less blue", "name": "Wren Alder"})
        elif form:
            body = {"pour": poured.number, "accepted": True, "name": "Wren Alder"}
            story.api.send("tile-answers/", body)


@act(6)
def enquiry(story):
    made = enquire(story)
    if made:
        story.viewer.open(f"/commissions/{made.number}/")
        story.viewer.open("/commissions/")


@act(7, lambda story: story.studio.commissions.filter(status__in=("enquiry", "quoted")).exists())
def quote_and_answer(story):
    commission = story.any(story.studio.commissions.filter(status__in=("enquiry", "quoted")))
    link = price(story, commission)
    if link and story.chance(0.85):
        story.clock.go_on(hours=story.dice.randint(1, 60))
        told = answer_by_link(story, link, accepts=story.chance(0.8))
        if told and told.status >= 400:
            story.judge.find("a customer cannot answer on their link", "POST", link)
    story.viewer.open(f"/commissions/{commission.number}/")
    story.viewer.open("/reorder/")


@act(1.5)
def two_of_the_same_canvas(story):
    """Two customers accept the same canvas, and the pages that add up what is promised open."""
    surface = (
        story.studio.surfaces.filter(archived_at=None, material__isnull=False).order_by("pk").last()
    )
    if surface is None:
        return
    line = _line(story) | {"surface": surface.pk, "size": "", "quantity": "1"}
    for _ in range(2):
        made = enquire(story, [line])
        link = made and price(story, made)
        if link:
            answer_by_link(story, link)
    for page in ("/", "/reorder/", "/promised/", "/work-list/", "/schedule/", "/mixing/"):
        story.viewer.open(page)


@act(2, lambda story: story.links.get("quotes"))
def look_at_an_old_link(story):
    _, link = story.dice.choice(story.links["quotes"])
    shown = story.stranger.open(link)
    if shown.status == 200:
        story.stranger.open(f"{link}quote.pdf")
        if story.chance(0.3):
            answer_by_link(story, link, accepts=story.chance(0.6))


@act(1, lambda story: story.studio.quotes.exists())
def answer_for_the_customer(story):
    bench = story.bench
    quote = story.any(story.studio.quotes.all())
    page = f"/quotes/{quote.pk}/"
    bench.open(page)
    bench.fill_in(f"{page}{story.dice.choice(('accept', 'accept', 'decline'))}/")
    if story.chance(0.3):
        story.owner.press(page, f"{page}link/revoke/")


@act(2, lambda story: story.studio.commissions.exists())
def change_a_commission(story):
    bench = story.bench
    dice = story.dice
    commission = story.any(story.studio.commissions.all())
    page = f"/commissions/{commission.number}/"
    what = dice.choice(("edit", "line", "remove", "step", "promise"))
    line = story.any(commission.lines.all())
    if what == "edit":
        asked = {"due_on": dice.choice((*words.STRANGE_DAYS, words.day(dice, story.today, 0, 60)))}
        bench.fill_in(f"{page}edit/", asked)
    elif what == "line" and line:
        bench.fill_in(f"{page}pieces/{line.pk}/", {"quantity": str(dice.randint(1, 3))})
    elif what == "remove" and line:
        bench.press(f"{page}pieces/{line.pk}/", f"{page}pieces/{line.pk}/remove/")
        bench.press(page, f"{page}pieces/{line.pk}/remove/")
    elif what == "step":
        bench.press(page, f"{page}step/", {"note": dice.choice(("", "By hand"))})
    else:
        day = words.day(dice, story.today, 2, 60)
        shown = bench.open(f"{page}promise/?promised_on={day}")
        form = shown.page.form(f"{page}promise/keep/")
        if form:
            bench.submit(shown, form)
    story.viewer.open(page)
    story.viewer.open("/")
