"""The first questions, answered: where a studio is, what it charges in tax, what an hour is paid.

What is made and in which sizes is asked beside them, and is kept as what the starter shelf makes of
it, see `pricing.starting.filling`.
"""

from decimal import Decimal
from typing import Any

from django.db import transaction
from django.utils import timezone

from studio.models import Studio
from studio.money import ZERO
from studio.preferences import beginnings, change_settings


@transaction.atomic
def answer_questions(
    *,
    studio: Studio,
    country: str = "",
    tax_rate: Decimal | None = None,
    tax_inclusive: bool = False,
    hour: Decimal | None = None,
) -> Studio:
    """Set what follows from the answers that are given, and nothing else; returns the studio.

    Parameters
    ----------
    studio : Studio
    country : str
        A code of `studio.preferences.countries`: money, measures and clocks follow from it. Tax
        does not, which no country has one rate of
    tax_rate : Decimal, optional
        Sales tax or VAT, as a share of the price before tax, [-]
    tax_inclusive : bool
        Whether prices are shown with it
    hour : Decimal, optional
        What an hour of work is paid; rent, power and tools count as nothing until they are set,
        since nobody was asked, [currency]
    """
    changes: dict[str, Any] = {}
    if country:
        changes |= beginnings(country)
    if tax_rate is not None:
        changes |= {"tax_rate": tax_rate, "tax_inclusive": tax_inclusive and tax_rate > 0}
    if hour is not None:
        changes |= {"labour_rate": hour, "overhead_rate": ZERO}
    return change_settings(studio=studio, **changes) if changes else studio


def leave_first_steps(*, studio: Studio) -> None:
    """Take the list of first steps off the home page, for good."""
    Studio.objects.filter(pk=studio.pk, first_steps_left_at=None).update(
        first_steps_left_at=timezone.now()
    )
