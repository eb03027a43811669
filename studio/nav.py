"""What the menus offer: groups of pages, and where the person is now."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from functools import cache

from django.http import HttpRequest
from django.urls import NoReverseMatch, resolve, reverse

from studio.access import opens
from studio.models import Membership


@dataclass(frozen=True)
class MenuEntry:
    """One page in a menu; ``why`` says what it is for, ``current`` what ``aria-current`` says.

    Of the entries of a group, the lower ``place`` stands first. Those of one ``family`` share a
    tab of that name, which leads to the first of them.
    """

    label: str
    page: str
    icon: str
    place: int = 0
    why: str = ""
    family: str = ""
    url: str = ""
    current: str = ""


@dataclass(frozen=True)
class Group:
    """Pages that belong together; the first is where the group's own link leads.

    Of the groups, the lower ``place`` stands first. ``is_at_hand`` says that it stands at the
    bottom of a phone's screen too; ``question`` is what its pages answer.
    """

    label: str
    icon: str
    entries: tuple[MenuEntry, ...]
    place: int = 0
    is_at_hand: bool = False
    question: str = ""


SETTINGS = "Settings"
MORE = MenuEntry("More", "more", "menu")
# By label. Each app offers its own pages, in the `nav.py` beside its addresses, as it is ready.
groups = {
    SETTINGS: Group(
        SETTINGS,
        "sliders-horizontal",
        (
            MenuEntry(
                "Studio settings",
                "studio-settings",
                "sliders-horizontal",
                10,
                "Currency, tax, measures, hourly rate, margin.",
            ),
            MenuEntry("People", "people", "users", 30, "Who works here, and what they may see."),
            MenuEntry("Password", "password", "lock", 40, "Your own."),
            MenuEntry("Tokens", "tokens", "key-round", 50, "Keys for programs that work for you."),
            MenuEntry("Your studios", "studios", "store", 60, "Go to another one, or open one."),
            MenuEntry(
                "In the background",
                "background",
                "timer",
                70,
                "Files in the making, mails, backups.",
            ),
        ),
        place=1000,
    )
}


def offer(*offered: Group) -> None:
    """Add groups to the menu, or their entries to a group of the same label that is there."""
    for group in offered:
        known_group = groups.get(group.label, replace(group, entries=()))
        entries = {entry.page: entry for entry in (*known_group.entries, *group.entries)}
        groups[group.label] = replace(
            known_group, entries=tuple(sorted(entries.values(), key=lambda entry: entry.place))
        )


def menu() -> list[Group]:
    """Return all groups in their order, the settings last."""
    return sorted(groups.values(), key=lambda group: group.place)


@dataclass(frozen=True)
class Navigation:
    """The menus of one page, ready to draw."""

    home: str
    top: tuple[MenuEntry, ...] = ()
    bottom: tuple[MenuEntry, ...] = ()
    tabs: tuple[MenuEntry, ...] = ()
    family: tuple[MenuEntry, ...] = ()
    settings: tuple[MenuEntry, ...] = ()
    groups: tuple[Group, ...] = ()
    group_label: str = ""


def navigation(request: HttpRequest | None) -> Navigation:
    """Return the menus for ``request``; a person without a studio gets none."""
    membership = getattr(request, "membership", None)
    if request is None or membership is None:
        return Navigation(home="/")
    placed = [_placed(group, request.path, membership) for group in menu()]
    current_url = _here(placed)
    placed = [_marked(group, current_url) for group in placed]
    mine = next((g for g in placed if any(e.current for e in g.entries)), None)
    heads = {g.label: _head(g) for g in placed if g.entries}
    bottom = [heads[g.label] for g in placed if g.is_at_hand and g.entries]
    more = _linked(MORE)
    if request.path == more.url:
        more = replace(more, current="page")
    elif mine and not any(entry.current for entry in bottom):
        more = replace(more, current="true")
    return Navigation(
        home="/",
        top=tuple(heads[g.label] for g in placed[:-1] if g.entries),
        bottom=(*bottom, more),
        tabs=_tabs(mine) if mine and len(mine.entries) > 1 else (),
        family=_family(mine) if mine else (),
        settings=placed[-1].entries,
        groups=tuple(g for g in placed if g.entries),
        group_label=mine.label if mine else "",
    )


def _linked(entry: MenuEntry) -> MenuEntry:
    """Give an entry its address; an entry whose page is not installed gets none."""
    try:
        return replace(entry, url=reverse(entry.page))
    except NoReverseMatch:
        return entry


def _placed(group: Group, path: str, membership: Membership) -> Group:
    """Keep what this person may open, with addresses, and mark what the path lies in."""
    entries = (_linked(entry) for entry in group.entries)
    return replace(
        group,
        entries=tuple(
            replace(entry, current=_match(entry.url, path))
            for entry in entries
            if entry.url and opens(membership, _page_at(entry.url))
        ),
    )


@cache
def _page_at(url: str) -> Callable[..., object]:
    return resolve(url).func


def _match(url: str, path: str) -> str:
    if url == path:
        return "page"
    return "true" if url != "/" and path.startswith(url) else ""


def _here(groups: Iterable[Group]) -> str | None:
    """Return the address that says most precisely where the person is."""
    matches = [e.url for group in groups for e in group.entries if e.current]
    return max(matches, key=len, default=None)


def _marked(group: Group, current_url: str | None) -> Group:
    return replace(
        group,
        entries=tuple(e if e.url == current_url else replace(e, current="") for e in group.entries),
    )


def _tabs(group: Group) -> tuple[MenuEntry, ...]:
    """Return a group's tabs: one a page, but one for all pages of a family."""
    tabs: dict[str, MenuEntry] = {}
    for entry in group.entries:
        name = entry.family or entry.label
        first = tabs.setdefault(name, replace(entry, label=name))
        if entry.current and not first.current:
            tabs[name] = replace(first, current="true")
    return tuple(tabs.values())


def _family(group: Group) -> tuple[MenuEntry, ...]:
    """Return the pages that share the current one's tab; nothing where it has one of its own."""
    here = next((entry for entry in group.entries if entry.current), None)
    if here is None or not here.family:
        return ()
    return tuple(entry for entry in group.entries if entry.family == here.family)


def _head(group: Group) -> MenuEntry:
    """Return the group's own link: its first page, current when any of its pages is."""
    first = group.entries[0]
    current = first.current or ("true" if any(e.current for e in group.entries) else "")
    return replace(first, label=group.label, icon=group.icon, current=current)
