"""Pages of sets, sales and shops."""

from django.urls import path

from pricing.selling.views import care, consigning, customers, selling

urlpatterns = [
    path("sets/", selling.sets, name="sets"),
    path("sets/new/", selling.set_new, name="set-new"),
    path("sets/<int:number>/", selling.piece_set, name="set"),
    path("sets/<int:number>/use/", selling.set_use, name="set-use"),
    path("sets/<int:number>/unpack/", selling.set_unpack, name="set-unpack"),
    path("sales/", selling.sales, name="sales"),
    path("sales/new/", selling.sale_new, name="sale-new"),
    path("sales/<int:number>/refund/", selling.sale_refund, name="sale-refund"),
    *care.urlpatterns,
    *customers.urlpatterns,
    *consigning.urlpatterns,
]
