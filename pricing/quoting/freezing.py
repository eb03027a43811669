"""A quote's inputs and every amount between them, as plain text that never changes again.

Numbers are written as text, so that a decimal comes back as it went in. Papers and holds are made
from this alone, never from today's prices.
"""

from collections.abc import Mapping, Sequence
from dataclasses import fields, is_dataclass
from decimal import Decimal

from inventory.models import Material
from pricing.commissions.cautions import cautions
from pricing.costing.asking import Asking
from pricing.costing.costs import LineCost
from pricing.costing.material_prices import MaterialPrice
from pricing.costing.price import Offer, OfferLine
from pricing.estimating.answers import CommissionEstimate, LineEstimate
from pricing.estimating.layers import LayerEstimate, Need
from pricing.models import Commission
from pricing.quoting.risks import QuoteRisk
from studio.money import ZERO

# Quantities of pieces that may have to be made again are expectations, and have no last place.
FINE = Decimal("0.0000001")
SETTINGS = (
    "price_by",
    "margin",
    "markup",
    "tax_rate",
    "tax_inclusive",
    "rounding_step",
    "minimum_charge",
    "deposit",
    "labour_rate",
    "overhead_rate",
    "measures",
    "mix_confidence",
    "cup_loss",
)


def frozen_quote(
    *,
    commission: Commission,
    estimate: CommissionEstimate,
    prices: Mapping[Material, MaterialPrice],
    costs: Sequence[LineCost],
    offer: Offer,
    asking: Asking,
    deposit: Decimal,
    risk: QuoteRisk,
) -> dict[str, object]:
    """Return the whole quote as plain data for `Quote.frozen`.

    Parameters
    ----------
    commission : Commission
    estimate : CommissionEstimate
    prices : dict of Material to MaterialPrice
    costs : list of LineCost
    offer : Offer
    asking : Asking
        What the price rests on; ``prices``, ``costs`` and the profit of ``offer`` are of the shelf
    deposit : Decimal
        What is asked for on acceptance, [currency]
    risk : QuoteRisk
    """
    studio, customer = commission.studio, commission.customer
    paper = ("name", "address", "email", "phone", "tax_number", "currency", "locale")
    return {
        "studio": {name: getattr(studio, name) for name in paper},
        "customer": {name: getattr(customer, name) for name in ("name", "address", "email")},
        "commission": {
            "number": commission.number,
            "title": commission.title,
            "due_on": commission.due_on.isoformat() if commission.due_on else "",
        },
        "settings": {name: plain(getattr(studio, name)) for name in SETTINGS}
        | {"costing": studio.costing_in_force},
        "terms": plain(asking.terms),
        "channel": asking.channel.name if asking.channel else "",
        "prices": [
            _price(one, estimate.needs[key])
            | {
                "again": plain(
                    sum((cost.again.get(key, ZERO) for cost in costs), ZERO).quantize(FINE)
                )
            }
            for key, one in prices.items()
        ],
        "lines": [
            _line(estimated, cost, line)
            for estimated, cost, line in zip(estimate.lines, costs, offer.lines, strict=True)
        ],
        "totals": {
            one.name: plain(getattr(offer, one.name))
            for one in fields(offer)
            if one.name != "lines"
        }
        | {
            "deposit": plain(deposit),
            "margin": plain(offer.margin),
            "cautious_margin": plain(offer.cautious_margin),
        },
        "asking": _asking(estimate, asking),
        "risk": plain(risk),
        "cautions": cautions(commission),
        "words": studio.quote_terms,
        "advice": list(dict.fromkeys(estimate.warnings)),
    }


def plain(value: object) -> object:
    """Write decimals as text, dataclasses as their fields, and leave the rest."""
    if isinstance(value, Decimal):
        return f"{value:f}"
    if is_dataclass(value):
        return {one.name: plain(getattr(value, one.name)) for one in fields(value)}
    if isinstance(value, (list, tuple)):
        return [plain(one) for one in value]
    return value


def _asking(estimate: CommissionEstimate, asking: Asking) -> dict[str, object]:
    """Return what the price rests on: each material's cost to replace, and each line's at that."""
    needs = estimate.needs
    return {
        "prices": [_price(one, needs[key]) for key, one in asking.prices.items()],
        "unknown": [*asking.unknown_names],
        "left_out": [*asking.left_out],
        "unknown_share": plain(asking.unknown_share.quantize(FINE)),
        "lines": [
            {
                "cost_lines": plain(one.cost.lines),
                "cost": plain(one.cost.total),
                "cautious_cost": plain(one.cost.cautious_total),
            }
            for one in asking.costs
        ],
        "cost": plain(asking.offer.cost),
        "profit": plain(asking.offer.profit),
        "margin": plain(asking.offer.margin),
        "markup": plain(asking.offer.markup or ZERO),
    }


def _price(one: MaterialPrice, need: Need) -> dict[str, object]:
    return {
        "material_id": one.material.pk,
        "material": one.material.name,
        "unit": one.material.get_unit_display(),
        "quantity": plain(need.used),
        "cautious_quantity": plain(need.high),
        "unit_price": plain(one.unit_price),
        "cost": plain(one.cost(need.used)),
        "source": one.source,
    }


def _line(estimated: LineEstimate, cost: LineCost, offered: OfferLine) -> dict[str, object]:
    line = estimated.line
    return {
        "line_id": line.pk,
        "description": line.description,
        "quantity": line.quantity,
        "pieces": line.pieces,
        "surface": line.surface.name,
        "technique": line.technique.name,
        "palette": line.palette.name,
        "use": line.use,
        "is_test": line.is_test,
        "is_free": line.is_free,
        "success_rate": plain(cost.cost.success_rate),
        "coat_success": plain(cost.cost.sessions.coat_success),
        "guess": cost.guess,
        "layers": [_layer(layer) for layer in estimated.piece.layers],
        "outside_measured": estimated.piece.outside_measured,
        "cost_lines": plain(cost.cost.lines),
        "cost": plain(cost.cost.total),
        "cautious_cost": plain(cost.cost.cautious_total),
        "minutes": plain(cost.cost.minutes),
        "unit": plain(offered.unit),
        "unit_steps": plain(offered.unit.steps),
        "unit_price": plain(offered.shown),
        "amount": plain(offered.amount),
        "needs": {
            stage: [[material.pk, plain(need.to_mix)] for material, need in needs.items()]
            for stage, needs in estimated.by_stage.items()
        },
    }


def _layer(layer: LayerEstimate) -> dict[str, object]:
    return {
        "layer": layer.layer,
        "name": layer.name,
        "low_ml": plain(layer.low_ml),
        "median_ml": plain(layer.median_ml),
        "high_ml": plain(layer.high_ml),
        "to_mix_ml": plain(layer.to_mix_ml),
        "measure": layer.measure,
    }
