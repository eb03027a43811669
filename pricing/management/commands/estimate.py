"""How much paint a piece takes, from common practice alone: no studio and no database needed."""

import json
import re
from collections.abc import Collection
from decimal import Decimal, InvalidOperation
from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from pricing.estimating.answers import PieceEstimate
from pricing.estimating.estimates import common_estimate
from pricing.estimating.layers import line_of
from pricing.estimating.learning import estimator_for
from pricing.estimating.narrowing import Narrowing, narrowing
from pricing.estimating.sizes import read_surface
from pricing.models import Technique
from pricing.techniques import BASES
from studio.errors import StudioError
from studio.units import MEASURES, UnitsError, both, parse_count

MOST_PIECES = 1000


class Command(BaseCommand):
    help = "Print how much of each layer to pour on pieces of one size, all pieces together."
    requires_system_checks = []

    def create_parser(self, *args: Any, **kwargs: Any) -> CommandParser:
        parser = super().create_parser(*args, **kwargs)
        # “-4x4in” is a size that cannot be, not an option.
        parser._negative_number_matcher = re.compile(r"-[\d.]")
        return parser

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("size", help="Such as 8x8x1.5in, '10 × 10 cm' or '4 in round'.")
        parser.add_argument(
            "--technique", required=True, help=f"One of {', '.join(Technique.Slug.values)}."
        )
        parser.add_argument(
            "--base",
            help=f"The base under ring pours and flip cups: {' or '.join(BASES)}; either if "
            "not given.",
        )
        parser.add_argument("--count", default="1", help="How many pieces; 1 if not given.")
        parser.add_argument(
            "--measures",
            default="us",
            help=f"Whose spoons and cups: {', '.join(MEASURES)}; us if not given.",
        )
        parser.add_argument(
            "--topcoat",
            metavar="MM",
            help="Add a resin topcoat with a film of so many millimetres.",
        )
        parser.add_argument("--json", action="store_true", help="Print JSON instead of a table.")

    def handle(
        self,
        *,
        size: str,
        technique: str,
        count: str,
        measures: str,
        topcoat: str | None,
        base: str | None,
        **options: Any,
    ) -> None:
        try:
            _refuse_unknown("technique", technique, Technique.Slug.values)
            if base is not None:
                _refuse_unknown("base", base, BASES)
            _refuse_unknown("set of measures", measures, MEASURES)
            surface = read_surface(size)
            estimate = common_estimate(
                surface,
                technique,
                count=_count(count),
                measures=measures,
                film_mm=None if topcoat is None else _film(topcoat),
                base=base or "",
            )
            line = line_of(surface, technique, estimate.count, estimate.base)
            first = narrowing(estimator_for(), line, ())
        except (StudioError, UnitsError) as error:
            # Plain, without the name of an exception before it.
            self.stderr.write(str(error), self.style.ERROR)
            raise SystemExit(2) from None
        write = as_json(estimate, first) if options["json"] else as_table(estimate, first, measures)
        self.stdout.write(write)


def as_json(estimate: PieceEstimate, first: Narrowing | None) -> str:
    """Write a `PieceEstimate` as JSON, and what to pour first; volumes in mL, areas in mm²."""
    total = estimate.total
    assert total is not None
    answer = {
        "surface": {
            "top_area_mm2": round(float(estimate.surface.top_area_mm2), 3),
            "side_area_mm2": round(float(estimate.surface.side_area_mm2), 3),
        },
        "technique": estimate.technique,
        "count": estimate.count,
        "base": estimate.base or " or ".join(estimate.bases),
        "layers": [
            {
                "layer": layer.layer,
                "low_ml": float(layer.low_ml),
                "median_ml": float(layer.median_ml),
                "high_ml": float(layer.high_ml),
                "measure": layer.measure,
                "to_mix_ml": float(layer.to_mix_ml),
                "mix_measure": layer.mix_measure,
            }
            for layer in estimate.layers
        ],
        "total": {
            "low_ml": float(total.low_ml),
            "median_ml": float(total.median_ml),
            "high_ml": float(total.high_ml),
            "measure": total.measure,
            "to_mix_ml": float(estimate.to_mix_ml),
        },
        "narrowing": first
        and {"size": first.size, "before": round(first.before, 2), "after": round(first.after, 2)},
        "outside_measured": estimate.outside_measured,
        "warnings": list(estimate.warnings),
    }
    return json.dumps(answer, indent=2, ensure_ascii=False)


def as_table(estimate: PieceEstimate, first: Narrowing | None, measures: str) -> str:
    """Write a `PieceEstimate` as a table a person reads, and what to pour first."""
    head = ("", "1 in 10 takes less", "Middle", "1 in 10 takes more", "To mix")
    rows = [
        (
            layer.name,
            *(
                both(volume, measures)
                for volume in (layer.low_ml, layer.median_ml, layer.high_ml, layer.to_mix_ml)
            ),
        )
        for layer in estimate.layers
    ]
    total = estimate.total
    assert total is not None
    volumes = (total.low_ml, total.median_ml, total.high_ml, estimate.to_mix_ml)
    rows.append(("All paint", *(both(volume, measures) for volume in volumes)))
    widths = [max(len(row[place]) for row in (head, *rows)) for place in range(len(head))]
    surface = estimate.surface
    pieces = "one piece" if estimate.count == 1 else f"{estimate.count} pieces together"
    lines = [
        f"{Technique.Slug(estimate.technique).label}, {pieces}: each has a face of "
        f"{_area(surface.top_area_mm2)} and sides of {_area(surface.side_area_mm2)}",
        "",
    ]
    for row in (head, *rows):
        lines.append("  ".join(text.ljust(width) for text, width in zip(row, widths, strict=True)))
    if estimate.bases:
        lines += ["", f"These cover a {' and a '.join(estimate.bases)} base: say which by --base."]
    lines += ["", first.sentence] if first else []
    lines += ["", *(f"! {sentence}" for sentence in estimate.warnings)] if estimate.warnings else []
    return "\n".join(line.rstrip() for line in lines)


def _area(area_mm2: float) -> str:
    return f"{float(area_mm2) / 100:.0f} cm²"


def _refuse_unknown(what: str, name: str, names: Collection[str]) -> None:
    if name not in names:
        raise UnitsError(f"There is no {what} “{name}”; give one of {', '.join(names)}.")


def _count(text: str) -> int:
    count = int(parse_count(text))
    if count > MOST_PIECES:
        raise UnitsError(f"Estimate 1 to {MOST_PIECES:,} pieces at once.")
    return count


def _film(text: str) -> Decimal:
    sentence = "A topcoat's film is given in millimetres, from 0.1 to 50, such as 1.6."
    try:
        film_mm = Decimal(text.strip().removesuffix("mm").strip())
    except InvalidOperation:
        raise UnitsError(sentence) from None
    if not film_mm.is_finite() or not Decimal("0.1") <= film_mm <= 50:
        raise UnitsError(sentence)
    return film_mm
