"""API addresses of the stock room."""

from django.urls import include, path

from inventory.api import alert_mail, buying, deliveries, demand, orders, receiving, running_out

ORDER = "orders/<int:number>/"

urlpatterns = [
    path("", include("inventory.supplies.api.urls")),
    path("materials/<int:pk>/demand/", demand.DemandEndpoint.as_view(), name="api-demand"),
    path("", include("inventory.mixing.api.urls")),
    path("", include("inventory.stock.api.urls")),
    path("alerts/mail/", alert_mail.AlertMailEndpoint.as_view(), name="api-alert-mail"),
    path("alerts/", buying.AlertsEndpoint.as_view(), name="api-alerts"),
    path("running-out/", running_out.RunningOutEndpoint.as_view(), name="api-running-out"),
    path("holds/", buying.HoldsEndpoint.as_view(), name="api-holds"),
    path("reorder-plan/", buying.ReorderPlanEndpoint.as_view(), name="api-reorder-plan"),
    path("reorder-plan/sheet/", buying.ReorderSheetEndpoint.as_view(), name="api-reorder-sheet"),
    path("deliveries/", deliveries.DeliveriesEndpoint.as_view(), name="api-deliveries"),
    path("deliveries/<int:pk>/", deliveries.DeliveryEndpoint.as_view(), name="api-delivery"),
    path("orders/", orders.OrdersEndpoint.as_view(), name="api-orders"),
    path(ORDER, orders.OrderEndpoint.as_view(), name="api-order"),
    path(f"{ORDER}lines/", orders.OrderLinesEndpoint.as_view(), name="api-order-lines"),
    path(f"{ORDER}lines/<int:pk>/", orders.OrderLineEndpoint.as_view(), name="api-order-line"),
    path(f"{ORDER}send/", orders.SendOrderEndpoint.as_view(), name="api-order-send"),
    path(f"{ORDER}cancel/", orders.CancelOrderEndpoint.as_view(), name="api-order-cancel"),
    path(f"{ORDER}receive/", receiving.ReceiveOrderEndpoint.as_view(), name="api-order-receive"),
    path(f"{ORDER}sheet/", orders.OrderSheetEndpoint.as_view(), name="api-order-sheet"),
]
