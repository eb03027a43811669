"""What pages are drawn with: menus, icons, chips, swatches, stock bars."""

from collections.abc import Iterable
from datetime import date
from decimal import Decimal

from django import template
from django.templatetags.static import static
from django.urls import resolve, reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe

from studio import charts, making
from studio.access import opens
from studio.cautions import FIRST, cautions_of
from studio.charts.drawing import Svg
from studio.nav import Navigation
from studio.nav import navigation as menus
from studio.once import FIELD, new_token
from studio.periods import NAMES, Period
from studio.site import Reach, reach
from studio.terms import meaning, numbers, terms

register = template.Library()

# What a choice of days asks anew.
PERIOD = ("period", "from", "to", "page")
CHIP_ICONS = {
    "good": "circle-check",
    "warn": "triangle-alert",
    "bad": "circle-x",
    "info": "info",
    "quiet": "clock",
}


class RememberNode(template.Node):
    """Render what is inside once and keep it under a name, so that it can stand in two places."""

    def __init__(self, name: str, nodelist: template.NodeList) -> None:
        self.name, self.nodelist = name, nodelist

    def render(self, context: template.Context) -> str:
        context[self.name] = mark_safe(self.nodelist.render(context).strip())
        return ""


@register.tag
def remember(parser: template.base.Parser, token: template.base.Token) -> RememberNode:
    """``{% remember "name" %}…{% endremember %}`` keeps its text as ``{{ name }}``."""
    try:
        _, name = token.split_contents()
    except ValueError:
        raise template.TemplateSyntaxError("remember takes one name.") from None
    nodelist = parser.parse(("endremember",))
    parser.delete_first_token()
    return RememberNode(name.strip("\"'"), nodelist)


@register.simple_tag(takes_context=True)
def navigation(context: template.Context) -> Navigation:
    """Return the menus of this page."""
    return menus(context.get("request"))


@register.inclusion_tag("studio/parts/_cautions.html")
def cautions(*acts: str | Iterable[str]) -> dict[str, object]:
    """Show what can hurt in some acts, see `studio.cautions`: the first open, the others folded.

    An act is its name, or several names that a view found.
    """
    names = [one for act in acts for one in ([act] if isinstance(act, str) else act)]
    return {"cautions": cautions_of(*names), "first": FIRST}


@register.inclusion_tag("studio/parts/_reach.html")
def opens_where(what: str, *, for_people_elsewhere: bool = False) -> dict[str, object]:
    """Warn while addresses open only here; ``what`` is such as "This address opens".

    Where they are ``for_people_elsewhere`` it is said, too, that they open only at home.
    """
    found = reach()
    return {
        "what": what,
        "only_here": found is Reach.MACHINE,
        "only_home": found is Reach.HOME and for_people_elsewhere,
    }


@register.inclusion_tag("studio/parts/_period.html", takes_context=True)
def period_choice(
    context: template.Context, period: Period, words: str = "Days"
) -> dict[str, object]:
    """Let a person choose the days that a page is of; what else the address asks stays."""
    request = context["request"]
    asked = [(name, value) for name, value in request.GET.items() if name not in PERIOD]
    return {
        "request": request,
        "period": period,
        "names": NAMES.items(),
        "words": words,
        "asked": asked,
    }


@register.inclusion_tag("studio/parts/_as_of.html", takes_context=True)
def day_choice(context: template.Context, day: date | None) -> dict[str, object]:
    """Let a person choose the past day that a page is of; None is now."""
    request = context["request"]
    return {"request": request, "day": day, "today": request.studio.today()}


@register.inclusion_tag("studio/parts/_asked.html", takes_context=True)
def asked_besides(context: template.Context, *names: str) -> dict[str, object]:
    """Carry what the address asks besides some names along in a form that asks by address."""
    query = context["request"].GET.items()
    return {"asked": [(name, value) for name, value in query if name not in {*names, "page"}]}


@register.simple_tag
def icon(name: str, label: str = "") -> SafeString:
    """Draw an icon of the sprite; with a ``label`` it is read out, without one it is silent."""
    href = f"{static('studio/icons.svg')}#{name}"
    drawing = '<svg class="icon" aria-hidden="true" focusable="false"><use href="{}"></use></svg>'
    if label:
        return format_html(drawing + '<span class="only-read">{}</span>', href, label)
    return format_html(drawing, href)


@register.simple_tag
def term(label: str) -> SafeString:
    """Write a word of the trade; a tap on it says what it means, see `studio.terms`."""
    key = f"term-{next(numbers)}"
    return format_html(
        '<button type="button" class="term" popovertarget="{}">{}</button>'
        '<span class="meaning" id="{}" popover>{}</span>',
        *(key, label, key, terms[label.lower()]),
    )


@register.filter
def explained(label: str) -> SafeString | str:
    """Write a field's label; where it is a word of the trade, a tap beside it says what it means.

    The mark stands beside the label and not in it, since a tap on a label goes to its field.
    """
    said = meaning(str(label))
    if not said:
        return ""
    key = f"term-{next(numbers)}"
    return format_html(
        ' <button type="button" class="term is-mark" popovertarget="{}" aria-label="{}">?</button>'
        '<span class="meaning" id="{}" popover>{}</span>',
        *(key, f"What is {label}?", key, said),
    )


@register.simple_tag
def chip(kind: str, words: str, symbol: str = "") -> SafeString:
    """Say a state with an icon, words and a colour; ``kind`` is good, warn, bad, info or quiet."""
    return format_html(
        '<span class="chip chip-{}">{}{}</span>', kind, icon(symbol or CHIP_ICONS[kind]), words
    )


@register.simple_tag(takes_context=True)
def may_open(context: template.Context, page: str) -> str:
    """Return the address of a page by its name, or nothing where this member may not open it."""
    membership, url = context.get("membership"), reverse(page)
    return url if membership and opens(membership, resolve(url).func) else ""


@register.simple_tag
def swatch(colour: str) -> SafeString:
    """Draw a dot of paint such as ``#1f6f8b``; a paint without a colour gets an empty ring."""
    return format_html(
        '<svg class="swatch" viewBox="0 0 20 20" aria-hidden="true" focusable="false">'
        '<circle cx="10" cy="10" r="9" fill="{}" stroke="currentColor" stroke-width="2"/></svg>',
        colour or "none",
    )


@register.simple_tag
def back_link(url: str, words: str) -> SafeString:
    """Lead back to the list or the record that this page belongs to."""
    return format_html('<a class="back" href="{}">{}{}</a>', url, icon("chevron-left"), words)


@register.inclusion_tag("studio/parts/_make.html", takes_context=True)
def make(
    context: template.Context, model: str, field: str, how: str = "", **asked: str
) -> dict[str, object]:
    """Have a row made for a field that no choice of rows says it of, see `studio.making`."""
    return {"making": making.button(context["membership"], model, field, how, **asked)}


@register.simple_tag
def once() -> SafeString:
    """Make a button's form act once, however often it is sent; see `studio.once`."""
    return format_html('<input type="hidden" name="{}" value="{}">', FIELD, new_token())


@register.simple_tag
def stock_bar(
    on_hand: Decimal,
    held: Decimal | int = 0,
    reorder_point: Decimal | int = 0,
    full: Decimal | None = None,
    label: str = "",
) -> Svg:
    """Draw what is free, what is promised and where reordering is due."""
    return charts.stock_bar(on_hand, held, reorder_point, full, label)
