"""API addresses of estimates."""

from django.urls import path

from pricing.estimating.api.estimates import Estimates

urlpatterns = [
    path(
        "estimates/",
        Estimates.as_view({"post": "make"}, basename="api-estimates"),
        name="api-estimates",
    ),
]
