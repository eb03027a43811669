"""API addresses of alerts, promises, the reorder plan, orders and deliveries."""

from django.urls import path
from rest_framework.routers import SimpleRouter

from inventory.buying.api.alerts import Alerts, Holds, OwnAlertMail, RunningOut
from inventory.buying.api.deliveries import Deliveries
from inventory.buying.api.demand import DemandViewSet
from inventory.buying.api.orders import OrderLines, Orders
from inventory.buying.api.reorder import ReorderPlan

router = SimpleRouter(use_regex_path=False)
router.register("alerts", Alerts, "api-alerts")
router.register("holds", Holds, "api-holds")
router.register("running-out", RunningOut, "api-running-out")
router.register("materials", DemandViewSet, "api-materials")
router.register("orders", Orders, "api-orders")
router.register("deliveries", Deliveries, "api-deliveries")

MAIL, LINES, PLAN = "api-alert-mail", "api-order-lines", "api-reorder-plan"
urlpatterns = [
    *router.urls,
    path(
        "alerts/mail/",
        OwnAlertMail.as_view({"get": "retrieve", "patch": "partial_update"}, basename=MAIL),
        name=MAIL,
    ),
    path(
        "orders/<int:number>/lines/<int:pk>/",
        OrderLines.as_view({"patch": "partial_update"}, basename=LINES),
        name=LINES,
    ),
    path("reorder-plan/", ReorderPlan.as_view({"get": "read"}, basename=PLAN), name=PLAN),
    path(
        "reorder-plan/sheet/",
        ReorderPlan.as_view({"get": "sheet"}, basename=PLAN),
        name=f"{PLAN}-sheet",
    ),
]
