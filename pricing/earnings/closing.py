"""Closing months with what stock is worth at their end, as the bookkeeper is given it."""

from datetime import date

from django.contrib.auth.models import User

from pricing.earnings.valuation_files import rows_as_given
from studio import closing
from studio.models import Closing, Studio


def close_months(*, studio: Studio, by: User | None, up_to: date) -> Closing:
    """Close all months up to the last day of one, see `studio.closing.close_months`.

    What stock is worth on that day is kept as it is told now: what is known later of prices and of
    best-before days changes what a past day is told as, and not what was given.
    """
    return closing.close_months(
        studio=studio, by=by, up_to=up_to, stock_value=lambda row: rows_as_given(row, up_to)
    )
