"""API addresses of this app."""

urlpatterns = []
