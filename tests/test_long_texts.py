"""What a person wrote is kept whole or refused in words, by the service itself, never cut."""

from decimal import Decimal as D

import pytest

from inventory.buying.purchasing.orders import add_line
from inventory.stock import ledger as stock
from pricing.bench.pictures import describe_picture
from pricing.bench.pours import set_pour_aside
from pricing.calendar.working_days import take_days_off
from pricing.commissions.payments import strike_payment
from pricing.earnings.appraisals import appraise
from pricing.quoting.invoicing import credit_invoice
from pricing.selling.sales import refund
from studio.errors import StudioError
from studio.text import shortened
from tests.factories.everything import one_of_everything
from tests.factories.inventory import PackFactory


def recounted(one, text):
    return stock.recount(studio=one.studio, by=None, bottle=one.bottle, quantity=D(7), why=text).why


def thrown_away(one, text):
    given = {"bottle": one.bottle, "quantity": D(1), "purpose": text}
    return stock.waste(studio=one.studio, by=None, **given).purpose


def ordered(one, text):
    pack = PackFactory(studio=one.studio, supplier=one.supplier, material=one.tile, size=9)
    return add_line(order=one.order, pack=pack, count=1, why=text).why


def day_off(one, text):
    return take_days_off(studio=one.studio, first=one.studio.today(), reason=text)[0].reason


def set_aside(one, text):
    return set_pour_aside(pour=one.pour, why=text).set_aside


def captioned(one, text):
    return describe_picture(picture=one.picture, caption=text).caption


def struck(one, text):
    return strike_payment(payment=one.payment, by=None, note=text).note


def appraised(one, text):
    more = {"thing": one.material, "value": D(3), "reason": text}
    return appraise(studio=one.studio, by=None, **more).reason


def credited(one, text):
    return credit_invoice(invoice=one.invoice, by=None, why=text).frozen["why"]


def refunded(one, text):
    return refund(sale=one.sale, by=None, why=text).refund_note


TEXTS = [
    (recounted, 200),
    (thrown_away, 80),
    (ordered, 300),
    (day_off, 80),
    (set_aside, 200),
    (captioned, 200),
    (struck, 200),
    (appraised, 200),
    (credited, 200),
    (refunded, 200),
]


@pytest.fixture
def one(studio):
    found = one_of_everything(studio)
    found.material.refresh_from_db()
    return found


@pytest.mark.parametrize(("write", "most"), TEXTS)
def test_a_text_as_long_as_its_limit_is_kept_whole(one, write, most):
    assert write(one, "é" * most) == "é" * most


@pytest.mark.parametrize(("write", "most"), TEXTS)
def test_a_longer_text_is_refused_with_its_limit(one, write, most):
    with pytest.raises(StudioError, match=f"too long; {most} characters are enough"):
        write(one, "é" * (most + 1))


def test_what_the_program_composed_ends_with_an_ellipsis():
    assert shortened("Batch of teal", 13) == "Batch of teal"
    assert shortened("Batch of teal", 12) == "Batch of te…"
    assert shortened("Batch of teal", 10) == "Batch of…"
