"""API addresses of what things would bring and what they earned."""

from typing import Any

from django.urls import path
from rest_framework.routers import SimpleRouter

from pricing.earnings.api.closings import Closings
from pricing.earnings.api.price_list import PriceLists
from pricing.earnings.api.producible import ProducibleViewSet
from pricing.earnings.api.profit import BreakEvenViewSet, HindsightViewSet, ProfitViewSet
from pricing.earnings.api.valuation import Appraisals, ValuationViewSet
from studio.api.viewsets import StudioViewSet

router = SimpleRouter(use_regex_path=False)
router.register("profit", ProfitViewSet, "api-profit")
router.register("hindsight", HindsightViewSet, "api-hindsight")
router.register("closings", Closings, "api-closings")
router.register("appraisals", Appraisals, "api-appraisals")

# address: (what answers there, its method)
QUESTIONS: dict[str, tuple[type[StudioViewSet], dict[str, Any]]] = {
    "price-list/": (PriceLists, {"post": "ask"}),
    "producible/": (ProducibleViewSet, {"post": "ask"}),
    "break-even/": (BreakEvenViewSet, {"get": "ask"}),
    "valuation/": (ValuationViewSet, {"get": "read"}),
    "valuation/file/": (ValuationViewSet, {"get": "table"}),
    "valuation/sheet/": (ValuationViewSet, {"get": "sheet"}),
}

urlpatterns = router.urls + [
    path(
        address,
        answers.as_view(asked, basename=f"api-{address.partition('/')[0]}"),
        name="-".join(["api", *address.strip("/").split("/")]),
    )
    for address, (answers, asked) in QUESTIONS.items()
]
