"""Which files of the libraries are collected for a site that is served: those that a page names."""

from django.contrib.staticfiles.apps import StaticFilesConfig

# Compressing these would take longer than all the rest.
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


class StaticFiles(StaticFilesConfig):
    ignore_patterns = [*StaticFilesConfig.ignore_patterns, *UNUSED]
