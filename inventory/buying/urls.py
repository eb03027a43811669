"""Pages of what is short, what to buy, orders and deliveries."""

from django.urls import path

from inventory.buying.views import deliveries, materials, orders, reorder

urlpatterns = [
    path("alerts/", materials.alert_list, name="alerts"),
    path("alerts/mail/", materials.alert_mail, name="alert-mail"),
    path("stock/", materials.materials, name="materials"),
    path("stock/<int:pk>/", materials.material, name="material"),
    path(
        "stock/<int:pk>/prices.<slug:extension>", materials.material_prices, name="material-prices"
    ),
    path("stock/<int:pk>/receive/", deliveries.receive, name="receive"),
    path("reorder/", reorder.reorder, name="reorder"),
    path("reorder/sheet.pdf", reorder.reorder_sheet, name="reorder-sheet"),
    path("reorder/orders/", reorder.make_orders, name="make-orders"),
    path("stock/came/", deliveries.what_came, name="what-came"),
    path("orders/", orders.orders, name="orders"),
    path("orders/new/", orders.order_new, name="order-new"),
    path("orders/<int:number>/", orders.order, name="order"),
    path("orders/<int:number>/lines/new/", orders.order_line_new, name="order-line-new"),
    path("orders/<int:number>/lines/<int:pk>/", orders.order_line, name="order-line"),
    path("orders/<int:number>/send/", orders.order_send, name="order-send"),
    path("orders/<int:number>/cancel/", orders.order_cancel, name="order-cancel"),
    path("orders/<int:number>/receive/", deliveries.order_receive, name="order-receive"),
    path("orders/<int:number>/sheet.pdf", orders.order_sheet, name="order-sheet"),
]
