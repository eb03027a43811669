"""Every page that the address configuration knows, at addresses of rows that a studio has.

Nothing here lists pages: the patterns are the product's own, and what stands in an address is
looked up by the start of its path. A new kind of row needs a line in ``ROWS``, and is missed until
it has one (`NoRow`).
"""

from dataclasses import dataclass, field
from hashlib import sha256
from urllib.parse import urlsplit

from django.urls import Resolver404, resolve, reverse
from django.urls.resolvers import RegexPattern

from inventory.models import OrderLine, ShelfCountLine
from inventory.stock.imports import SHEETS
from inventory.stock.views.bottle_acts import TAKES
from pricing.earnings.hindsight import hindsight
from pricing.exports import LISTS
from pricing.models import CommissionLine, FinishedPiece, QuoteLink, Topcoating, Weighing
from pricing.quoting.tiles import tiles_shown
from studio import jobs
from studio.passwords import way_in
from tests.studio.test_routes import roles_of, routes

OPEN = {"anyone", "link holder"}


class NoRow(LookupError):
    """No row stands for a parameter of an address."""


@dataclass
class World:
    """A studio with rows of every kind, its owner's account, and the secrets of its links.

    ``secrets`` is {first part of the path: secrets}: they are shown once, so whoever makes a link
    puts them here.
    """

    studio: object
    user: object
    secrets: dict = field(default_factory=lambda: {"q": [], "join": [], "calendar": []})


def pages():
    """Yield (path, pattern) of every address of a page, paper or button; the API has its own."""
    for path, pattern in routes():
        if not path.startswith("api/"):
            yield path, pattern


def is_open(pattern):
    """Tell whether an address is for somebody who has not signed in."""
    return roles_of(pattern) <= OPEN


def _of(relation, name="pk", state=None):
    """Return a function from a world to the keys of its studio's rows.

    With ``state``, of the rows for which it returns the same only the first and the last.
    """

    def found(world):
        rows = list(getattr(world.studio, relation).order_by("pk"))
        return [{name: getattr(row, name)} for row in _of_each(state, rows)]

    return found


def _of_each(state, rows):
    if state is None:
        return rows
    states = {}
    for row in rows:
        alike = states.setdefault(state(row), [])
        alike[1:] = [row] if alike else []
        alike[:1] = alike[:1] or [row]
    return [row for alike in states.values() for row in alike]


def _bottle_state(bottle):
    unit = bottle.material.unit
    return unit, bool(bottle.remaining), bool(bottle.tare_g), bool(bottle.opened_on)


def _entry_state(entry):
    return frozenset(entry.movements.values_list("kind", flat=True)), entry.reverses_id is None


def _secrets(place):
    return lambda world: [{"secret": secret} for secret in world.secrets[place]]


def _names(name, names):
    return lambda world: [{name: one} for one in names]


def _inside(model, path, state=None, **names):
    """Return a function to {parameter: value} of rows of a model, reached from the studio."""

    def found(world):
        rows = model.objects.filter(**{path: world.studio}).order_by("pk")
        return [
            {name: _value(row, path) for name, path in names.items()}
            for row in _of_each(state, list(rows))
        ]

    return found


def _value(row, path):
    for name in path.split("__"):
        row = getattr(row, name)
    return row


def _count_line_state(line):
    return line.count_id, line.undone_at is None, line.at is None, bool(line.left_out)


def _of_links(names):
    """Return a function to {parameter: value} of the test tiles that customers' links show."""

    def found(world):
        links = QuoteLink.objects.filter(quote__studio=world.studio, revoked_at=None)
        rows = []
        for secret in world.secrets["q"]:
            link = links.filter(digest=sha256(secret.encode()).hexdigest()).first()
            for tile in tiles_shown(link.quote) if link else ():
                rows += [{"secret": secret, **row} for row in names(tile)]
        return rows

    return found


BOTTLES = _of("bottles", "code", _bottle_state)
# By the start of the path, the longest first; each gives the parameters that the start names.
ROWS = {
    "studios/<int:pk>": lambda world: [
        {"pk": pk} for pk in world.user.memberships.values_list("studio", flat=True)
    ],
    "people/<int:pk>": _of("memberships"),
    "people/invitations/<int:pk>": _of("invitations"),
    "join/<str:secret>": _secrets("join"),
    "in-and-out/import/<slug:kind>": _names("kind", SHEETS),
    "in-and-out/<slug:name>": _names("name", LISTS),
    "stock/<int:pk>": _of("materials"),
    "bottles/<slug:code>": BOTTLES,
    r"^bottles/(?P<code>[\w-]+)": BOTTLES,
    "counts/<int:number>": _of("shelf_counts", "number"),
    "counts/<int:number>/bottles/<slug:code>": _inside(
        ShelfCountLine,
        "count__studio",
        _count_line_state,
        number="count__number",
        code="bottle__code",
    ),
    "b/<int:studio>/<slug:code>": lambda world: [
        {"studio": world.studio.pk, **row} for row in BOTTLES(world)
    ],
    "s/<int:studio>/<int:number>": lambda world: [
        {"studio": world.studio.pk, **row} for row in _of("sets", "number")(world)
    ],
    "p/<int:studio>/<int:number>": lambda world: [
        {"studio": world.studio.pk, **row} for row in _of("pours", "number")(world)
    ],
    "ledger/<int:pk>": _of("entries", state=_entry_state),
    "suppliers/<int:pk>": _of("suppliers"),
    "packs/<int:pk>": _of("packs"),
    "orders/<int:number>": _of("purchase_orders", "number"),
    "orders/<int:number>/lines/<int:pk>": _inside(
        OrderLine, "order__studio", number="order__number", pk="pk"
    ),
    "settings/costing/<int:pk>": _of("costing_changes"),
    "recipes/<int:pk>": _of("recipes"),
    "plan/why/<slug:layer>": _names("layer", ("base", "colours", "activator", "topcoat")),
    "commissions/<int:number>": _of("commissions", "number"),
    "commissions/<int:number>/pieces/<int:pk>": _inside(
        CommissionLine, "commission__studio", number="commission__number", pk="pk"
    ),
    "quotes/<int:pk>": _of("quotes"),
    "q/<str:secret>": _secrets("q"),
    "q/<str:secret>/tiles/<int:number>": _of_links(lambda tile: [{"number": tile.pour.number}]),
    "q/<str:secret>/pictures/<int:pk>": _of_links(
        lambda tile: [{"pk": picture.pk} for picture in tile.pictures]
    ),
    "schedule/calendar/<int:pk>": _of("calendar_links"),
    "calendar/<str:secret>": _secrets("calendar"),
    "working-days/off/<int:pk>": _of("days_off"),
    "payments/<int:number>": _of("payments", "number"),
    "invoices/<int:number>": _of("invoices", "number"),
    "batches/<int:pk>": _of("batches"),
    "pours/<int:number>": _of("pours", "number"),
    "pours/<int:number>/answer": lambda world: [
        {"number": pour.number} for pour in world.studio.pours.filter(line__is_test=True)
    ],
    "pours/<int:number>/topcoat/<int:pk>": _inside(
        Topcoating, "studio", number="pour__number", pk="pk"
    ),
    "pours/<int:number>/pieces/<int:piece>": _inside(
        FinishedPiece,
        "studio",
        lambda piece: (piece.state, piece.verdict, bool(piece.recovery_id)),
        number="pour__number",
        piece="number",
    ),
    "pours/<int:number>/weighings/<int:pk>": _inside(
        Weighing, "studio", number="piece__pour__number", pk="pk"
    ),
    "pairs/<int:number>": _of(
        "paired_tests",
        "number",
        lambda test: (test.is_poured, test.is_rated, test.revealed_at is None),
    ),
    "sets/<int:number>": _of("sets", "number"),
    "sales/<int:number>": _of("sales", "number"),
    "profit/forecast/<int:number>": lambda world: [
        {"number": one.commission.number} for one in hindsight(world.studio)
    ],
    "consignments/<int:number>": _of("consignments", "number"),
    "pictures/<int:pk>": _of("pictures"),
    "profit/closing/<int:pk>": _of("closings"),
    "valuation/appraisals/<int:pk>": _of("appraisals"),
    "customers/<int:pk>": _of("customers"),
    "channels/<int:pk>": _of("channels"),
    "surfaces/<int:pk>": _of("surfaces"),
    "techniques/<int:pk>": _of("techniques"),
    "resin-kits/<int:pk>": _of("resin_kits"),
    "products/<int:pk>": _of("products"),
    "palettes/<int:pk>": _of("palettes"),
    "background/<int:pk>": _of("background_tasks"),
    "background/mails/<int:pk>": _of("mails"),
    "background/jobs/<uuid:key>": lambda world: [
        {"key": job.pk} for _, job in jobs.standing(world.studio.pk).failed
    ],
    "password/new/<uidb64>/<token>": lambda world: [
        dict(zip(("uidb64", "token"), way_in(world.user).split("/")[-3:-1], strict=True))
    ],
}
# What else may stand in an address, whatever the row.
CHOICES = {
    "extension": ("csv", "xlsx", "pdf"),
    "size": ("full", "small"),
    "how": tuple(TAKES),
}


def parameters(pattern):
    if isinstance(pattern.pattern, RegexPattern):
        return set(pattern.pattern.regex.groupindex)
    return set(pattern.pattern.converters)


def addresses(path, pattern, world):
    """Return the addresses of a page, one for each row (and choice) that it can be opened for.

    Raises `NoRow` if the world has no row for it, or nothing here knows what its parameter is.
    """
    wanted = parameters(pattern)
    if not wanted:
        return [reverse(pattern.name)]
    known = [start for start in ROWS if path.startswith(start)]
    rows = ROWS[max(known, key=len)](world) if known else [{}]
    for name in sorted(wanted & CHOICES.keys()):
        rows = [row | {name: one} for row in rows for one in CHOICES[name]]
    if not rows or set(rows[0]) != wanted:
        raise NoRow(f"{path}: no row for {', '.join(sorted(wanted))}")
    return [reverse(pattern.name, kwargs=row) for row in rows]


PAGE, PAPER, BUTTON, ON, REFUSED = "page", "paper", "button", "leads on", "refused"


def kind_of(response):
    """Tell what an address turned out to be by what it answered when it was opened."""
    if response.status_code == 200:
        is_page = response["Content-Type"].startswith("text/html")
        return PAGE if is_page else PAPER
    kinds = {301: ON, 302: ON, 405: BUTTON, 403: REFUSED, 404: REFUSED, 409: REFUSED}
    return kinds[response.status_code]


def page_at(address):
    """Return the name of the page at an address, or None where there is none."""
    try:
        return resolve(urlsplit(address).path).url_name
    except Resolver404:
        return None
