"""A page of a studio with years behind it reads what it reads for one with a third of them."""

from datetime import timedelta
from decimal import Decimal as D
from types import SimpleNamespace

import pytest
from django.db import connection
from django.urls import reverse
from django.utils import timezone

from pricing.selling import sales
from tests.conftest import member
from tests.factories import going_on
from tests.factories.bench import working_studio
from tests.pricing.bench.test_pours import log
from tests.pricing.earnings.history import lived, reading
from tests.pricing.selling.test_sales import pack, sell

pytestmark = pytest.mark.django_db
FEW, MANY = 160, 480  # weeks with two pours, two sets, two sales; both beyond what habits look at
MOST_GROWN = 1.25


def page(name, *args):
    def look(bench):
        assert bench.client.get(reverse(name, args=args)).status_code == 200

    return look


def pour(bench):
    bench.poured = log(bench, count=2, good_count=2)


def pack_it(bench):
    wanted = {"name": "Two", "pieces": bench.poured.pieces.all(), "packaging": bench.box}
    bench.packed = going_on.pack_set(studio=bench.studio, by=None, **wanted)


def sell_it(bench):
    bench.sold = sell(bench, [(bench.packed, D(30))])


def refund_it(bench):
    sales.refund(sale=bench.sold, by=None)


# By name, and whether nothing in it, not even a count, goes over all there ever was.
ACTS = {
    "home": (page("home"), False),
    "a sale": (page("sale", 1), True),
    "a set": (page("set", 1), False),  # when it is cured is asked of what pours taught, see below
    "a pour": (page("pour", 1), False),  # whether it looks like a slip is asked of all pours
    "sets": (page("sets"), False),
    "the form of a set": (page("set-new"), True),
    "the form of a sale": (page("sale-new"), False),
    "consignments": (page("consignments"), True),
    "pouring": (pour, False),
    # Whether what pours taught is still so, a count of them tells.
    "packing": (pack_it, False),
    "selling": (sell_it, False),
    "refunding": (refund_it, True),
}


def studio_of(weeks):
    bench = working_studio()
    long_ago = timezone.now() - timedelta(days=40)
    for _ in range(2):
        one = pack(bench, poured_at=long_ago)
        sell(bench, [(one, D(44))], sold_on=long_ago.date())
    lived(bench.studio, weeks)
    pack(bench)
    bench.client = member(bench.studio, "owner").client
    bench.read = {name: SimpleNamespace() for name in ACTS}
    return bench


def test_a_page_and_an_act_read_no_more_after_years():
    few, many = studio_of(FEW), studio_of(MANY)
    for bench in (few, many):
        page("home")(bench)  # what the learning keeps is then at hand
        for name, (act, _) in ACTS.items():
            with reading() as bench.read[name]:
                act(bench)

    rows = {name: [bench.read[name].rows for bench in (few, many)] for name in ACTS}
    assert rows == {name: [first, first] for name, (first, _) in rows.items()}
    if connection.vendor == "sqlite":
        steps = {
            name: many.read[name].steps / few.read[name].steps
            for name, (_, is_even) in ACTS.items()
            if is_even
        }
        assert {name: grown for name, grown in steps.items() if grown > MOST_GROWN} == {}
