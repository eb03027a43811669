"""API addresses of quotes and invoices."""

from django.urls import path
from rest_framework.routers import SimpleRouter

from pricing.quoting.api.invoices import Invoices
from pricing.quoting.api.quotes import QuoteLinks, Quotes
from pricing.quoting.api.tiles import TileAnswers

router = SimpleRouter(use_regex_path=False)
router.register("quotes", Quotes, "api-quotes")
router.register("invoices", Invoices, "api-invoices")
router.register("tile-answers", TileAnswers, "api-tile-answers")

urlpatterns = [
    *router.urls,
    path(
        "quotes/<int:pk>/link/",
        QuoteLinks.as_view({"post": "make", "delete": "destroy"}, basename="api-quote-link"),
        name="api-quote-link",
    ),
]
