"""API addresses of the ground floor, and the API's own description."""

from django.urls import path

from studio.api.docs import Docs, Schema
from studio.api.endpoints import PeopleEndpoint, PersonEndpoint, StudioEndpoint

urlpatterns = [
    path("studio/", StudioEndpoint.as_view(), name="api-studio"),
    path("people/", PeopleEndpoint.as_view(), name="api-people"),
    path("people/<int:pk>/", PersonEndpoint.as_view(), name="api-person"),
    path("schema/", Schema.as_view(), name="api-schema"),
    path("docs/", Docs.as_view(), name="api-docs"),
]
