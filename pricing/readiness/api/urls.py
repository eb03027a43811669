"""API addresses of what went on before its time."""

from rest_framework.routers import SimpleRouter

from pricing.readiness.api.reasons import GoneOnRows

router = SimpleRouter(use_regex_path=False)
router.register("gone-on", GoneOnRows, "api-gone-on")

urlpatterns = router.urls
