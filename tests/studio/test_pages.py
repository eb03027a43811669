"""The frame of every page: menus, names, the policy, forms that explain themselves."""

import re

import pytest
from django import forms
from django.template import Context, Template
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils.html import escape

from studio.nav import Group, MenuEntry, groups, menu, navigation, offer


def test_every_icon_named_is_in_the_sprite(settings):
    static = settings.BASE_DIR / "studio" / "static" / "studio"
    drawn = set(re.findall(r'<symbol id="([^"]+)"', (static / "icons.svg").read_text()))
    used = {entry.icon for group in menu() for entry in group.entries}
    for template in (settings.BASE_DIR / "templates").rglob("*.html"):
        used |= set(re.findall(r'{% icon "([^"]+)"', template.read_text()))

    assert used - drawn == set()


def test_the_policy_allows_this_site_only(owner):
    policy = owner.client.get("/more/")["Content-Security-Policy"]

    assert "default-src 'self'" in policy
    assert "unsafe" not in policy


def test_no_template_writes_styles_or_scripts_inline(settings):
    pages = [
        path
        for path in (settings.BASE_DIR / "templates").rglob("*.html")
        if "pdf" not in path.name and "pdf" not in path.parts
    ]

    found = [
        p.name
        for p in pages
        if re.search(r"<style|\sstyle=|\son\w+=|<script(?! src)", p.read_text())
    ]
    assert found == []


def test_a_page_names_itself_once_and_marks_where_one_is(owner):
    page = owner.client.get("/people/invite/").content.decode()

    assert f"<title>Invite somebody – {owner.studio}</title>" in page
    assert page.count("<h1>Invite somebody</h1>") == 1
    assert re.search(r'href="/people/" aria-current="true"', page)


def test_menus_hold_what_a_role_may_open(viewer, owner, rf):
    def labels(person):
        request = rf.get("/tokens/")
        request.membership = person.membership
        return [entry.label for entry in navigation(request).settings]

    assert labels(viewer) == ["Password", "Tokens", "Your studios", "In the background"]
    assert labels(owner)[:3] == ["Studio settings", "Working days", "People"]


def test_the_menu_stands_in_its_order(owner, rf):
    request = rf.get("/tokens/")
    request.membership = owner.membership
    shown = navigation(request)

    recipes = ["Recipes", "Palettes", "Sizes", "Techniques", "Resin kits"]
    learned = ["How good are the estimates", "What made the good ones good", "Paired tests"]
    profit = ["Profit", "Forecast and actual", "Closing months"]
    order = {
        "Today": ["Today"],
        "How much": ["A piece", "What can I make", "Mixing", *recipes],
        "Commissions": ["Commissions", "Work", "Schedule", "Customers", "Owed"],
        "On hand": ["Materials", "Bottles", "Counts", "Import and export"],
        "Charge": ["Prices by size", "Products", "Break-even"],
        "Buy": ["What to buy", "Orders", "Suppliers"],
        "Poured": ["Pours", "Batches", *learned],
        "Earned": [*profit, "Sets", "Sales", "At shops", "Where you sell"],
        "Settings": [
            *("Studio settings", "Working days", "People", "Password", "Tokens"),
            *("Your studios", "In the background"),
        ],
    }
    found = [(group.label, [entry.label for entry in group.entries]) for group in shown.groups]
    assert found == list(order.items())
    assert [entry.label for entry in shown.top] == list(order)[:-1]
    assert [entry.label for entry in shown.bottom] == [
        "Today",
        "How much",
        "Commissions",
        "On hand",
        "More",
    ]


def test_a_family_of_pages_shares_one_tab(owner, rf):
    request = rf.get("/palettes/")
    request.membership = owner.membership
    shown = navigation(request)

    assert [(tab.label, tab.current) for tab in shown.tabs] == [
        ("A piece", ""),
        ("What can I make", ""),
        ("Mixing", ""),
        ("Recipes", "true"),
    ]
    assert [entry.label for entry in shown.family if entry.current] == ["Palettes"]
    assert len(shown.family) == 5


def test_everything_is_two_taps_away_and_says_what_it_is_for(owner):
    """The first is “All pages”, or “More” on a phone, which stand on every page."""
    page = owner.client.get("/more/").content.decode()

    entries = [entry for group in menu() for entry in group.entries]
    assert all(f'href="{reverse(entry.page)}"' in page for entry in entries)
    assert all(escape(entry.why) in page and entry.why for entry in entries)
    assert owner.client.get("/").content.decode().count('href="/more/"') == 2


def test_pages_are_offered_once_and_find_their_place(monkeypatch):
    monkeypatch.setattr("studio.nav.groups", dict(groups))
    more = Group("Buy", "", (MenuEntry("Returns", "returns", "truck", place=15),))

    for _ in range(2):
        offer(more)

    labels = [entry.label for group in menu() if group.label == "Buy" for entry in group.entries]
    assert labels == ["What to buy", "Returns", "Orders", "Suppliers"]


def test_a_stranger_gets_no_menu(client, db):
    page = client.get("/sign-in/").content.decode()

    assert "<nav" not in page


@pytest.mark.parametrize("name", ("403.html", "403_csrf.html", "404.html", "500.html"))
def test_error_pages_need_nothing(name):
    page = render_to_string(name)

    assert "<h1>" in page
    assert 'href="/"' in page


class Example(forms.Form):
    size = forms.CharField(help_text="Such as 8 × 8 in.")
    notes = forms.CharField(required=False)


def test_a_field_ties_its_hint_and_its_error_to_the_input():
    html = Example({"size": ""})["size"].as_field_group()

    assert 'aria-describedby="id_size_helptext id_size_error"' in html
    assert 'id="id_size_helptext"' in html
    assert 'id="id_size_error"' in html
    assert 'aria-invalid="true"' in html
    assert (
        html.index("<label")
        < html.index("Such as")
        < html.index("errorlist")
        < html.index("<input")
    )


def test_what_may_be_left_out_says_so():
    form = Example()

    assert "(optional)" in form["notes"].as_field_group()
    assert "(optional)" not in form["size"].as_field_group()


def test_the_summary_links_to_the_field_at_fault():
    page = Template('{% include "studio/parts/_errors.html" %}').render(
        Context({"form": Example({"size": ""})})
    )

    assert '<a href="#id_size">Size: This field is required.</a>' in page


def test_a_chip_says_its_state_in_words_beside_the_colour():
    chip = Template('{% chip "warn" words %}').render(Context({"words": "Low <now>"}))

    assert "chip-warn" in chip
    assert "Low &lt;now&gt;" in chip
    assert "#triangle-alert" in chip


def test_a_swatch_cannot_leave_its_attribute():
    swatch = Template("{% swatch colour %}").render(Context({"colour": '"><script>'}))

    assert "<script>" not in swatch
