"""The API's description, as a document and as a page to try it from."""

from csp.decorators import csp_replace
from django.utils.decorators import method_decorator
from drf_spectacular.views import SpectacularAPIView, SpectacularSwaggerSplitView


class Schema(SpectacularAPIView):
    """The OpenAPI document; it names no studio, so anyone may read it."""

    role = "anyone"
    http_method_names = ("get", "head")
    authentication_classes = ()
    permission_classes = ()


# The page sets its own inline styles; scripts still come from this site only.
@method_decorator(csp_replace({"style-src": ["'self'", "'unsafe-inline'"]}), name="dispatch")
class Docs(SpectacularSwaggerSplitView):
    """The OpenAPI document as a page to try it from."""

    role = "anyone"
    http_method_names = ("get", "head")
    url_name = "api-schema"
    authentication_classes = ()
    permission_classes = ()
