"""Pages of bottles, counts, labels and the ledger."""

from django.urls import path, re_path

from inventory.stock.views import (
    bottle_acts,
    bottles,
    costing,
    counts,
    imports,
    labels,
    ledger,
    own_sheet,
    table,
)

urlpatterns = [
    *imports.urlpatterns,
    *own_sheet.urlpatterns,
    path("stock/table/", table.table, name="stock-table"),
    path("bottles/", bottles.bottles, name="bottles"),
    path("bottles/<slug:code>/", bottles.bottle, name="bottle"),
    path("bottles/<slug:code>/edit/", bottles.edit, name="bottle-edit"),
    path("bottles/<slug:code>/open/", bottles.open_bottle, name="bottle-open"),
    path("bottles/<slug:code>/weigh/", bottle_acts.weigh_in, name="bottle-weigh"),
    path("bottles/<slug:code>/count/", bottle_acts.recount, name="bottle-count"),
    path("bottles/<slug:code>/decant/", bottle_acts.decant, name="bottle-decant"),
    re_path(
        rf"^bottles/(?P<code>[\w-]+)/(?P<how>{'|'.join(bottle_acts.TAKES)})/$",
        bottle_acts.take,
        name="bottle-take",
    ),
    *counts.urlpatterns,
    path("b/<int:studio>/<slug:code>/", labels.scan, name="bottle-scan"),
    path("bottles/labels/print/", labels.choose, name="labels"),
    path("bottles/labels/sheet.pdf", labels.sheet, name="labels-sheet"),
    path("bottles/labels/test.pdf", labels.check_sheet, name="labels-test"),
    path("ledger/", ledger.entries, name="entries"),
    path("ledger/<int:pk>/", ledger.entry, name="entry"),
    path("ledger/<int:pk>/undo/", ledger.reverse_entry, name="entry-undo"),
    path("settings/costing/", costing.costing, name="costing"),
    path("settings/costing/<int:pk>/withdraw/", costing.costing_withdraw, name="costing-withdraw"),
]
