"""Planning: how much a piece takes, what it would cost, when it is ready, which days are worked."""

from urllib.parse import quote

from tests.living import words
from tests.living.acts.registry import act


@act(2)
def plan_a_piece(story):
    size = story.dice.choice((*words.STRANGE_SIZES, *words.STRANGE[:6]))
    palette = story.any(story.studio.palettes.all())
    asked = f"size={quote(size)}&count={story.dice.choice(('1', '4', '0', '1e9', 'x'))}"
    asked += f"&palette={palette.pk if palette else ''}"
    story.viewer.open("/plan/")
    story.viewer.open(f"/plan/?{asked}")
    story.viewer.open(f"/plan/?{asked}", partly=True)
    story.viewer.open(f"/plan/why/base/?{asked}")
    story.viewer.open(f"/plan/mixing/?{asked}")


@act(1)
def look_at_prices(story):
    for page in ("/plan/prices/", "/plan/what-can-i-make/", "/profit/break-even/"):
        shown = story.maker.open(page)
        form = next((one for one in shown.page.forms if one.method == "get"), None)
        if form:
            changes = {}
            for name in list(form.fields)[:3]:
                changes[name] = words.strange(story.dice, form.fields[name], "")
            changes = {name: value for name, value in changes.items() if isinstance(value, str)}
            story.maker.submit(shown, form, changes)


@act(1)
def take_days_off(story):
    page = "/working-days/"
    shown = story.owner.open(page)
    form = shown.page.form("/working-days/off/")
    asked = {"off-first": words.day(story.dice, story.today, 0, 30), "off-reason": "Fair"}
    if story.chance(0.3):
        asked["off-last"] = story.dice.choice(words.STRANGE_DAYS)
    story.owner.submit(shown, form, asked)
    to_come = story.studio.days_off.filter(day__gte=story.today)
    off = story.any(to_come)
    if to_come.count() > 1 and story.chance(0.5):
        story.owner.press(page, f"/working-days/off/{off.pk}/remove/")
    story.viewer.open("/schedule/")


@act(1)
def change_the_hours(story):
    hours = {f"hours_{day}": story.dice.choice(("0", "4", "24", "0.5")) for day in range(7)}
    story.owner.fill_in("/working-days/", hours | {"rack_places": story.dice.choice(("0", "9"))})
    story.viewer.open("/schedule/")
    story.viewer.open("/work-list/")


@act(1)
def subscribe_to_the_calendar(story):
    """Make a private address, whoever has which reads the days; stop an old one."""
    shown = story.owner.press("/schedule/", "/schedule/calendar/")
    link = next(word for word in " ".join(shown.page.text).split() if "/calendar/" in word)
    story.links["calendar"] = link[link.index("/calendar/") :]
    story.stranger.open(story.links["calendar"])
    old = story.studio.calendar_links.order_by("pk").first()
    if story.chance(0.2):
        story.owner.press("/schedule/", f"/schedule/calendar/{old.pk}/revoke/")


@act(1)
def ask_by_a_program(story):
    for path in story.dice.sample(
        (
            "alerts/",
            "running-out/",
            "reorder-plan/",
            "work-list/",
            "schedule/",
            "owed/",
            "holds/",
            "profit/total/",
            "producible/",
            "price-list/",
            "promised/",
            "valuation/",
            "record/",
        ),
        4,
    ):
        story.api.get(path)


@act(1)
def mail_the_alerts(story):
    story.viewer.press("/alerts/", "/alerts/mail/")
    story.command("alerts")
    story.command("tidy")


@act(0.3)
def estimate_at_the_keyboard(story):
    story.command("estimate", "8x8x1.5in", "--technique", "bloom", "--count", "2")
