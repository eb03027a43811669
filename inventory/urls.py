"""Pages of the stock room, wing by wing."""

from django.urls import include, path

urlpatterns = [
    path("", include("inventory.supplies.urls")),
    path("", include("inventory.stock.urls")),
    path("", include("inventory.mixing.urls")),
    path("", include("inventory.buying.urls")),
]
