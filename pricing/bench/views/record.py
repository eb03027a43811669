"""The record: how good the estimates were, and the curve they come from."""

from collections.abc import Iterable
from itertools import groupby
from statistics import median

from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from pricing.bench.record import AREA, OUNCE, LayerRecord, Record, record
from pricing.estimating import coverage
from pricing.estimating.curves import curve
from pricing.estimating.learning import estimator_for
from pricing.models import Pour, Technique
from pricing.techniques import TECHNIQUES
from studio.access import member_page
from studio.charts import Chart, strip
from studio.requests import StudioRequest


@require_safe
@member_page("viewer")
def record_page(request: StudioRequest) -> HttpResponse:
    """Show forecasts beside what was poured, how good they were, and the curve by technique."""
    kept = record(request.studio)
    slug = _technique(request, kept)
    estimator = estimator_for(request.studio)
    scores = _scores(kept)
    set_aside = request.studio.pours.standing().exclude(set_aside="")
    context = {
        "record": kept,
        "scores": scores,
        "all": scores[-1],
        "chart": _chart(kept) if kept.layers else None,
        "page": Paginator(_by_pour(kept.layers), 20).get_page(request.GET.get("page")),
        "set_aside": set_aside.select_related("surface"),
        "technique": Technique.Slug(slug),
        "techniques": Technique.Slug.choices,
        "curves": [
            curve(request.studio, estimator, slug, layer) for layer in coverage.LAYERS_OF[slug]
        ],
    }
    return render(request, "pricing/bench/record.html", context)


def _technique(request: StudioRequest, kept: Record) -> str:
    """Return the technique asked for, or the one poured most."""
    asked = request.GET.get("technique", "")
    if asked in Technique.Slug.values:
        return asked
    counts = {slug: score.count for slug, score in kept.by_technique.items()}
    return max(counts, key=lambda slug: counts[slug], default=TECHNIQUES[0].slug)


def _chart(kept: Record) -> Chart:
    """Draw each amount as a share of its forecast, a line a technique."""
    names = dict(Technique.Slug.choices)
    rows, table = [], []
    for slug in kept.by_technique:
        layers = [row for row in kept.layers if row.pour.technique.slug == slug]
        shares = [
            (100 * row.poured_ml / row.median_ml, row.inside) for row in layers if row.median_ml
        ]
        inside, outside = (
            [one for one, is_in in shares if is_in is kind] for kind in (True, False)
        )
        rows.append((names[slug], inside, outside))
        if taken := inside + outside:
            figures = (f"{what(taken):.0f}" for what in (min, median, max))
            table.append((names[slug], len(taken), len(inside), *figures))
    headings = ("Technique", "Amounts", "Inside", "Least, %", "Middle, %", "Most, %")
    return strip(
        rows,
        mark=100,
        key=("inside its range", "outside", "as forecast"),
        title="What it took, in % of the forecast",
        caption="What each layer of your pours took, beside its forecast",
        table=(headings, table),
    )


def _by_pour(layers: Iterable[LayerRecord]) -> list[tuple[Pour, list[LayerRecord]]]:
    """Return (pour, its layers) pairs, newest first, the layers in the order they are poured."""
    pours = groupby(layers, key=lambda row: row.pour)
    return [(pour, list(rows)[::-1]) for pour, rows in pours]


def _scores(kept: Record) -> list[dict[str, object]]:
    """Return a row for each technique and one for all: by layer, then whole pours by both rules."""
    names = [(Technique.Slug(slug).label, slug) for slug in kept.by_technique]
    rows = [(name, kept.by_technique[slug], kept.totals_by_technique[slug]) for name, slug in names]
    if len(rows) != 1:
        rows.append(("All", kept.overall, kept.totals))
    return [
        {
            "name": name,
            "layers": layers,
            "area": layers.rules.get(AREA),
            "pours": pours,
            "pours_area": pours.rules.get(AREA),
            "pours_ounce": pours.rules.get(OUNCE),
        }
        for name, layers, pours in rows
    ]
