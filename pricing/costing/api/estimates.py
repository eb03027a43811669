"""Estimates with their price, for those who may see it."""

from dataclasses import dataclass
from typing import ClassVar

from rest_framework import serializers

from pricing.costing.api.asking import AskingOut
from pricing.costing.planned_price import Priced, price_of_plan
from pricing.estimating.answers import PieceEstimate
from pricing.estimating.api.estimates import EstimateIn, PlannedOut
from pricing.estimating.estimates import estimate
from pricing.estimating.sizes import kept_as
from pricing.estimating.surfaces import Surface
from pricing.models import Palette, ResinKit, SavedSurface
from studio.api.acts import act
from studio.api.rows import Sighted
from studio.api.viewsets import StudioViewSet
from studio.errors import StudioError
from studio.sight import PRICES


@dataclass(frozen=True)
class PricedEstimate(PieceEstimate):
    """An estimate, and what to ask for its pieces or why there is no such price."""

    priced: Priced | None = None
    no_price: str = ""


class PricedOut(Sighted, PlannedOut):
    """An estimate with what to ask for one of as many, if there is a palette."""

    sights: ClassVar = {"asking": PRICES, "no_price": PRICES}

    asking = AskingOut(source="priced", allow_null=True)
    no_price = serializers.CharField()


class Estimates(StudioViewSet):
    """Estimating: it writes nothing, so a viewer may ask."""

    @act(EstimateIn, gives=PricedOut, role="viewer", on_row=False)
    def make(
        self,
        surface: SavedSurface | Surface,
        technique: str,
        count: int,
        palette: Palette | None = None,
        topcoat: ResinKit | None = None,
        base: str = "",
    ) -> PricedEstimate:
        """How much paint, resin and material equal pieces take, why, and what to ask for them."""
        studio = self.studio
        piece = estimate(studio, surface, technique, count, palette, topcoat, base)
        if palette is None or not self.request.membership.sees(PRICES):
            return PricedEstimate(**vars(piece))
        kept: SavedSurface | None
        if isinstance(surface, SavedSurface):
            kept = surface
        else:
            rows = studio.surfaces.filter(archived_at=None).select_related("material")
            kept = kept_as(surface, rows)
        row = studio.techniques.get(slug=technique)
        try:
            priced = price_of_plan(
                studio, piece, technique=row, palette=palette, topcoat=topcoat, kept=kept
            )
        except StudioError as error:
            return PricedEstimate(**vars(piece), no_price=str(error))
        return PricedEstimate(**vars(piece), priced=priced)
