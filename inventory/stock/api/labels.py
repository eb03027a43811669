"""Labels for bottles as PDFs."""

from typing import Any

from django.http import HttpResponse
from rest_framework import serializers

from inventory.errors import LabelsRefused
from inventory.stock import labels
from inventory.stock.labelling import STOCKS, LabelError, LabelStock, own_stock, usual_stock
from studio.api.acts import file
from studio.api.viewsets import StudioViewSet
from studio.models import Studio
from studio.pdf import paper as paper_of
from studio.pdf import pdf_response
from studio.site import address

OWN = "own"
NEEDED = ("page_width", "page_height", "columns", "rows", "width", "height")
MEASURES = (*NEEDED, "left", "top", "gap_x", "gap_y")


def _mm(help_text: str) -> serializers.FloatField:
    return serializers.FloatField(min_value=0, max_value=1200, required=False, help_text=help_text)


def _key(help_text: str) -> serializers.IntegerField:
    return serializers.IntegerField(
        min_value=1, max_value=2**63 - 1, required=False, help_text=help_text
    )


class BlankIn(serializers.Serializer):
    """The blank labels: a usual size, or ``own`` with its measures, [mm]."""

    stock = serializers.ChoiceField(
        choices=[(key, stock.name) for key, stock in STOCKS.items()] + [(OWN, "Own measures")],
        required=False,
        help_text="The usual one of the studio's paper if not said.",
    )
    page_width = _mm("Of the page.")
    page_height = _mm("Of the page.")
    columns = serializers.IntegerField(min_value=1, max_value=100, required=False)
    rows = serializers.IntegerField(min_value=1, max_value=100, required=False)
    width = _mm("Of one label.")
    height = _mm("Of one label.")
    left = _mm("From the edge of the page to the first label.")
    top = _mm("From the edge of the page to the first label.")
    gap_x = _mm("Between columns.")
    gap_y = _mm("Between rows.")

    def validate(self, data: dict[str, Any]) -> dict[str, Any]:
        missing = [key for key in NEEDED if key not in data] if data.get("stock") == OWN else ()
        if missing:
            sentence = "Measure this for labels of your own size."
            raise serializers.ValidationError({key: [sentence] for key in missing})
        return data


class LabelsIn(BlankIn):
    """Which bottles, and where to begin."""

    bottle = serializers.ListField(
        child=serializers.CharField(max_length=12),
        required=False,
        max_length=labels.MOST_LABELS,
        help_text="A short code; once for each bottle. All on the shelf if nothing is chosen.",
    )
    delivery = _key("The id of a delivery.")
    material = _key("The id of a material.")
    start = serializers.IntegerField(
        min_value=1, default=1, help_text="The first free label of a sheet used in part."
    )
    copies = serializers.IntegerField(min_value=1, max_value=20, default=1)


class Labels(StudioViewSet):
    """Labels on paper."""

    @file(on_row=False, parameters=(LabelsIn,))
    def sheet(self) -> HttpResponse:
        """Labels for bottles as a PDF, each with a code that opens it and begins with SITE_URL."""
        query = self.checked_query(LabelsIn)
        rows = labels.bottles_to_label(
            self.studio,
            codes=query.get("bottle") or None,
            delivery=query.get("delivery"),
            material=query.get("material"),
        )
        sheet = labels.labels_sheet(
            self.studio,
            list(rows[: labels.MOST_LABELS + 1]),
            _blank(query, self.studio),
            address=lambda row: address(labels.address_of(row)),
            start=query["start"],
            copies=query["copies"],
        )
        return pdf_response(sheet, "bottle-labels.pdf")

    @file(on_row=False, parameters=(BlankIn,))
    def test(self) -> HttpResponse:
        """A page of hair lines to hold against the blank labels."""
        blank = _blank(self.checked_query(BlankIn), self.studio)
        return pdf_response(labels.check_sheet(self.studio, blank), "label-test-sheet.pdf")


def _blank(query: dict[str, Any], studio: Studio) -> LabelStock:
    """Return the blank labels that were asked for."""
    name = query.get("stock") or usual_stock(paper_of(studio.locale)).key
    if name != OWN:
        return STOCKS[name]
    try:
        return own_stock(**{key: query[key] for key in MEASURES if key in query})
    except LabelError as error:
        raise LabelsRefused(str(error)) from error
