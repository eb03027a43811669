"""A quote as papers: the customer's, and for the owner alone what the price was made from."""

from drf_spectacular.utils import extend_schema, inline_serializer
from rest_framework import serializers
from rest_framework.response import Response

from pricing.api.quotes import found_quote
from pricing.quoting import papers
from studio.api.papers import PaperView, describes_paper, paper
from studio.api.views import StudioView

COSTS = inline_serializer(
    "QuoteCosts",
    {
        name: serializers.JSONField()
        for name in ("settings", "terms", "channel", "prices", "lines", "totals", "risk", "advice")
    },
)


class QuoteCostsEndpoint(StudioView):
    """What the price was made from, for the owner alone."""

    read_role = write_role = "owner"

    @extend_schema(operation_id="quotes_costs", responses=COSTS)
    def get(self, request, pk):
        """Every input and amount a quote was computed from, as frozen with it."""
        frozen = found_quote(request, pk).frozen
        return Response({name: frozen.get(name) for name in COSTS.fields})


class QuotePaperEndpoint(PaperView):
    """The customer's paper."""

    @describes_paper("quotes_pdf", "The quote as a PDF, the same bytes each time.")
    def get(self, request, pk):
        found = found_quote(request, pk)
        return paper(papers.quote_pdf(found), papers.file_name(found))


class CostSheetEndpoint(PaperView):
    """The owner's paper."""

    read_role = write_role = "owner"

    @describes_paper("quotes_cost_sheet", "The internal cost sheet as a PDF, for the owner alone.")
    def get(self, request, pk):
        return paper(papers.cost_sheet_pdf(found_quote(request, pk)), f"cost-sheet-{pk}")
