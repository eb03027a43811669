"""Style sheets and scripts of a site that is served: collected once, under hashed names."""

from collections.abc import Iterable
from typing import Any

from django.contrib.staticfiles.finders import AppDirectoriesFinder
from whitenoise.storage import CompressedManifestStaticFilesStorage

# No page names these, and compressing them would take longer than all the rest.
UNUSED = [
    "rest_framework",  # of pages that try an API from the browser; ours are the sidecar's
    "drf_spectacular_sidecar/redoc",
    "django_htmx/ext",
    "django_htmx/ht*-4*",
    "django_htmx/htmx-2.js",
    # Beside each of these lies the same in short.
    "admin/js/vendor/jquery/jquery.js",
    "admin/js/vendor/select2/select2.full.js",
    "admin/js/vendor/xregexp/xregexp.js",
]


class Finder(AppDirectoriesFinder):
    """The files of the apps, without those that no page names."""

    def list(self, ignore_patterns: Iterable[str] | None) -> Iterable[Any]:
        return super().list([*(ignore_patterns or ()), *UNUSED])


class Collected(CompressedManifestStaticFilesStorage):
    """Files as they were collected; one that was not is asked for by its plain name.

    So a page still says what it has to, without its looks.
    """

    def stored_name(self, name: str) -> str:
        return str(self.hashed_files.get(self.hash_key(self.clean_name(name)), name))
