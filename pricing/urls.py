"""Pages of planning, commissions, the bench, selling and profit, wing by wing."""

from django.urls import include, path

from pricing.views import example, exports, home

urlpatterns = [
    path("", home.home, name="home"),
    path("example/", example.example_open, name="example-open"),
    path("example/remove/", example.example_remove, name="example-remove"),
    path("", include("pricing.starting.urls")),
    path("", include("pricing.estimating.urls")),
    path("", include("pricing.costing.urls")),
    path("", include("pricing.commissions.urls")),
    path("", include("pricing.calendar.urls")),
    path("", include("pricing.bench.urls")),
    path("", include("pricing.quoting.urls")),
    path("", include("pricing.selling.urls")),
    path("", include("pricing.earnings.urls")),
    *exports.urlpatterns,
]
