"""API addresses of pieces, sets, sales and consignments."""

from rest_framework.routers import SimpleRouter

from pricing.selling.api.consignments import Consignments
from pricing.selling.api.sales import SalePrices, Sales
from pricing.selling.api.sets import Pieces, Sets

router = SimpleRouter(use_regex_path=False)
router.register("pieces", Pieces, "api-pieces")
router.register("sets", Sets, "api-sets")
router.register("sales", Sales, "api-sales")
router.register("commissions", SalePrices, "api-commissions")
router.register("consignments", Consignments, "api-consignments")

urlpatterns = router.urls
