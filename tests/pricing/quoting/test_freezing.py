"""What a customer is told of a piece with resin on it."""

import pytest

from pricing.quoting.freezing import cautions
from tests.factories.pricing import CommissionFactory, CommissionLineFactory, ResinKitFactory

pytestmark = pytest.mark.django_db


def told(*kits):
    commission = CommissionFactory()
    for kit in kits:
        CommissionLineFactory(
            commission=commission, topcoat=ResinKitFactory(studio=commission.studio, **kit)
        )
    return " ".join(cautions(commission))


@pytest.mark.parametrize(
    ("hours", "days"),
    [(24, "1 day"), (25, "2 days"), (72, "3 days"), (73, "4 days"), (168, "7 days")],
)
def test_whole_days_pass_before_use(hours, days):
    assert f"please wait {days} from" in told({"cure_hours": hours})


def test_the_slowest_kit_is_waited_for():
    assert "please wait 7 days" in told({"cure_hours": 48}, {"cure_hours": 168})


def test_the_lowest_stated_limit_of_heat_counts():
    assert "limit of 49 °C" in told({"heat_limit_c": 60}, {"heat_limit_c": 49})


def test_a_kit_whose_limit_nobody_has_read_promises_none():
    assert "limit of the resin is not yet checked: keep hot cups and pans off it" in told(
        {"heat_limit_c": 60}, {"heat_limit_c": None}
    )


def test_what_has_no_resin_has_nothing_to_tell():
    assert told() == ""


def test_a_cure_that_nobody_has_read_is_waited_for_at_its_longest():
    """Two weeks: the longest full cure that makers of epoxy publish, so common practice."""
    words = told({"cure_hours": None})

    assert "how long is not yet checked: please wait 14 days from" in words
