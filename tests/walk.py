"""A walk through every page of a studio by the test client: what there is, and who sees it."""

import os
from collections import Counter
from dataclasses import dataclass
from urllib.parse import parse_qsl, urldefrag, urlencode, urlsplit

from django.test import Client
from django.urls import reverse

from tests.addresses import (
    BUTTON,
    ON,
    PAGE,
    PAPER,
    REFUSED,
    addresses,
    kind_of,
    page_at,
    pages,
    roles_of,
)
from tests.factories import world as worlds
from tests.forms import Form, read_page

MOST_ALIKE = 3  # of links to one page that ask in the same way
# Of the rows that a page stands for it is opened for so many, spread over all of them, unless all
# are asked for, as `.ci/long every_row` does.
SOME = 5
EVERY_ROW = os.environ.get("EVERY_ROW") == "yes"
FILES = (".pdf", ".zip", ".csv", ".xlsx")


class Browser:
    """Somebody's browser, whose forms need the token of the page."""

    def __init__(self, user=None):
        self.client = Client(enforce_csrf_checks=True)
        self.user = user
        if user:
            self.client.force_login(user)

    def open(self, address):
        """Return what is at an address."""
        answer = self.client.get(address)
        assert answer.status_code < 500, address
        return answer


@dataclass(frozen=True)
class Visit:
    """What somebody found at an address, with its forms and links if it is a page."""

    who: Browser
    address: str
    kind: str
    forms: list[Form]
    links: list[str]


def visit(who, address):
    answer = who.open(address)
    kind = kind_of(answer)
    if answer.streaming:
        b"".join(answer)  # to its end, which closes it
    read = read_page(answer.content.decode(), address) if kind == PAGE else ([], [])
    return Visit(who, address, kind, *read)


def browsers(world):
    """Return a function from a pattern to those who can use its page, the likeliest first."""
    nobody, newcomer, owner = Browser(), Browser(worlds.newcomer()), Browser(world.user)
    by_role = {
        "anyone": (nobody, newcomer),
        "link holder": (nobody, newcomer),
        "signed in": (owner, newcomer),
    }

    def who(pattern):
        (role,) = roles_of(pattern)
        return by_role.get(role, (owner,))

    return who


def some_of(rows):
    """Return some rows, the first and the last among them; or all."""
    if EVERY_ROW or len(rows) <= SOME:
        return rows
    return [rows[place * (len(rows) - 1) // (SOME - 1)] for place in range(SOME)]


def every_page(world):
    """Open every page with some rows or all, and what pages link to with a question behind it."""
    who, seen, alike = browsers(world), {}, Counter()
    waiting = [
        (browser, address)
        for path, pattern in pages()
        for browser in who(pattern)
        for address in some_of(addresses(path, pattern, world))
        if not address.endswith(FILES)
    ]
    waiting.append((Browser(world.user), a_plan(world)))
    for browser, address in waiting:  # grows as it goes
        if (browser, address) in seen:
            continue
        found = seen[browser, address] = visit(browser, address)
        for link in questions(found):
            if alike[asked(link)] < MOST_ALIKE and (browser, link) not in seen:
                alike[asked(link)] += 1
                waiting.append((browser, link))
    return [found for found in seen.values() if found.kind == PAGE]


def a_plan(world):
    """Return the address of the planner once somebody has typed a size and chosen the rest."""
    palette, topcoat = world.studio.palettes.first(), world.studio.resin_kits.first()
    asked = {"size": "8 × 8 × 1½ in", "count": 2, "palette": palette.pk, "topcoat": topcoat.pk}
    return f"{reverse('planner')}?{urlencode(asked)}"


def questions(found):
    """Return the addresses a page links to that ask for something, such as one size, in order."""
    links = dict.fromkeys(urldefrag(link).url for link in found.links)
    links = [found.address, *links]
    return [link for link in links if urlsplit(link).query and page_at(link)]


def asked(link):
    """Return the page a link leads to and the names of what it asks, which tell links apart."""
    return page_at(link), tuple(sorted(name for name, _ in parse_qsl(urlsplit(link).query)))


# The better something opens, the earlier.
RANK = (PAGE, PAPER, ON, BUTTON, REFUSED)


def one_of_each(world):
    """Return {name: `Visit`} of every pattern, at the first row for which it opens.

    Pages that others link to with a question behind them are there too, once for each way of
    asking, as ``name?what``; an address that opens only when asked something is found by that.
    Where nothing opens, the visit says what was answered: that it takes only a form, say.
    """
    who, found = browsers(world), {}
    for path, pattern in pages():
        found[pattern.name] = _first(who(pattern), addresses(path, pattern, world))
    waiting, seen = [*found.values(), visit(found["home"].who, a_plan(world))], set()
    for one in waiting:  # grows as it goes
        for link in questions(one):
            if asked(link) not in seen:
                seen.add(asked(link))
                page, names = asked(link)
                opened = visit(one.who, link)
                waiting.append(opened)
                if found[page].kind in (PAGE, PAPER):
                    page = f"{page}?{'&'.join(names)}"
                found[page] = opened
    return found


def _first(who, tries):
    best = None
    for address in tries:
        for browser in who:
            one = visit(browser, address)
            if best is None or RANK.index(one.kind) < RANK.index(best.kind):
                best = one
            if best.kind in (PAGE, PAPER):
                return best
    return best
