"""PDFs: what is on them, the same bytes each time, and nothing fetched."""

import re
import sys
from importlib.abc import MetaPathFinder
from io import BytesIO

import pytest
from pypdf import PdfReader

from studio.charts import bars
from studio.pdf import PdfReachedOut, PdfUnavailable, paper, render_pdf

PAPER = """{% extends "pdf_base.html" %}
{% block title %}Quote 12{% endblock title %}
{% block facts %}<dl class="facts"><div><dt>For</dt><dd>{{ customer }}</dd></div></dl>{% endblock %}
{% block content %}
<table>
  <caption>What is offered</caption>
  <thead><tr><th scope="col">Piece</th><th scope="col" class="num">Price</th></tr></thead>
  <tbody>
    {% for row in rows %}
      <tr><th scope="row">Set {{ row }}</th><td class="num">60.00</td></tr>
    {% endfor %}
  </tbody>
  <tfoot><tr class="total"><th scope="row">Total</th><td class="num">$141.98</td></tr></tfoot>
</table>
{{ picture }}
{% endblock %}
"""
STUDIO = {
    "name": "Tidewater Pours",
    "address": "12 Quay Row\nPort Selby",
    "email": "hello@example.org",
    "phone": "",
    "tax_number": "",
}


@pytest.fixture
def template(tmp_path, settings):
    """Return a function that writes a template and gives its name."""
    engine = settings.TEMPLATES[0]
    settings.TEMPLATES = [engine | {"DIRS": [tmp_path, *engine["DIRS"]]}]

    def write(text):
        (tmp_path / "paper.html").write_text(text)
        return "paper.html"

    return write


def context(rows=3, **more):
    return {"studio": STUDIO, "customer": "Rowan Vale", "rows": range(rows), "paper": "A4"} | more


def text_of(pages):
    return [re.sub(r"\s+", " ", page.extract_text()) for page in pages]


def test_the_text_can_be_read_back(template):
    pages = PdfReader(BytesIO(render_pdf(template(PAPER), context()))).pages

    (text,) = text_of(pages)
    for words in (
        "Quote 12",
        "Tidewater Pours",
        "Rowan Vale",
        "What is offered",
        "$141.98",
        "Page 1 of 1",
    ):
        assert words in text


def test_a_long_paper_numbers_its_pages_repeats_its_head_and_totals_once(template):
    pages = text_of(PdfReader(BytesIO(render_pdf(template(PAPER), context(rows=60)))).pages)

    assert len(pages) == 3
    assert all(f"Page {n} of 3" in text for n, text in enumerate(pages, 1))
    assert all("Piece Price" in text for text in pages)
    assert [text.count("$141.98") for text in pages] == [0, 0, 1]


def test_the_same_paper_is_the_same_bytes(template):
    name = template(PAPER)
    chart = bars([("Market", 5)], title="USD", caption="Profit")

    first = render_pdf(name, context(picture=chart.svg))

    assert render_pdf(name, context(picture=chart.svg)) == first
    assert render_pdf(name, context(picture=chart.svg, customer="Ash")) != first


def test_a_chart_on_paper_shows_its_labels_and_not_what_is_read_out(template):
    chart = bars([("Market", 5)], title="Profit, USD", caption="Earned in spring")

    (text,) = text_of(
        PdfReader(BytesIO(render_pdf(template(PAPER), context(picture=chart.svg)))).pages
    )

    assert "Market" in text and "Profit, USD" in text
    assert "Earned in spring" not in text


def test_the_pdf_is_tagged_and_says_its_language_and_title(template):
    reader = PdfReader(BytesIO(render_pdf(template(PAPER), context())))

    root = reader.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert root["/Lang"] == "en"
    assert reader.metadata.title == "Quote 12 – Tidewater Pours"
    assert b"pdfuaid" in root["/Metadata"].get_object().get_data()


@pytest.mark.parametrize(
    "reach",
    [
        '<img src="file://{secret}">',
        '<img src="{secret}">',
        '<img src="http://127.0.0.1:9/x.png">',
        '<link rel="stylesheet" href="file://{secret}">',
        '<link rel="attachment" href="file://{secret}">',
        '<a rel="attachment" href="file://{secret}">x</a>',
        '<object data="file://{secret}"></object>',
        '<embed src="file://{secret}">',
        '<p style="background: url(file://{secret})">x</p>',
        '<svg><image href="file://{secret}" width="9" height="9"/></svg>',
        '<style>@import url("file://{secret}");</style>',
    ],
)
def test_a_paper_reaches_for_nothing(template, tmp_path, reach):
    secret = tmp_path / "secret.svg"
    secret.write_text('<svg xmlns="http://www.w3.org/2000/svg"><text y="9">KEEP OUT</text></svg>')
    name = template(PAPER.replace("{{ picture }}", reach.format(secret=secret)))

    try:
        pdf = render_pdf(name, context())
    except PdfReachedOut as refusal:
        assert "may not fetch" in str(refusal)
    else:
        reader = PdfReader(BytesIO(pdf))
        assert not reader.attachments
        assert "KEEP OUT" not in reader.pages[0].extract_text()


def test_what_a_customer_is_called_is_text_and_not_markup(template):
    pdf = render_pdf(template(PAPER), context(customer='<img src="file:///etc/hostname"> & Co'))

    assert '<img src="file:///etc/hostname"> & Co' in text_of(PdfReader(BytesIO(pdf)).pages)[0]


def test_a_machine_without_pango_is_told_what_to_install(template, monkeypatch):
    class NoPango(MetaPathFinder):
        def find_spec(self, name, path=None, target=None):
            if name == "weasyprint":
                raise OSError("cannot load library 'libpango-1.0-0'")

    for name in [name for name in sys.modules if name.split(".")[0] == "weasyprint"]:
        monkeypatch.delitem(sys.modules, name)
    monkeypatch.setattr(sys, "meta_path", [NoPango(), *sys.meta_path])

    with pytest.raises(PdfUnavailable, match=r"Pango.*(apt install|brew install|pacman)"):
        render_pdf(template(PAPER), context())


def test_paper_follows_the_country():
    assert [paper(name) for name in ("en_US", "en_CA", "en_GB", "de_DE", "fr")] == [
        "letter",
        "letter",
        "A4",
        "A4",
        "A4",
    ]
