"""What a customer is told of the pieces that they order."""

import pytest

from pricing.commissions.cautions import cautions
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


def test_each_piece_is_told_of_by_its_own_resin():
    words = told({"heat_limit_c": 60}, {"heat_limit_c": 49})

    assert "limit of 60 °C" in words and "limit of 49 °C" in words


def test_a_kit_whose_limit_nobody_has_read_promises_none():
    words = told({"heat_limit_c": 60}, {"heat_limit_c": None})

    assert ": No heat limit is known for this resin" in words


def test_what_has_no_resin_is_told_of_too():
    commission = CommissionFactory()
    CommissionLineFactory(commission=commission)

    words = cautions(commission)

    assert "put nothing hot or wet on it" in words[0]
    assert words[1] == "Not for contact with food. Use a plate."
    assert told() == ""  # where nothing is ordered


def test_a_cure_that_nobody_has_read_is_waited_for_at_its_longest():
    """Two weeks: the longest full cure that makers of epoxy publish, so common practice."""
    words = told({"cure_hours": None})

    assert "how long is not yet checked: please wait 14 days from" in words
