"""API addresses of mixing, pouring and finishing."""

from django.urls import path
from rest_framework.routers import SimpleRouter

from pricing.bench.api.batches import Batches
from pricing.bench.api.paired import PairedTests
from pricing.bench.api.pictures import Pictures
from pricing.bench.api.pours import Pours
from pricing.bench.api.record import RecordViewSet
from pricing.bench.api.topcoats import Topcoats
from pricing.bench.api.weighing import Weighings
from pricing.bench.api.work import WorkViewSet

router = SimpleRouter(use_regex_path=False)
router.register("batches", Batches, "api-batches")
router.register("pairs", PairedTests, "api-pairs")
router.register("pictures", Pictures, "api-pictures")
router.register("pours", Pours, "api-pours")
router.register("pours/<int:number>/topcoats", Topcoats, "api-topcoats")
router.register("record", RecordViewSet, "api-record")
router.register("weighings", Weighings, "api-weighings")

urlpatterns = [
    path(
        "work-list/",
        WorkViewSet.as_view({"get": "read"}, basename="api-work-list"),
        name="api-work-list",
    ),
    path(
        "work-list/sheet/",
        WorkViewSet.as_view({"get": "sheet"}, basename="api-work-list"),
        name="api-work-list-sheet",
    ),
    *router.urls,
]
