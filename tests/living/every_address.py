"""Every address that the product knows, with the story's own rows for what stands in them."""

import re
from dataclasses import dataclass, field
from functools import cache

from django.contrib.auth import get_user_model
from django.urls import reverse

from inventory.stock.views.bottle_acts import TAKES
from pricing.earnings.hindsight import hindsight
from pricing.errors import LinkGone
from pricing.quoting.quote_links import link_of
from pricing.quoting.tiles import tiles_shown
from studio import background
from studio.passwords import way_in
from tests.api.routes import methods_of
from tests.studio.test_routes import roles_of, routes

# The studio's rows behind an address, by how its path begins; the longest beginning counts.
ROWS = {
    "stock/": "materials",
    "bottles/": "bottles",
    "counts/": "shelf_counts",
    "ledger/": "entries",
    "suppliers/": "suppliers",
    "packs/": "packs",
    "orders/": "purchase_orders",
    "settings/costing/": "costing_changes",
    "recipes/": "recipes",
    "commissions/": "commissions",
    "quotes/": "quotes",
    "schedule/calendar/": "calendar_links",
    "working-days/off/": "days_off",
    "payments/": "payments",
    "invoices/": "invoices",
    "batches/": "batches",
    "pours/": "pours",
    "pairs/": "paired_tests",
    "weighings/": "weighings",
    "sets/": "sets",
    "pieces/": "pieces",
    "sales/": "sales",
    "profit/forecast/": "commissions",
    "profit/closing/": "closings",
    "consignments/": "consignments",
    "pictures/": "pictures",
    "valuation/appraisals/": "appraisals",
    "customers/": "customers",
    "channels/": "channels",
    "surfaces/": "surfaces",
    "techniques/": "techniques",
    "resin-kits/": "resin_kits",
    "products/": "products",
    "palettes/": "palettes",
    "background/": "background_tasks",
    "background/mails/": "mails",
    "people/": "memberships",
    "people/invitations/": "invitations",
    # Only in the API
    "materials/": "materials",
    "entries/": "entries",
    "deliveries/": "deliveries",
    "costing-changes/": "costing_changes",
    "calendar-links/": "calendar_links",
    "days-off/": "days_off",
    "appraisals/": "appraisals",
    "closings/": "closings",
    "gone-on/": "gone_on",
    "tile-answers/": "tile_answers",
}
# A second row in an address, found through the first.
INNER = {"lines": "lines", "pieces": "lines", "topcoat": "topcoatings", "topcoats": "topcoatings"}
# What is not a row.
CHOICES = {
    "kind": ("materials", "suppliers", "packs", "opening-stock", "counts"),
    "extension": ("csv", "xlsx", "pdf"),
    "layer": ("base", "colours", "activator"),
    "size": ("small", "full"),
    "how": tuple(TAKES),
}
MOST_ROWS = 1  # of one kind, for one address


@dataclass(frozen=True)
class Route:
    """One pattern of the address configuration."""

    name: str
    path: str
    pattern: object = field(compare=False)

    @property
    def is_api(self):
        return self.path.startswith("api/")

    @property
    def below(self):
        """Its path below the API's root, if it is of the API."""
        return self.path.removeprefix("api/v1/").lstrip("^")

    @property
    def names(self):
        """What stands in its address."""
        return re.findall(r"<(?:\w+:)?(\w+)>", self.path)


@cache
def all_routes():
    return tuple(Route(pattern.name, path, pattern) for path, pattern in routes())


@cache
def pages():
    return tuple(one for one in all_routes() if not one.is_api)


@cache
def with_rows():
    """Return the routes whose address names a row of a studio."""
    return tuple(one for one in all_routes() if set(one.names) & {"pk", "number", "code"})


def is_for_anyone(route):
    return roles_of(route.pattern) & {"anyone", "link holder", "signed in"}


def address_of(story, route):
    """Return an address of a route with a row drawn from the story; None when there is none."""
    found = addresses(story, route, most=1)
    return found[0] if found else None


def addresses(story, route, most=MOST_ROWS):
    """Return addresses of a route with rows of the story, drawn anew each time."""
    if not route.names:
        return [reverse(route.name)]
    made = []
    for known in _arguments(story, route, most):
        address = reverse(route.name, kwargs=known)
        if address not in made:
            made.append(address)
    return made


def _arguments(story, route, most):
    if "secret" in route.names:
        link = story.links.get(
            {"q": "quote"}.get(route.path.split("/")[0], route.path.split("/")[0])
        )
        if link:
            secret = re.split(r"[/.]", link.split("/", 2)[2])[0]
            yield from ({"secret": secret, **names} for names in _behind(story, route, secret))
        return
    if route.name == "switch-studio":
        yield {"pk": story.studio.pk}
        return
    if route.name == "list-file":
        for _ in range(most):
            yield {
                "name": story.dice.choice(lists()),
                "extension": story.dice.choice(("csv", "xlsx")),
            }
        return
    if route.name == "job-again":  # of jobs that failed, which the story has none of
        return
    if route.name == "new-password":
        *_, key, token, _ = way_in(
            get_user_model().objects.get(username=story.owner.account)
        ).split("/")
        yield {"uidb64": key, "token": token}
        return
    chosen = {name: story.dice.choice(CHOICES[name]) for name in route.names if name in CHOICES}
    if "extension" in chosen and "report" not in route.path:
        chosen["extension"] = story.dice.choice(("csv", "xlsx"))
    if "studio" in route.names:
        chosen["studio"] = story.studio.pk
    keys = [name for name in route.names if name in ("pk", "number", "code", "slug")]
    if not keys:
        yield chosen
        return
    for row in _rows(story, route, most):
        known = chosen | {keys[0]: getattr(row, keys[0])}
        if len(keys) > 1:
            inner = _inner(story, route, row)
            if inner is None:
                continue
            known[keys[1]] = getattr(inner, keys[1])
        if "piece" in route.names:
            known["piece"] = story.any(row.pieces.all()).number
        yield known


def _behind(story, route, secret):
    """Yield what else stands in the address of a link: of a quote, its test tiles."""
    if route.names == ["secret"]:
        yield {}
        return
    try:
        shown = tiles_shown(link_of(secret).quote)
    except LinkGone:
        return
    for tile in shown:
        if "number" in route.names:
            yield {"number": tile.pour.number}
        for picture in tile.pictures if "pk" in route.names else ():
            yield {"pk": picture.pk, "size": story.dice.choice(CHOICES["size"])}


def _rows(story, route, most):
    below = route.below
    below = {"b/<": "bottles/", "s/<": "sets/", "p/<": "pours/"}.get(below[:3], below)
    known = [one for one in ROWS if below.startswith(one)]
    assert known, f"ROWS of tests/living/every_address.py has no rows for {route.path}."
    start = max(known, key=len)
    rows = getattr(story.studio, ROWS[start])
    if ("<int:pk>" in route.path and "/lines/" in route.path) or "/pieces/<int:pk>" in below:
        rows = rows.filter(lines__isnull=False).distinct()
    elif "topcoat" in route.path and "pk" in route.names:
        rows = rows.filter(topcoatings__isnull=False).distinct()
    elif "bottles/<slug:code>/" in route.path and "counts/" in route.path:
        rows = rows.filter(lines__isnull=False).distinct()
    elif start == "profit/forecast/":  # once all of them is sold
        rows = rows.filter(pk__in=[one.commission.pk for one in hindsight(story.studio)])
    elif route.name == "tile-answer":
        rows = rows.filter(line__is_test=True)
    elif route.name == "weighing-remove":
        rows = rows.filter(pieces__weighings__isnull=False).distinct()
    elif ROWS[start] == "calendar_links":
        rows = rows.filter(revoked_at=None)
    keys = sorted(rows.order_by("pk").values_list("pk", flat=True))
    if not keys:
        return []
    drawn = [story.dice.choice(keys) for _ in range(most)]
    return [rows.get(pk=key) for key in dict.fromkeys([*drawn, keys[-1]][:most])]


def _inner(story, route, row):
    if "counts/" in route.path:
        line = story.any(row.lines.live())
        return line and line.bottle
    if "weighings/" in route.path:
        return story.any(story.studio.weighings.filter(piece__pour=row))
    name = next(INNER[part] for part in route.path.split("/") if part in INNER)
    return story.any(getattr(row, name).all())


@cache
def lists():
    from pricing.exports import LISTS

    return tuple(sorted(LISTS))


# The tour at the end of a story

# A tour that signed out, or left the studio, would see nothing more; and no job of a story fails.
NOT_ON_TOUR = {"sign-out", "job-again"}


def open_all(story):
    """Open every address, and send an empty form to those that cannot be looked at.

    What has no row for its address is counted in ``story.without_a_row``.
    """
    _make_links(story)
    story.without_a_row = []
    looked_at = [one for one in all_routes() if not _takes_only_writes(one)]
    for route in looked_at:
        for address in _drawn(story, route):
            if route.is_api:
                story.api.get(address + _question(story, route))
            else:
                story.owner.open(address + _question(story, route))
    shown = story.owner.open("/more/")
    form = shown.page.form("/sign-out/")
    for route in all_routes():
        if route in looked_at or route.name in NOT_ON_TOUR:
            continue
        for address in _drawn(story, route):
            with story.paying_unseen():
                if route.is_api:
                    story.api.send(address, {}, _write_of(route))
                else:
                    form.action = address
                    story.owner.submit(shown, form)


def _drawn(story, route):
    """Return addresses of a route with rows drawn now, and note where there is none."""
    found = addresses(story, route)
    if not found:
        story.without_a_row.append(route.name)
    return found


def _make_links(story):
    """Make a link of each kind and a day off, and withdraw an invitation, as their pages do."""
    from tests.living.acts import commissions, opening, planning, pouring, staff

    story.owner.fill_in("/people/invite/", {"email": "fay@post.example"})
    if waiting := story.studio.invitations.filter(used_at=None).last():
        story.owner.press("/people/", f"/people/invitations/{waiting.pk}/withdraw/")
    asked = {"email": "eve@post.example"}
    shown = story.owner.fill_in("/people/invite/", asked)
    if found := opening.LINK.search(" ".join(shown.page.text)):
        story.links["join"] = found[1]
    planning.subscribe_to_the_calendar(story)
    story.maker.press("/schedule/", "/schedule/calendar/")
    planning.take_days_off(story)
    staff.make_and_revoke_a_token(story)
    commissions.show_a_tile(story)
    pouring.draw_a_pair(story)
    _make_a_file(story)
    if poured := story.studio.pours.standing().order_by("number").last():
        story.api.send("weighings/", {"pour": poured.number, "piece": 1, "grams": "212.4"})


def _make_a_file(story):
    """Have a list made beside the pages, as a long one is."""
    task = background.ask(
        studio=story.studio,
        by=get_user_model().objects.get(username=story.owner.account),
        kind=background.FILE,
        title="Materials as CSV",
        path=reverse("list-file", args=["materials", "csv"]),
    )
    background.do.call(task.pk)


def _question(story, route):
    """Return what must stand after an address for there to be something to show."""
    if route.name in ("mixing-pdf", "mixing"):
        work = story.any(story.studio.commissions.filter(status__in=("accepted", "in_work")))
        return f"?commission={work.number}" if work else ""
    if route.name in ("plan-mixing", "plan-mixing-pdf", "plan-why", "planner"):
        palette = story.any(story.studio.palettes.filter(archived_at=None))
        return f"?size=8x8x1.5in&count=2&palette={palette.pk if palette else ''}"
    return ""


def _takes_only_writes(route):
    if route.is_api:
        return "get" not in methods_of(route.pattern)
    return route.name in posts_only()


@cache
def posts_only():
    """Return the names of the pages that only take what a form sends."""
    found = set()
    for route in pages():
        view = route.pattern.callback
        while view is not None:
            cells = [cell.cell_contents for cell in getattr(view, "__closure__", None) or ()]
            if ["POST"] in cells:
                found.add(route.name)
            view = getattr(view, "__wrapped__", None)
    return found


def _write_of(route):
    methods = methods_of(route.pattern)
    return next(one for one in ("post", "put", "patch", "delete") if one in methods)
