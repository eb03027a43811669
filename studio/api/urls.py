"""API addresses of the ground floor, and the API's own description."""

from django.urls import path
from rest_framework.routers import SimpleRouter

from studio.api.docs import Docs, schema
from studio.api.endpoints import PeopleEndpoint, StudioEndpoint

router = SimpleRouter(use_regex_path=False)
router.register("people", PeopleEndpoint, "api-people")

urlpatterns = [
    path(
        "studio/",
        StudioEndpoint.as_view(
            {"get": "retrieve", "patch": "partial_update"}, basename="api-studio"
        ),
        name="api-studio",
    ),
    *router.urls,
    path("schema/", schema, name="api-schema"),
    path("docs/", Docs.as_view(), name="api-docs"),
]
