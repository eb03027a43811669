"""What the menus offer: groups of pages, and where the person is now."""

from dataclasses import dataclass, replace

from django.urls import NoReverseMatch, reverse


@dataclass(frozen=True)
class Entry:
    """One page in a menu; ``current`` is what ``aria-current`` says, or nothing."""

    label: str
    page: str
    icon: str
    role: str = "viewer"
    url: str = ""
    current: str = ""


@dataclass(frozen=True)
class Group:
    """Pages that belong together; the first is where the group's own link leads."""

    label: str
    icon: str
    entries: tuple[Entry, ...]


GROUPS = (
    Group("Today", "calendar-check", (Entry("Today", "home", "calendar-check"),)),
    Group(
        "Plan",
        "ruler",
        (
            Entry("Plan", "planner", "ruler"),
            Entry("What can I make", "producible", "package"),
            Entry("Prices by size", "price-list", "tag", "maker"),
        ),
    ),
    Group(
        "Commissions",
        "clipboard-list",
        (
            Entry("Commissions", "commissions", "clipboard-list"),
            Entry("Schedule", "schedule", "calendar"),
            Entry("Customers", "customers", "user"),
            Entry("Owed", "owed", "tag"),
        ),
    ),
    Group(
        "Pours",
        "droplets",
        (
            Entry("Pours", "pours", "droplets"),
            Entry("Work", "work", "clipboard-list"),
            Entry("Mixing", "mixing", "flask-conical"),
            Entry("Batches", "batches", "test-tubes"),
        ),
    ),
    Group(
        "Stock",
        "paint-bucket",
        (
            Entry("Materials", "materials", "paint-bucket"),
            Entry("Bottles", "bottles", "milk"),
            Entry("Shelf counts", "counts", "scale"),
            Entry("In and out", "in-and-out", "download"),
        ),
    ),
    Group(
        "Buying",
        "shopping-basket",
        (
            Entry("What to buy", "reorder", "shopping-basket"),
            Entry("Orders", "orders", "truck"),
            Entry("Suppliers", "suppliers", "store"),
        ),
    ),
    Group(
        "Sets & sales",
        "package",
        (
            Entry("Sets", "sets", "package"),
            Entry("Sales", "sales", "tag"),
            Entry("Consignment", "consignments", "store"),
            Entry("Channels", "channels", "wallet"),
        ),
    ),
    Group(
        "Profit",
        "chart-line",
        (
            Entry("Profit", "profit", "chart-line"),
            Entry("Forecast and actual", "hindsight", "target"),
            Entry("Break-even", "break-even", "scale"),
            Entry("How good are the estimates", "record", "target"),
        ),
    ),
    Group(
        "Recipes",
        "flask-conical",
        (
            Entry("Recipes", "recipes", "flask-conical"),
            Entry("Palettes", "palettes", "palette"),
            Entry("Surfaces", "surfaces", "shapes"),
            Entry("Products", "products", "tag"),
            Entry("Techniques", "techniques", "blend"),
            Entry("Resin kits", "resin-kits", "test-tubes"),
        ),
    ),
)
SETTINGS = Group(
    "Settings",
    "sliders-horizontal",
    (
        Entry("Studio settings", "studio-settings", "sliders-horizontal", role="owner"),
        Entry("Working days", "working-days", "clock", role="owner"),
        Entry("People", "people", "users", role="owner"),
        Entry("Tokens", "tokens", "key-round"),
        Entry("Password", "password", "lock"),
        Entry("Your studios", "studios", "store"),
    ),
)
BOTTOM = ("Today", "Plan", "Commissions", "Stock")
MORE = Entry("More", "more", "menu")


@dataclass(frozen=True)
class Navigation:
    """The menus of one page, ready to draw."""

    home: str
    top: tuple[Entry, ...] = ()
    bottom: tuple[Entry, ...] = ()
    tabs: tuple[Entry, ...] = ()
    settings: tuple[Entry, ...] = ()
    groups: tuple[Group, ...] = ()
    group_label: str = ""


def navigation(request):
    """Return the menus for ``request``; a person without a studio gets none."""
    membership = getattr(request, "membership", None)
    if membership is None:
        return Navigation(home="/")
    groups = [_placed(group, request.path, membership) for group in (*GROUPS, SETTINGS)]
    here = _here(groups)
    groups = [_marked(group, here) for group in groups]
    mine = next((g for g in groups if any(e.current for e in g.entries)), None)
    heads = {g.label: _head(g) for g in groups if g.entries}
    bottom = [heads[label] for label in BOTTOM if label in heads]
    more = _linked(MORE)
    if request.path == more.url:
        more = replace(more, current="page")
    elif mine and not any(entry.current for entry in bottom):
        more = replace(more, current="true")
    return Navigation(
        home="/",
        top=tuple(heads[g.label] for g in groups[:-1] if g.entries),
        bottom=(*bottom, more),
        tabs=mine.entries if mine and len(mine.entries) > 1 else (),
        settings=groups[-1].entries,
        groups=tuple(g for g in groups if g.entries),
        group_label=mine.label if mine else "",
    )


def _linked(entry):
    """Give an entry its address; an entry whose page is not installed gets none."""
    try:
        return replace(entry, url=reverse(entry.page))
    except NoReverseMatch:
        return entry


def _placed(group, path, membership):
    """Keep what this person may open, with addresses, and mark what the path lies in."""
    entries = (_linked(entry) for entry in group.entries if membership.may(entry.role))
    return replace(
        group, entries=tuple(replace(e, current=_match(e.url, path)) for e in entries if e.url)
    )


def _match(url, path):
    if url == path:
        return "page"
    return "true" if url != "/" and path.startswith(url) else ""


def _here(groups):
    """Return the address that says most precisely where the person is."""
    matches = [e.url for group in groups for e in group.entries if e.current]
    return max(matches, key=len, default=None)


def _marked(group, here):
    return replace(
        group,
        entries=tuple(e if e.url == here else replace(e, current="") for e in group.entries),
    )


def _head(group):
    """Return the group's own link: its first page, current when any of its pages is."""
    first = group.entries[0]
    current = first.current or ("true" if any(e.current for e in group.entries) else "")
    return replace(first, label=group.label, icon=group.icon, current=current)
