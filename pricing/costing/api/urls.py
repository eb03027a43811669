"""API addresses of what a studio works with."""

from django.urls import path
from rest_framework.routers import SimpleRouter

from pricing.costing.api.catalogue import Channels, Customers, ResinKits
from pricing.costing.api.estimates import Estimates
from pricing.costing.api.palettes import Palettes
from pricing.costing.api.products import Products
from pricing.costing.api.surfaces import Surfaces
from pricing.costing.api.techniques import Habits, Techniques

router = SimpleRouter(use_regex_path=False)
router.register("surfaces", Surfaces, "api-surfaces")
router.register("techniques", Techniques, "api-techniques")
router.register("habits", Habits, "api-habits")
router.register("palettes", Palettes, "api-palettes")
router.register("resin-kits", ResinKits, "api-resin-kits")
router.register("products", Products, "api-products")
router.register("channels", Channels, "api-channels")
router.register("customers", Customers, "api-customers")

urlpatterns = [
    path(
        "estimates/",
        Estimates.as_view({"post": "make"}, basename="api-estimates"),
        name="api-estimates",
    ),
    *router.urls,
]
