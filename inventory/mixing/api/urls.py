"""API addresses of recipes."""

from rest_framework.routers import SimpleRouter

from inventory.mixing.api.recipes import Recipes

router = SimpleRouter(use_regex_path=False)
router.register("recipes", Recipes, "api-recipes")

urlpatterns = router.urls
