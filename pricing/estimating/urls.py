"""Pages of planning: how much paint a size takes."""

from django.urls import path

from pricing.estimating.views import planner

urlpatterns = [
    path("plan/", planner.planner, name="planner"),
    path("plan/why/<slug:layer>/", planner.plan_why, name="plan-why"),
    path("plan/sizes/", planner.sizes, name="size-table"),
    path("plan/sizes/table.pdf", planner.sizes_pdf, name="size-table-pdf"),
]
