"""The first steps of a studio, until its first quote is sent: what is done, and why the rest."""

from dataclasses import dataclass
from urllib.parse import urlencode

from django.db.models import Q
from django.urls import reverse

from studio.models import Studio

# Where on a plan its price stands.
PRICE = "what-to-ask"


@dataclass(frozen=True)
class FirstStep:
    """One step: what to do, why, where, and whether it is done."""

    title: str
    why: str
    url: str
    is_done: bool


def first_steps(studio: Studio) -> list[FirstStep]:
    """Return the first steps; none in an example, once sent away, or after the first quote."""
    if (
        studio.is_example
        or studio.first_steps_left_at
        or studio.quotes.exclude(number=None).exists()
    ):
        return []
    priced = Q(price__gt=0, material__archived_at=None)
    commission = studio.commissions.order_by("-pk").first()
    return [
        FirstStep(
            "Answer four questions and put a shelf in",
            "Money, measures, sizes and recipes come from it, so that you type none of them.",
            reverse("starting"),
            studio.materials.exists(),
        ),
        FirstStep(
            "Say what five things cost, and read your first price",
            "A few things make most of the cost; the rest can wait.",
            reverse("starting-prices"),
            studio.packs.filter(priced).exists(),
        ),
        FirstStep(
            "Give your address",
            "It stands on each quote, so that a customer knows who offers it.",
            reverse("studio-settings"),
            bool(studio.address or studio.email),
        ),
        FirstStep(
            "Write down what somebody wants",
            "A quote is for a customer and for pieces; invent both to try it.",
            first_plan(studio) or reverse("commission-new"),
            commission is not None,
        ),
        FirstStep(
            "Send the first quote",
            "It keeps its price, whatever paint costs later, and this list is done with.",
            reverse("commission", args=[commission.number])
            if commission
            else reverse("commissions"),
            False,
        ),
    ]


def first_plan(studio: Studio) -> str:
    """Return the address of the price of the first product or size; empty without either."""
    product = studio.products.filter(archived_at=None).select_related("surface", "technique")
    one = product.order_by("pk").first()
    if one is not None:
        asked: dict[str, object] = {
            "size": one.surface.name,
            "technique": one.technique.slug,
            "count": one.pieces_each,
            "palette": one.palette_id,
            "use": one.use,
        }
        if one.topcoat_id:
            asked["topcoat"] = one.topcoat_id
        return f"{reverse('planner')}?{urlencode(asked)}#{PRICE}"
    surface = studio.surfaces.filter(archived_at=None).order_by("pk").first()
    palette = studio.palettes.filter(archived_at=None).order_by("pk").first()
    if surface is None or palette is None:
        return ""
    asked = {"size": surface.name, "palette": palette.pk}
    return f"{reverse('planner')}?{urlencode(asked)}#{PRICE}"
