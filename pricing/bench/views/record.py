"""The record: how good the estimates were, and the curve they come from."""

from collections import defaultdict
from collections.abc import Iterable
from statistics import median

from django.core.paginator import Paginator
from django.db.models import Prefetch
from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from pricing.bench.record import AREA, OUNCE, Scores, Told, recorded_pours, scores
from pricing.estimating import coverage
from pricing.estimating.curves import curve
from pricing.estimating.learning import estimator_for
from pricing.models import PourLayer, Technique
from pricing.techniques import TECHNIQUES
from studio.access import member_page
from studio.charts import Chart, strip
from studio.requests import StudioRequest

# How many pours stand on a page, months in the table, and amounts of a technique in the chart.
PAGE, MONTHS, DRAWN = 20, 24, 100


@require_safe
@member_page("viewer")
def record_page(request: StudioRequest) -> HttpResponse:
    """Show forecasts beside what was poured, how good they were, and the curve by technique."""
    history = scores(request.studio)
    slug = _technique(request, history)
    estimator = estimator_for(request.studio)
    table = _scores(history)
    layers = Prefetch("layers", PourLayer.objects.exclude(forecast_median_ml=None))
    pours = recorded_pours(request.studio).select_related("surface", "technique")
    set_aside = request.studio.pours.standing().exclude(set_aside="")
    context = {
        "history": history,
        "scores": table,
        "all": table[-1],
        "months": history.months[:MONTHS] if len(history.months) > 1 else (),
        "chart": _chart(history) if history.rows else None,
        "page": Paginator(pours.prefetch_related(layers), PAGE).get_page(request.GET.get("page")),
        "set_aside": set_aside.select_related("surface"),
        "technique": Technique.Slug(slug),
        "techniques": Technique.Slug.choices,
        "curves": [
            curve(request.studio, estimator, slug, layer) for layer in coverage.LAYERS_OF[slug]
        ],
    }
    return render(request, "pricing/bench/record.html", context)


def _technique(request: StudioRequest, history: Scores) -> str:
    """Return the technique asked for, or the one poured most."""
    slug = request.GET.get("technique", "")
    if slug in Technique.Slug.values:
        return slug
    counts = {slug: score.count for slug, score in history.by_technique.items()}
    return max(counts, key=lambda slug: counts[slug], default=TECHNIQUES[0].slug)


def _chart(history: Scores) -> Chart:
    """Draw each of the latest amounts as a share of its forecast, a line a technique."""
    names = dict(Technique.Slug.choices)
    rows, table = [], []
    latest = _latest(history.rows)
    for slug in history.by_technique:
        shares = [
            (100 * row.poured_ml / row.median_ml, row.inside)
            for row in latest[slug]
            if row.median_ml
        ]
        inside, outside = (
            [one for one, is_in in shares if is_in is kind] for kind in (True, False)
        )
        rows.append((names[slug], inside, outside))
        if percents := inside + outside:
            figures = (f"{what(percents):.0f}" for what in (min, median, max))
            table.append((names[slug], len(percents), len(inside), *figures))
    headings = ("Technique", "Amounts", "Inside", "Least, %", "Middle, %", "Most, %")
    return strip(
        rows,
        mark=100,
        key=("inside its range", "outside", "as forecast"),
        title="What it took, in % of the forecast",
        caption="What each layer of your pours took, beside its forecast: of each technique the "
        f"latest {DRAWN} amounts at most",
        table=(headings, table),
    )


def _latest(rows: Iterable[Told]) -> dict[str, list[Told]]:
    """Return so many of the latest rows of each technique as are drawn; rows come newest first."""
    latest: defaultdict[str, list[Told]] = defaultdict(list)
    for row in rows:
        if len(latest[row.technique]) < DRAWN:
            latest[row.technique].append(row)
    return latest


def _scores(history: Scores) -> list[dict[str, object]]:
    """Return a row for each technique and one for all: by layer, then whole pours by both rules."""
    names = [(Technique.Slug(slug).label, slug) for slug in history.by_technique]
    rows = [
        (name, history.by_technique[slug], history.totals_by_technique[slug])
        for name, slug in names
    ]
    if len(rows) != 1:
        rows.append(("All", history.overall, history.totals))
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
