"""Which backups are kept: the newest of each day, week and month, for so many of each."""

from collections.abc import Callable, Collection, Hashable
from datetime import datetime

DAYS, WEEKS, MONTHS = 7, 5, 12


def kept(
    moments: Collection[datetime], days: int = DAYS, weeks: int = WEEKS, months: int = MONTHS
) -> set[datetime]:
    """Return which backups to keep.

    Parameters
    ----------
    moments : collection of datetime
        When each was made, all in one time zone
    days, weeks, months : int
        Of how many days, ISO weeks and calendar months that have one the newest is kept; a rotation
        of grandfather, father and son: common practice, no source

    Returns
    -------
    set of datetime
        Part of ``moments``; the newest is always in it

    Examples
    --------
    >>> a, b, c = datetime(2026, 5, 1, 3), datetime(2026, 5, 1, 22), datetime(2026, 5, 2, 3)
    >>> sorted(kept([a, b, c], days=2, weeks=0, months=0)) == [b, c]
    True
    """
    rules: tuple[tuple[int, Callable[[datetime], Hashable]], ...] = (
        (days, lambda at: at.date()),
        (weeks, lambda at: at.isocalendar()[:2]),
        (months, lambda at: (at.year, at.month)),
    )
    newest_first = sorted(moments, reverse=True)
    chosen = set(newest_first[:1])
    for count, period in rules:
        newest: dict[Hashable, datetime] = {}
        for at in newest_first:
            newest.setdefault(period(at), at)
        chosen |= set(list(newest.values())[:count])
    return chosen
