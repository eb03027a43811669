"""API addresses of materials, suppliers and packs."""

from rest_framework.routers import SimpleRouter

from inventory.supplies.api.materials import Materials
from inventory.supplies.api.suppliers import Packs, Suppliers

router = SimpleRouter(use_regex_path=False)
router.register("materials", Materials, "api-materials")
router.register("suppliers", Suppliers, "api-suppliers")
router.register("packs", Packs, "api-packs")

urlpatterns = router.urls
