"""Every address of the pages leads somewhere, with the rows of a studio in it."""

from tests.addresses import BUTTON, ON, PAGE, PAPER, page_at
from tests.factories.world import world
from tests.walk import one_of_each, visit


def test_every_address_opens_or_takes_what_a_form_sends(db):
    for name, one in one_of_each(world()).items():
        assert one.kind in (PAGE, PAPER, BUTTON, ON), f"{name}: {one.address} does not open"
        if one.kind == ON:
            to = one.who.open(one.address)["Location"]
            assert page_at(to) and visit(one.who, to).kind == PAGE, f"{name} leads to {to}"
