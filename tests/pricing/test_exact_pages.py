"""Pages that add amounts up, where SQLite's own sums are floats."""

from decimal import Decimal as D

import pytest
from django.core.management import call_command
from django.urls import reverse

from inventory.models import with_promises
from inventory.stock import holds
from inventory.stock.exports import LISTS
from pricing.bench.pours import LayerLog
from pricing.commissions import payments
from tests.conftest import member
from tests.factories import going_on
from tests.factories.bench import working_studio
from tests.factories.inventory import WorkFactory
from tests.pricing.bench.test_pours import log
from tests.pricing.commissions.test_commissions import accepted

pytestmark = pytest.mark.django_db


def opens(studio, name, *args):
    page = member(studio, "owner").client.get(reverse(name, args=args))
    assert page.status_code == 200
    return page


@pytest.mark.parametrize("name", ["reorder", "reorder-sheet"])
def test_what_to_buy_opens_with_two_commissions_of_one_canvas(name):
    bench = working_studio()
    for quantity in (6, 7):
        accepted(bench, surface=bench.canvas_size, quantity=quantity, pieces_each=1)

    opens(bench.studio, name)


def test_what_is_held_is_the_sum_of_the_promises():
    """13.1784 is 9.0117 and 4.1667; 0.3 is 0.1 and 0.2; neither is so in binary."""
    bench = working_studio()
    for key, blue, gold in (("a", "9.0117", "0.1"), ("b", "4.1667", "0.2")):
        needs = {bench.blue: D(blue), bench.gold: D(gold)}
        holds.hold(work=WorkFactory(studio=bench.studio), label=key, needs=needs)

    rows = with_promises(bench.studio.materials)

    found = {row.name: (row.held, row.available, row.projected) for row in rows}
    assert str(found["blue"]) == str((D("13.1784"), D("486.8216"), D("486.8216")))
    assert str(found["gold"]) == str((D("0.3000"), D("499.7000"), D("499.7000")))
    assert str(found["tile"]) == str((D("0.0000"), D("20.0000"), D("20.0000")))


@pytest.mark.parametrize("name", ["home", "profit", "sets", "valuation"])
def test_pages_open_after_a_pour_whose_run_off_is_worth_the_mix_it_replaces(name):
    bench = worth_its_mix()

    opens(bench.studio, name)


def test_the_books_agree_after_a_pour_whose_run_off_is_worth_the_mix_it_replaces(capsys):
    worth_its_mix()

    call_command("check_books")


def worth_its_mix():
    """A studio with a set of one pour that took much paint and gave nearly all of it back.

    What it took is a small difference of large values, where binary fractions show.
    """
    bench = working_studio(run_off_value="base")
    layers = {
        "base": LayerLog(D("1305.8"), kept_ml=D("1304.8")),
        "colours": LayerLog(D("0.77")),
        "activator": LayerLog(D("0.1")),
    }
    pour = log(bench, count=1, good_count=1, layers=layers)
    going_on.pack_set(studio=bench.studio, by=None, name="Set", pieces=pour.pieces.all())
    return bench


@pytest.mark.parametrize("paid", ["0.10", "7.77", "14.33"])
def test_a_payment_may_be_recorded_as_it_was_filled_in(paid):
    bench = working_studio(deposit=D("0.5"))
    commission = accepted(bench, quantity=2)
    for part in (paid, "0.20"):
        payments.take_payment(commission=commission, by=None, amount=D(part))
    client = member(bench.studio, "owner").client
    page = reverse("payment-new", args=[commission.number])
    form = client.get(page).context["form"]

    sent = {field.html_name: field.value() or "" for field in form}
    answer = client.post(page, sent | {"how": "card"})

    assert answer.status_code == 302
    assert commission.payments.count() == 3


def test_lists_for_spreadsheets_hold_what_is_left_of_a_hold():
    """0.3 less 0.1; as binary fractions that is 0.19999999999999998."""
    bench = working_studio()
    work = WorkFactory(studio=bench.studio)
    holds.hold(work=work, label="a", needs={bench.blue: D("0.3")})
    holds.draw_down(work=work, used={bench.blue: D("0.1")})
    listing = next(one for one in LISTS if one.name == "holds")

    (row,) = listing.lines(bench.studio)

    assert str(row[listing.headings.index("Still held")]) == "0.2000"
