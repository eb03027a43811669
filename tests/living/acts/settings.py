"""How the studio measures, costs and prices, and since when."""

from tests.living import words
from tests.living.acts.catalogue import one_changed
from tests.living.acts.registry import act

# Money with two decimals, none and three.
CURRENCIES = ("USD", "EUR", "JPY", "KWD", "GBP")
ZONES = ("UTC", "America/New_York", "Pacific/Auckland", "Asia/Kathmandu", "Pacific/Kiritimati")


def beginning(story):
    """Return what a new studio sets on its settings page."""
    dice = story.dice
    currency = dice.choice(CURRENCIES)
    steps = ("1", "100") if currency == "JPY" else ("1", "0.05", "0.5")
    return {
        "currency": currency,
        "labour_rate": dice.choice(("18", "0", "22.5")),
        "overhead_rate": "4",
        "price_by": dice.choice(("margin", "markup")),
        "margin": dice.choice(("25", "33.3", "10")),
        "markup": dice.choice(("40", "100", "12.5")),
        "tax_rate": dice.choice(("0", "6.25", "20", "17.5")),
        "tax_inclusive": dice.choice((None, "on")),
        "rounding_step": dice.choice(steps),
        "deposit": dice.choice(("50", "0", "33")),
        "run_off_value": dice.choice(("base", "nothing")),
        "cup_loss": dice.choice(("5", "7.5", "0")),
    }


@act(2)
def change_a_setting(story):
    story.owner.fill_in("/settings/", lambda form: one_changed(story, form, odd=0.2))
    story.viewer.open("/")


@act(1)
def change_the_zone(story):
    story.owner.fill_in("/settings/", {"time_zone": story.dice.choice(ZONES)})
    story.viewer.open("/schedule/")


@act(0.5, lambda story: not story.studio.quotes.exists())
def change_the_currency(story):
    """Choose another currency while nothing has a price yet."""
    story.owner.fill_in("/settings/", {"currency": story.dice.choice(CURRENCIES)})
    story.maker.open("/profit/")


@act(1)
def change_the_costing(story):
    page = "/settings/costing/"
    asked = {"from_day": words.day(story.dice, story.today, 1, 10)}
    story.owner.fill_in(page, asked)
    waiting = story.any(story.studio.costing_changes.filter(took_effect_at=None, withdrawn_at=None))
    if waiting and story.chance(0.4):
        story.owner.press(page, f"{page}{waiting.pk}/withdraw/")
    story.owner.open("/stock/")
