"""How every story begins: accounts, a studio with its shelves, a second one, a neighbour's."""

import re

from studio.models import Studio
from tests.living import tables, words
from tests.living.acts import catalogue, settings

PASSWORD = "Tilt-and-swirl-27"
LINK = re.compile(r"https?://[^/\s]+(/(?:join|q)/[\w-]+/?)")


def open_everything(story):
    """Open the studio with its people, its neighbour and what it works with."""
    dice = story.dice
    place = dice.choice(("us", "gb", "de", "au", "in", "za", "ec"))
    costing = dice.choice(("fifo", "moving_average"))
    story.studio = open_studio(story, story.owner, "Larch Street Studio", place, costing, "ada")
    must(story.owner.fill_in("/settings/", settings.beginning(story)))
    invite(story, story.maker, "maker", "bo")
    invite(story, story.viewer, "viewer", "cam")
    story.api = story.program(token(story.owner, "Stock script"), story.owner.mark)
    furnish(story, story.owner, story.studio, words.MAIN)
    neighbour = open_studio(story, story.neighbour, "Gull Yard", "us", "fifo", "nan")
    story.neighbouring = neighbour
    story.judge.marks = {"studio": words.MAIN, "neighbour": words.NEIGHBOUR}
    story.neighbour_api = story.program(token(story.neighbour, "Mine"), story.neighbour.mark)
    furnish(story, story.neighbour, neighbour, story.neighbour.mark, few=True)


def must(answer):
    """See that what a story begins with was done; returns the answer."""
    assert answer is not None and answer.is_done, answer and (answer.address, answer.page.told)
    return answer


def open_studio(story, person, name, place, costing, who=None):
    """Sign up (or open another studio of one's own); returns the studio."""
    known = set(Studio.objects.values_list("pk", flat=True))
    asked = {"studio_name": name}
    if who:
        person.account = f"{who}@studio.example"
        asked |= {"person": who.title(), "email": person.account, "password": PASSWORD}
        person.password = PASSWORD
    else:
        person.open("/")  # signs in where the session has run out
    must(person.fill_in("/start/", asked))
    must(person.fill_in("/starting/", {"country": place, "makes": ["canvases"]}))
    studio = Studio.objects.exclude(pk__in=known).get()
    # A method is changed from a day on, and this one was always so.
    Studio.objects.filter(pk=studio.pk).update(costing=costing)
    studio.refresh_from_db()
    return studio


def invite(story, person, role, who):
    """Let the owner invite somebody, trusted as a maker, who joins with a new account."""
    person.account, person.password = f"{who}@studio.example", PASSWORD
    shown = story.owner.fill_in(
        "/people/invite/", {"email": person.account, "role": role, "sees_costs": "on"}
    )
    link = LINK.search(" ".join(shown.page.text))[1]
    story.links["join"] = link
    asked = {"person": who.title(), "email": person.account, "password": PASSWORD}
    person.fill_in(link, asked)


def token(person, label):
    """Make a token on the page and copy it from there; returns it."""
    shown = person.fill_in("/tokens/", {"label": label})
    told = shown.page.text
    return told[next(i for i, text in enumerate(told) if text.startswith("Copy the token")) + 1]


def furnish(story, person, studio, mark, few=False):
    """Bring in suppliers, materials, prices and a shelf by files, and the rest by forms."""
    kinds = ("suppliers", "materials", "packs", "opening-stock")
    for kind in kinds[: 2 if few else 4]:
        body = tables.beginning(story, kind, mark)
        must(catalogue.bring_in(person, kind, body, story.chance(0.5)))
    if few:
        must(person.fill_in("/customers/new/", {"name": story.name(words.CUSTOMERS[0], mark)}))
        return
    for add in (
        *(catalogue.add_surfaces, catalogue.add_recipes, catalogue.add_palette),
        *(catalogue.add_kit, catalogue.add_channels, catalogue.add_product),
    ):
        must(add(story, person, studio, mark))
    hours = {f"hours_{day}": str(story.dice.choice((0, 2, 4, 6))) for day in range(5)}
    person.fill_in("/working-days/", hours | {"hours_1": "5", "rack_places": "24"})
