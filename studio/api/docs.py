"""The API's description, as a document and as a page to try it from."""

from hashlib import sha256
from pathlib import Path

from csp.decorators import csp_replace
from django.http import HttpRequest, HttpResponse
from django.utils.decorators import method_decorator
from django.views.decorators.http import condition, require_safe
from drf_spectacular.views import SpectacularSwaggerSplitView

from studio.access import open_page

# Written down once, so that no request builds it; a test holds it against the code.
FILE = Path(__file__).parent / "openapi.yml"
DOCUMENT = FILE.read_bytes()
VERSION = f'"{sha256(DOCUMENT).hexdigest()[:32]}"'


@require_safe
@open_page
@condition(etag_func=lambda request: VERSION)
def schema(request: HttpRequest) -> HttpResponse:
    """The OpenAPI document; it names no studio, so anyone may read it."""
    return HttpResponse(DOCUMENT, content_type="application/yaml")


# Refused before the page's own renderer, whose refusals are no JSON.
@method_decorator(require_safe, name="dispatch")
# The page sets its own inline styles; scripts still come from this site only.
@method_decorator(csp_replace({"style-src": ["'self'", "'unsafe-inline'"]}), name="dispatch")
class Docs(SpectacularSwaggerSplitView):
    """The OpenAPI document as a page to try it from."""

    role = "anyone"
    url_name = "api-schema"
    authentication_classes = ()
    permission_classes = ()
