"""API addresses of what things take, cost and earn."""

from django.urls import include, path

from pricing.api import exports

WINGS = (
    "costing",
    "readiness",
    "commissions",
    "bench",
    "calendar",
    "quoting",
    "selling",
    "earnings",
)

urlpatterns = [
    *(path("", include(f"pricing.{wing}.api.urls")) for wing in WINGS),
    *exports.urlpatterns,
]
