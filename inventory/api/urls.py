"""API addresses of the stock room."""

from django.urls import include, path

urlpatterns = [
    path("", include(f"inventory.{wing}.api.urls"))
    for wing in ("supplies", "stock", "mixing", "buying")
]
