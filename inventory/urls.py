"""Pages of the stock room."""

from django.urls import path, re_path

from inventory.views import bottles, materials, purchases, recipes

urlpatterns = [
    path("alerts/", materials.alert_list, name="alerts"),
    path("stock/", materials.materials, name="materials"),
    path("stock/new/", materials.material_new, name="material-new"),
    path("stock/<int:pk>/", materials.material, name="material"),
    path("stock/<int:pk>/edit/", materials.material_edit, name="material-edit"),
    path("stock/<int:pk>/archive/", materials.material_archive, name="material-archive"),
    path("stock/<int:pk>/receive/", bottles.receive, name="receive"),
    path("bottles/", bottles.bottles, name="bottles"),
    path("bottles/<slug:code>/", bottles.bottle, name="bottle"),
    path("bottles/<slug:code>/edit/", bottles.edit, name="bottle-edit"),
    path("bottles/<slug:code>/open/", bottles.open_bottle, name="bottle-open"),
    path("bottles/<slug:code>/weigh/", bottles.weigh_in, name="bottle-weigh"),
    path("bottles/<slug:code>/count/", bottles.recount, name="bottle-count"),
    re_path(
        r"^bottles/(?P<code>[\w-]+)/(?P<how>use|waste|send-back)/$",
        bottles.take,
        name="bottle-take",
    ),
    path("ledger/", bottles.entries, name="entries"),
    path("ledger/<int:pk>/", bottles.entry, name="entry"),
    path("ledger/<int:pk>/undo/", bottles.reverse_entry, name="entry-undo"),
    path("suppliers/", purchases.suppliers, name="suppliers"),
    path("suppliers/new/", purchases.supplier_new, name="supplier-new"),
    path("suppliers/<int:pk>/", purchases.supplier, name="supplier"),
    path("suppliers/<int:pk>/edit/", purchases.supplier_edit, name="supplier-edit"),
    path("suppliers/<int:pk>/packs/new/", purchases.pack_new, name="pack-new"),
    path("packs/<int:pk>/edit/", purchases.pack_edit, name="pack-edit"),
    path("reorder/", purchases.reorder, name="reorder"),
    path("reorder/sheet.pdf", purchases.reorder_sheet, name="reorder-sheet"),
    path("reorder/orders/", purchases.make_orders, name="make-orders"),
    path("orders/", purchases.orders, name="orders"),
    path("orders/<int:number>/", purchases.order, name="order"),
    path("orders/<int:number>/lines/<int:pk>/", purchases.order_line, name="order-line"),
    path("orders/<int:number>/send/", purchases.order_send, name="order-send"),
    path("orders/<int:number>/cancel/", purchases.order_cancel, name="order-cancel"),
    path("orders/<int:number>/receive/", purchases.order_receive, name="order-receive"),
    path("orders/<int:number>/sheet.pdf", purchases.order_sheet, name="order-sheet"),
    path("recipes/", recipes.recipes, name="recipes"),
    path("recipes/new/", recipes.recipe_new, name="recipe-new"),
    path("recipes/<int:pk>/", recipes.recipe, name="recipe"),
    path("recipes/<int:pk>/edit/", recipes.recipe_edit, name="recipe-edit"),
]
