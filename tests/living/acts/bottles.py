"""What is done with single bottles: used, weighed, poured over, thrown away, labelled."""

from tests.living import words
from tests.living.acts.registry import act


def _filled(story):
    return story.studio.bottles.filter(remaining__gt=0)


def _are_there(story):
    return _filled(story).exists()


def _any(story):
    return story.any(_filled(story))


def _some(story, bottle):
    """Return an amount as it is typed: less than is there, all of it, or far too much."""
    unit = {"ml": " mL", "g": " g"}.get(bottle.material.unit, "")
    much = bottle.remaining * story.dice.choice((1, 2, 3, 5, 10, 40)) / 10
    places = 0 if not unit else story.dice.choice((0, 1, 3))
    return f"{much:.{places}f}{unit}"


@act(4, _are_there)
def take_from_a_bottle(story):
    found = _any(story)
    how = story.dice.choice(("use", "use", "waste", "send-back"))
    asked = {"quantity": _some(story, found), "why": story.dice.choice(words.REASONS)}
    story.bench.fill_in(f"/bottles/{found.code}/{how}/", asked)
    story.viewer.open(f"/bottles/{found.code}/")


@act(3, _are_there)
def weigh_a_bottle(story):
    found = _any(story)
    tare = float(found.tare or 10)
    gross = tare + float(found.remaining) * story.dice.uniform(0.2, 1.1)
    if story.chance(0.1):
        gross = story.dice.choice((0, 49_999, tare - 1))
    story.bench.fill_in(f"/bottles/{found.code}/weigh/", {"gross_g": f"{gross:.1f}"})


@act(2, _are_there)
def count_a_bottle(story):
    found = _any(story)
    story.bench.fill_in(f"/bottles/{found.code}/count/", {"quantity": _some(story, found)})


@act(2, _are_there)
def pour_a_bottle_over(story):
    found = _any(story)
    asked = {"quantity": story.dice.choice(("", _some(story, found)))}
    if story.chance(0.3):
        asked |= {"code": f"N{story.dice.randint(1, 99)}", "tare_g": "20", "over_capacity": "on"}

    def told(form):
        into = form.fields["into"].offered() if "into" in form else []
        return asked | ({"into": story.dice.choice(into)} if into and story.chance(0.5) else {})

    story.bench.fill_in(f"/bottles/{found.code}/decant/", told)


@act(1, _are_there)
def open_a_bottle(story):
    found = _any(story)
    story.bench.press(f"/bottles/{found.code}/", f"/bottles/{found.code}/open/")


@act(1, _are_there)
def change_a_bottle(story):
    found = _any(story)
    asked = {"place": story.dice.choice(("Shelf 1", "Bench", "Rack", words.STRANGE[0]))}
    if story.chance(0.4):
        asked["expires_on"] = words.day(story.dice, story.today, 30, 90)
    if story.chance(0.2):
        asked["opened_on"] = story.dice.choice(words.STRANGE_DAYS)
    story.bench.fill_in(f"/bottles/{found.code}/edit/", asked)
    story.viewer.open("/bottles/?q=Bench")


@act(1, _are_there)
def use_by_a_program(story):
    """Take the same from a bottle as a program does, sent twice."""
    found = _any(story)
    how, body = story.dice.choice(
        (
            ("use", {"quantity": "3"}),
            ("waste", {"quantity": "1", "why": "Spilt"}),
            ("weigh", {"gross_g": "60"}),
            ("count", {"quantity": "5"}),
            ("open", {}),
        )
    )
    story.api.send(f"bottles/{found.code}/{how}/", body, twice=True)


@act(0.5, _are_there)
def print_labels(story):
    bench = story.bench
    codes = (
        story.studio.bottles.filter(remaining__gt=0).order_by("pk").values_list("code", flat=True)
    )
    shown = bench.open(f"/bottles/labels/print/?bottle={codes[0]}")
    form = shown.page.form("/bottles/labels/sheet.pdf")
    bench.submit(shown, form, {"start": story.dice.choice(("1", "7", "0", "31"))})
    story.stranger.open(f"/b/{story.studio.pk}/{codes[0]}/")
