"""Papers of a story: each kind is laid out in one seed of three, and its HTML made every time.

Laying out is two thirds of what a paper takes, and tells nothing of a studio's numbers.
"""

from zlib import crc32

import studio.pdf

ONE_SEED_OF = 3


class Papers:
    """Which kinds of paper have been laid out so far; see `govern`."""

    def __init__(self, seed):
        self.seed, self.kind, self.laid_out = seed, "", {}

    def govern(self, monkeypatch):
        """Let papers be laid out as this says until the test is over."""
        make, find = studio.pdf.render_to_string, studio.pdf._weasyprint

        def noted(template, context):
            self.kind = template
            return make(template, context)

        def sparing():
            html, *others = find()
            return (lambda **document: _Document(self, html, document)), *others

        monkeypatch.setattr(studio.pdf, "render_to_string", noted)
        monkeypatch.setattr(studio.pdf, "_weasyprint", sparing)


class _Document:
    def __init__(self, papers, html, document):
        self.papers, self.html, self.document = papers, html, document

    def write_pdf(self, **options):
        papers = self.papers
        if (crc32(papers.kind.encode()) + papers.seed) % ONE_SEED_OF:
            return b"%PDF- not laid out in this seed"
        if papers.kind not in papers.laid_out:
            papers.laid_out[papers.kind] = self.html(**self.document).write_pdf(**options)
        return papers.laid_out[papers.kind]
