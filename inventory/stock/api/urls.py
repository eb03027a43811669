"""API addresses of bottles, the ledger, counts, labels and files brought in."""

from django.urls import path
from rest_framework.routers import SimpleRouter

from inventory.stock.api import imports, own_sheet
from inventory.stock.api.bottles import Bottles
from inventory.stock.api.costing import CostingChanges
from inventory.stock.api.counts import Counts
from inventory.stock.api.entries import Entries, Uses
from inventory.stock.api.labels import Labels
from inventory.stock.api.table import StockTable

LABELS = "api-labels"
TABLE = "api-stock-table"
router = SimpleRouter(use_regex_path=False)
router.register("bottles", Bottles, "api-bottles")
router.register("entries", Entries, "api-entries")
router.register("uses", Uses, "api-uses")
router.register("counts", Counts, "api-counts")
router.register("costing-changes", CostingChanges, "api-costing-changes")

urlpatterns = [
    *router.urls,
    path("labels/", Labels.as_view({"get": "sheet"}, basename=LABELS), name=LABELS),
    path("labels/test/", Labels.as_view({"get": "test"}, basename=LABELS), name=f"{LABELS}-test"),
    path("stock-table/", StockTable.as_view({"post": "save"}, basename=TABLE), name=TABLE),
    *imports.urlpatterns,
    *own_sheet.urlpatterns,
]
