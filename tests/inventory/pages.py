"""The pages of the stock room: who may use each, what its address names, and what is stored."""

import re
from html import unescape
from types import SimpleNamespace

from django.apps import apps
from django.urls import reverse

from inventory.stock import holds
from tests.factories.everything import one_of_everything

# name: (least role, the rows that its address names)
PAGES = {
    "alerts": ("viewer", ()),
    "alert-mail": ("viewer", ()),
    "materials": ("viewer", ()),
    "material-new": ("maker", ()),
    "material": ("viewer", ("material.pk",)),
    "material-prices": ("viewer", ("material.pk", "table.extension")),
    "material-edit": ("maker", ("material.pk",)),
    "material-archive": ("maker", ("material.pk",)),
    "receive": ("maker", ("material.pk",)),
    "stock-table": ("maker", ()),
    "what-came": ("maker", ()),
    "own-sheet": ("maker", ()),
    "bottles": ("viewer", ()),
    "bottle": ("viewer", ("bottle.code",)),
    "bottle-edit": ("maker", ("bottle.code",)),
    "bottle-open": ("maker", ("bottle.code",)),
    "bottle-weigh": ("maker", ("bottle.code",)),
    "bottle-count": ("maker", ("bottle.code",)),
    "bottle-decant": ("maker", ("bottle.code",)),
    "bottle-take": ("maker", ("bottle.code", "how")),
    "counts": ("viewer", ()),
    "count-new": ("maker", ()),
    "count": ("viewer", ("count.number",)),
    "count-weigh": ("maker", ("count.number",)),
    "count-leave-out": ("maker", ("count.number", "bottle.code")),
    "count-put-back": ("maker", ("count.number", "bottle.code")),
    "count-finish": ("maker", ("count.number",)),
    "count-cancel": ("maker", ("count.number",)),
    "count-report": ("viewer", ("count.number",)),
    "count-report-file": ("viewer", ("count.number", "extension")),
    "bottle-scan": ("viewer", ("studio_key.studio", "bottle.code")),
    "labels": ("viewer", ()),
    "labels-sheet": ("viewer", ()),
    "labels-test": ("viewer", ()),
    "entries": ("viewer", ()),
    "entry": ("viewer", ("entry.pk",)),
    "entry-undo": ("maker", ("entry.pk",)),
    "suppliers": ("viewer", ()),
    "supplier-new": ("maker", ()),
    "supplier": ("viewer", ("supplier.pk",)),
    "supplier-edit": ("maker", ("supplier.pk",)),
    "supplier-archive": ("maker", ("supplier.pk",)),
    "pack-new": ("maker", ("supplier.pk",)),
    "pack-edit": ("maker", ("pack.pk",)),
    "reorder": ("viewer", ()),
    "reorder-sheet": ("viewer", ()),
    "make-orders": ("maker", ()),
    "orders": ("viewer", ()),
    "order-new": ("maker", ()),
    "order": ("viewer", ("order.number",)),
    "order-line-new": ("maker", ("order.number",)),
    "order-line": ("maker", ("order.number", "order_line.pk")),
    "order-send": ("maker", ("order.number",)),
    "order-cancel": ("maker", ("order.number",)),
    "order-receive": ("maker", ("order.number",)),
    "order-sheet": ("viewer", ("order.number",)),
    "costing": ("owner", ()),
    "costing-withdraw": ("owner", ("costing_change.pk",)),
    "recipes": ("viewer", ()),
    "recipe-new": ("maker", ()),
    "recipe": ("viewer", ("recipe.pk",)),
    "recipe-edit": ("maker", ("recipe.pk",)),
    "recipe-archive": ("maker", ("recipe.pk",)),
}
# Buttons, which answer a POST, and a short address that only leads on: no pages to look at.
BUTTONS = {
    "alert-mail",
    "material-archive",
    "costing-withdraw",
    "bottle-open",
    "count-finish",
    "bottle-scan",
    "supplier-archive",
    "make-orders",
    "order-send",
    "order-cancel",
    "recipe-archive",
}
OBJECT_PAGES = [name for name, (_, rows) in PAGES.items() if rows]


def stock_room(studio):
    """Return one of everything, with nothing promised."""
    one = one_of_everything(studio)
    holds.release(work=one.hold.work)
    one.how = SimpleNamespace(how="use")
    one.extension = SimpleNamespace(extension="pdf")
    one.studio_key = SimpleNamespace(studio=studio.pk)
    one.table = SimpleNamespace(extension="csv")
    return one


def address(name, one, **more):
    """Return the address of a page for the rows of ``one``."""
    arguments = {}
    for path in PAGES[name][1]:
        row, _, key = path.partition(".")
        key = key or row
        arguments[key] = getattr(getattr(one, row), key)
    return reverse(name, kwargs=arguments | more)


def snapshot():
    """Return every row of the stock room, to compare what an act stored with what was there."""
    return {
        model.__name__: list(model.objects.order_by("pk").values())
        for model in apps.get_app_config("inventory").get_models()
    }


def words(response):
    """Return what a page says, without its tags."""
    text = re.sub(r"<(script|style|svg).*?</\1>|<[^>]+>", " ", response.content.decode())
    return " ".join(unescape(text).split())
