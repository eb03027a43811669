"""How well forecasts came true, beside the plain rules."""

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median

from pricing.estimating.coverage.observations import CoverageError


@dataclass(frozen=True)
class Score:
    """A record of forecasts.

    Parameters
    ----------
    count : int
        How many forecasts, [-]
    inside : float or None
        Share of actual amounts within the forecast's range; None without forecasts, [-]
    error : float or None
        Median of |forecast − actual| / actual, [-]
    rules : dict of str to float
        The same median for each plain rule, over the forecasts where it had an answer, [-]
    """

    count: int
    inside: float | None
    error: float | None
    rules: dict[str, float]


def relative_error(forecast_ml: float, actual_ml: float) -> float:
    """Return how far a forecast was off.

    Parameters
    ----------
    forecast_ml, actual_ml : float
        Amounts, the actual one above zero, [mL]

    Returns
    -------
    error : float
        |forecast − actual| / actual, [-]
    """
    return abs(forecast_ml - actual_ml) / actual_ml


def score(
    ranges: Sequence[tuple[float, float, float]],
    actuals: Sequence[float],
    rules: dict[str, Sequence[float | None]] | None = None,
) -> Score:
    """Score forecasts made before pours against what the pours took.

    Parameters
    ----------
    ranges : sequence of (float, float, float)
        Low, median and high of each forecast, [mL]
    actuals : sequence of float
        What was poured, above zero, [mL]
    rules : dict of str to sequence
        What each plain rule would have said, None where it had no answer, [mL]

    Returns
    -------
    score : Score
        The record, [-]

    Raises
    ------
    CoverageError
        If there are not as many forecasts as pours.
    """
    rules = rules or {}
    if any(len(forecasts) != len(actuals) for forecasts in [ranges, *rules.values()]):
        raise CoverageError("Every forecast needs the amount that was poured.")
    if not actuals:
        return Score(0, None, None, {})
    pairs = list(zip(ranges, actuals, strict=True))
    return Score(
        count=len(actuals),
        inside=sum(low <= actual <= high for (low, _, high), actual in pairs) / len(pairs),
        error=median(relative_error(middle, actual) for (_, middle, _), actual in pairs),
        rules={
            name: median(errors)
            for name, forecasts in rules.items()
            if (errors := _errors(forecasts, actuals))
        },
    )


def _errors(forecasts: Sequence[float | None], actuals: Sequence[float]) -> list[float]:
    return [
        relative_error(one, actual)
        for one, actual in zip(forecasts, actuals, strict=True)
        if one is not None
    ]
