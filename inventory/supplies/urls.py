"""Pages of materials, suppliers and packs."""

from django.urls import path

from inventory.supplies.views import materials, suppliers

urlpatterns = [
    path("stock/new/", materials.material_new, name="material-new"),
    path("stock/<int:pk>/edit/", materials.material_edit, name="material-edit"),
    path("stock/<int:pk>/archive/", materials.material_archive, name="material-archive"),
    path("suppliers/", suppliers.suppliers, name="suppliers"),
    path("suppliers/new/", suppliers.supplier_new, name="supplier-new"),
    path("suppliers/<int:pk>/", suppliers.supplier, name="supplier"),
    path("suppliers/<int:pk>/edit/", suppliers.supplier_edit, name="supplier-edit"),
    path("suppliers/<int:pk>/archive/", suppliers.supplier_archive, name="supplier-archive"),
    path("suppliers/<int:pk>/packs/new/", suppliers.pack_new, name="pack-new"),
    path("packs/<int:pk>/edit/", suppliers.pack_edit, name="pack-edit"),
]
