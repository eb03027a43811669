"""A template and plain values to a PDF that reaches for nothing outside itself."""

import sys
from typing import Any

from django.http import HttpResponse
from django.template.loader import render_to_string

from studio.errors import StudioError

LETTER_COUNTRIES = ("US", "CA", "MX", "PH", "CL", "CO")
PANGO = {
    "linux": "sudo apt install libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0",
    "darwin": "brew install pango",
    "win32": "pacman -S mingw-w64-ucrt-x86_64-pango (in the MSYS2 UCRT64 window)",
}


class PdfUnavailable(StudioError):
    """This machine lacks the library that sets text into PDFs."""

    code = "pdf_unavailable"


class PdfReachedOut(Exception):
    """A template named a file or an address; everything a PDF shows must be inside it."""


def render_pdf(template: str, context: dict[str, Any]) -> bytes:
    """Render ``template`` to the bytes of a tagged PDF; the same context gives the same bytes.

    Raises
    ------
    PdfUnavailable
        If Pango is missing, with the command that installs it.
    PdfReachedOut
        If the document asks for anything but ``data:`` addresses.
    """
    HTML, fetcher, refusal = _weasyprint()
    document = HTML(string=render_to_string(template, context), url_fetcher=fetcher)
    try:
        return document.write_pdf(pdf_variant="pdf/ua-1")
    except refusal as error:  # a BaseException, which would end the worker
        raise PdfReachedOut(str(error)) from None


def see_that_papers_print() -> None:
    """Raise `PdfUnavailable` where papers cannot be printed on this machine."""
    _weasyprint()


def _weasyprint() -> tuple[Any, Any, type[BaseException]]:
    """Import WeasyPrint when it is first needed: half a second, and it may lack its libraries."""
    try:
        from weasyprint import HTML
        from weasyprint.urls import FatalURLFetchingError, URLFetcher
    except OSError as error:
        command = PANGO.get(sys.platform, PANGO["linux"])
        raise PdfUnavailable(
            f"PDFs need the Pango library, which this machine lacks. Install it with: {command}"
        ) from error

    class NoFetcher(URLFetcher):
        """Refuse every address: a paper carries its styles and pictures inside it."""

        def fetch(self, url: str, headers: Any = None) -> Any:
            if url.startswith("data:"):
                return super().fetch(url, headers)
            raise FatalURLFetchingError(f"A PDF may not fetch {url}.")

    return HTML, NoFetcher(allowed_protocols={"data"}, allow_redirects=False), FatalURLFetchingError


def paper(locale: str) -> str:
    """Return the paper of a locale such as ``en_US``: ``letter`` or ``A4`` (CLDR's regions)."""
    return "letter" if locale.rpartition("_")[2] in LETTER_COUNTRIES else "A4"


def pdf_response(content: bytes, filename: str) -> HttpResponse:
    """Answer with a PDF that opens in the browser under ``filename``."""
    response = HttpResponse(content, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="{filename}"'
    return response
