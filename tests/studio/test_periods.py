from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import pytest

from studio.periods import ALWAYS, NAMES, Period, PeriodError, named_period, read_period

TODAY = date(2026, 5, 2)


@pytest.mark.parametrize(
    ("name", "year_begins", "first", "last"),
    [
        ("this-month", 1, date(2026, 5, 1), date(2026, 5, 31)),
        ("last-month", 1, date(2026, 4, 1), date(2026, 4, 30)),
        ("this-quarter", 1, date(2026, 4, 1), date(2026, 6, 30)),
        ("last-quarter", 1, date(2026, 1, 1), date(2026, 3, 31)),
        ("this-year", 1, date(2026, 1, 1), date(2026, 12, 31)),
        ("last-year", 1, date(2025, 1, 1), date(2025, 12, 31)),
        # The years of companies and governments: from April in Japan and India, from July in
        # Australia, from October in the United States.
        ("this-year", 4, date(2026, 4, 1), date(2027, 3, 31)),
        ("last-quarter", 4, date(2026, 1, 1), date(2026, 3, 31)),
        ("this-year", 7, date(2025, 7, 1), date(2026, 6, 30)),
        ("last-year", 10, date(2024, 10, 1), date(2025, 9, 30)),
        ("this-quarter", 10, date(2026, 4, 1), date(2026, 6, 30)),
        # Quarters that begin in February, May, August and November.
        ("this-quarter", 2, date(2026, 5, 1), date(2026, 7, 31)),
        ("last-quarter", 2, date(2026, 2, 1), date(2026, 4, 30)),
        ("this-quarter", 12, date(2026, 3, 1), date(2026, 5, 31)),
    ],
)
def test_a_period_is_known_by_its_name(name, year_begins, first, last):
    assert named_period(name, TODAY, year_begins) == Period(first, last, name)


@pytest.mark.parametrize("year_begins", range(1, 13))
def test_this_and_last_meet_and_are_as_long_as_they_are_called(year_begins):
    months = {"month": 1, "quarter": 3, "year": 12}
    for day in (date(2024, 2, 29), date(2025, 12, 31), date(2026, 1, 1), TODAY):
        for span, count in months.items():
            this, last = (
                named_period(f"{which}-{span}", day, year_begins) for which in ("this", "last")
            )
            assert this.first <= day <= this.last
            assert (this.first - last.last).days == 1
            for one in (this, last):
                assert one.first.day == 1
                ends = one.last.year * 12 + one.last.month
                assert ends - (one.first.year * 12 + one.first.month) == count - 1
            if span != "month":
                assert (this.first.month - year_begins) % count == 0


def test_days_go_before_a_name_and_one_of_them_is_enough():
    asked = {"from": "2026-01-31", "to": "2026-03-01", "period": "this-year"}

    assert read_period(asked, TODAY) == Period(date(2026, 1, 31), date(2026, 3, 1))
    assert read_period({"from": "2026-01-31"}, TODAY) == Period(date(2026, 1, 31), None)
    assert read_period({"to": "2026-01-31", "from": " "}, TODAY).last == date(2026, 1, 31)
    assert read_period({}, TODAY) == ALWAYS
    assert read_period({}, TODAY, default="this-month").name == "this-month"


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        ({"from": "2026-02-30"}, "Give the days of a period as 2026-03-31."),
        ({"to": "yesterday"}, "as 2026-03-31"),
        ({"from": "1066-10-14"}, "from 1950-01-01 to 2100-12-31"),
        ({"from": "2026-02-02", "to": "2026-02-01"}, "ends before it begins"),
        ({"period": "this-century"}, "There are: this-month, last-month"),
    ],
)
def test_what_is_no_period_is_refused_in_words(asked, words):
    with pytest.raises(PeriodError, match=words):
        read_period(asked, TODAY)


def test_moments_are_those_of_the_studios_own_days():
    """Berlin is two hours ahead of UTC on 29 March 2026, after the clocks went on that morning."""
    one = Period(date(2026, 3, 29), date(2026, 3, 29))

    bounds = one.of_moments("at", ZoneInfo("Europe/Berlin"))

    assert bounds == {
        "at__gte": datetime(2026, 3, 28, 23, tzinfo=UTC),
        "at__lt": datetime(2026, 3, 29, 22, tzinfo=UTC),
    }
    assert one.of("day") == {"day__gte": date(2026, 3, 29), "day__lte": date(2026, 3, 29)}
    assert (ALWAYS.of("day"), ALWAYS.of_moments("at", ZoneInfo("UTC"))) == ({}, {})


@pytest.mark.parametrize(
    ("period", "words", "in_file_name"),
    [
        (Period(TODAY, TODAY), "2 May 2026", "-2026-05-02-2026-05-02"),
        (Period(TODAY, None), "from 2 May 2026 on", "-2026-05-02"),
        (Period(None, TODAY), "up to 2 May 2026", "-2026-05-02"),
        (ALWAYS, "all days", ""),
    ],
)
def test_a_period_says_what_days_it_has(period, words, in_file_name):
    assert (str(period), period.in_file_name) == (words, in_file_name)


def test_every_name_can_be_asked_for():
    for name, label in NAMES.items():
        assert read_period({"period": name}, TODAY).label == label
