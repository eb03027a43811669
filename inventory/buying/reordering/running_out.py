"""When a material runs out: what is on hand, day by day, against use, promises and orders."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from math import floor

# How far ahead the days are gone through: common practice, no source.
HORIZON_DAYS = 365
# Binary fractions do not add up exactly; this is far below what stock is counted in.
TINY = 1e-6


@dataclass(frozen=True)
class Event:
    """So much that comes or is needed on a day, [mL, g or items]; the sign is the caller's."""

    day: date
    quantity: float


def runs_out_on(
    *,
    today: date,
    on_hand: float,
    use_per_day: float,
    promised: Iterable[Event] = (),
    promised_undated: float = 0.0,
    coming: Iterable[Event] = (),
    horizon_days: int = HORIZON_DAYS,
) -> date | None:
    """Return the first day on which there is not enough, or None.

    Each day what is expected to come arrives first; then what is promised for that day is taken;
    then the usual use of a day. A promise whose day is past is taken today, one without a day
    before anything else, since it may be asked for at any time. An order whose day is past is
    expected today.

    Promises come on top of the usual use, as they do in what is free to use and in the reorder
    point: usual use is what unpromised work goes on taking.

    Parameters
    ----------
    today : date
        The first day looked at, [-]
    on_hand : float
        What is on the shelf, not negative, [mL, g or items]
    use_per_day : float
        Usual use in a day, not negative, [mL, g or items per day]
    promised : iterable of Event
        What is promised by a day, [mL, g or items]
    promised_undated : float
        What is promised without a day, [mL, g or items]
    coming : iterable of Event
        What sent orders still bring, by the day they are expected, [mL, g or items]
    horizon_days : int
        How many days are looked at, [days]

    Returns
    -------
    day : date or None
        The first day on which what is asked for is more than what is there, [-]; None when that
        does not happen within the horizon, or when nothing is ever used or promised.

    Raises
    ------
    ValueError
        If an amount is negative.

    Examples
    --------
    100 mL at 10 a day last for ten days, and run short on the eleventh:

    >>> runs_out_on(today=date(2026, 5, 1), on_hand=100.0, use_per_day=10.0)
    datetime.date(2026, 5, 11)
    """
    promised, coming = list(promised), list(coming)
    amounts = [on_hand, use_per_day, promised_undated]
    if any(amount < 0 for amount in (*amounts, *(one.quantity for one in (*promised, *coming)))):
        raise ValueError("Amounts on hand, used, promised and coming are never below zero.")
    uses_by_day = _by_day(promised, today)
    uses_by_day[today] = uses_by_day.get(today, 0.0) + promised_undated
    comes = _by_day(coming, today)
    # Nothing changes between two of these days but the usual use, which is a straight line.
    last = today + timedelta(days=horizon_days - 1)
    turns = sorted(day for day in {today, *uses_by_day, *comes} if day <= last)
    stock, due = on_hand, 0.0
    for turn, until in zip(turns, [*turns[1:], last + timedelta(days=1)], strict=True):
        stock += comes.get(turn, 0.0)
        due += uses_by_day.get(turn, 0.0)
        free = stock - due + TINY
        if free < 0:
            return turn
        if use_per_day:
            # By the end of day n (the first is 1) n times the usual use is gone.
            whole_days = floor(free / use_per_day)
            first_short = max(turn, today + timedelta(days=min(whole_days, horizon_days)))
            if first_short < until:
                return first_short
    return None


def _by_day(events: Iterable[Event], today: date) -> dict[date, float]:
    """Add events up by day; what is past is of today."""
    sums: dict[date, float] = {}
    for event in events:
        day = max(event.day, today)
        sums[day] = sums.get(day, 0.0) + event.quantity
    return sums
