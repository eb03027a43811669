"""API addresses of what things would bring and what they earned."""

from typing import Any

from django.urls import path
from rest_framework.routers import SimpleRouter

from pricing.earnings.api.price_list import PriceLists
from pricing.earnings.api.producible import Producible
from pricing.earnings.api.profit import BreakEven, Hindsight, Profit
from pricing.earnings.api.valuation import Appraisals, Valuation
from studio.api.viewsets import StudioViewSet

router = SimpleRouter(use_regex_path=False)
router.register("profit", Profit, "api-profit")
router.register("hindsight", Hindsight, "api-hindsight")
router.register("appraisals", Appraisals, "api-appraisals")

# address: (what answers there, its method)
QUESTIONS: dict[str, tuple[type[StudioViewSet], dict[str, Any]]] = {
    "price-list/": (PriceLists, {"post": "ask"}),
    "producible/": (Producible, {"post": "ask"}),
    "break-even/": (BreakEven, {"get": "ask"}),
    "valuation/": (Valuation, {"get": "read"}),
    "valuation/file/": (Valuation, {"get": "table"}),
    "valuation/sheet/": (Valuation, {"get": "sheet"}),
}

urlpatterns = router.urls + [
    path(
        address,
        answers.as_view(asked, basename=f"api-{address.partition('/')[0]}"),
        name="-".join(["api", *address.strip("/").split("/")]),
    )
    for address, (answers, asked) in QUESTIONS.items()
]
