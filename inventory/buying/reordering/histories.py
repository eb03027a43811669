"""Which rule fits a material's history, and what to do without one."""

from collections.abc import Sequence
from dataclasses import replace
from statistics import fmean, pstdev

from inventory.buying.reordering.chances import Chance, expected_of
from inventory.buying.reordering.intermittent import reorder_point_intermittent
from inventory.buying.reordering.limits import check
from inventory.buying.reordering.patterns import FEWEST_USES, INTERMITTENT_FROM_DAYS
from inventory.buying.reordering.points import ReorderPoint, reorder_point

# Share of a usual pack at which a material without history is reordered: common practice, no
# source.
SHARE_OF_PACK = 0.25


def reorder_point_without_history(
    pack_size: float,
    lead_days: float,
    planned_use: float = 0.0,
    chances: Sequence[Chance] = (),
) -> ReorderPoint:
    """Return a stand-in for a material that has hardly been used: a quarter of a usual pack.

    Parameters
    ----------
    pack_size : float
        Content of the pack usually bought, [mL, g or items]
    lead_days : float
        Lead time, [days]
    planned_use : float
        What accepted work needs, [mL, g or items]; the answer is at least this.
    chances : sequence of Chance
        What open quotes may take during the lead time, [mL, g or items]; their mean is added, as
        there is no deviation of use to join theirs to.

    Returns
    -------
    reorder_point : ReorderPoint
        Quantity, basis ``"no_history"``, [mL, g or items]

    Raises
    ------
    DemandError
        If anything is negative.

    Examples
    --------
    >>> reorder_point_without_history(240, 5).quantity
    60.0

    References
    ----------
    Common practice, no source.
    """
    check(0.5, pack_size=pack_size, lead_days=lead_days, planned_use=planned_use)
    planned, quoted = float(planned_use), expected_of(chances).mean
    stand_in = max(SHARE_OF_PACK * float(pack_size), planned)
    return ReorderPoint(
        "no_history",
        stand_in + quoted,
        planned,
        stand_in - planned,
        0.0,
        float(lead_days),
        quoted=quoted,
    )


def choose_reorder_point(
    uses: Sequence[float],
    days: float,
    lead_days: float,
    service_level: float,
    lead_sd_days: float = 0.0,
    pack_size: float = 0.0,
    planned_use: float = 0.0,
    chances: Sequence[Chance] = (),
) -> ReorderPoint:
    """Return the reorder point by the rule that fits the history.

    Fewer than three days of use: `reorder_point_without_history`. On average more than 1.32 days
    from one day of use to the next: `reorder_point_intermittent`. Else `reorder_point`.

    Parameters
    ----------
    uses : sequence of float
        Total of each day on which any was used, all positive, [mL, g or items]
    days : float
        Length of the period in which those uses fell, [days]
    lead_days, lead_sd_days : float
        Mean and standard deviation of the lead time, [days]
    service_level : float
        Chance of lasting through one lead time, from 0.5 and below 1, [-]
    pack_size : float
        Content of the pack usually bought, for the fall-back, [mL, g or items]
    planned_use : float
        What accepted work needs, for the fall-back, [mL, g or items]
    chances : sequence of Chance
        What open quotes may take during the lead time, [mL, g or items]

    Returns
    -------
    reorder_point : ReorderPoint
        Quantity, its parts, and which rule gave it, [mL, g or items]

    Raises
    ------
    DemandError
        As the rule that is used.

    References
    ----------
    A. A. Syntetos, J. E. Boylan and J. D. Croston, "On the categorization of demand patterns",
    J. Oper. Res. Soc. 56 (2005) 495-503.
    """
    if len(uses) < FEWEST_USES:
        return reorder_point_without_history(pack_size, lead_days, planned_use, chances)
    if float(days) / len(uses) > INTERMITTENT_FROM_DAYS:
        return reorder_point_intermittent(
            uses, days, lead_days, service_level, lead_sd_days, chances
        )
    daily = [float(use) for use in uses] + [0.0] * max(0, round(float(days)) - len(uses))
    point = reorder_point(
        fmean(daily), pstdev(daily), lead_days, lead_sd_days, service_level, chances
    )
    return replace(point, uses=len(uses))
