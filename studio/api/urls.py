"""API addresses of the ground floor, and the API's own description."""

urlpatterns = []
