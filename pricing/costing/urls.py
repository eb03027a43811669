"""Pages of what a studio works with."""

from pricing.costing.views import catalogue

urlpatterns = [
    *catalogue.urlpatterns,
]
