from decimal import Decimal as D

import pytest

from inventory.stock import holds
from pricing.commissions import orders as commissions
from pricing.commissions.stock_checks import stock_check
from pricing.errors import CommissionClosed, NothingOrdered
from pricing.estimating.learning import estimator_for
from pricing.models import Commission, Quote
from pricing.quoting import quotes as quoting
from studio.rows import NotYours
from tests.factories import going_on
from tests.factories.bench import working_studio
from tests.factories.inventory import WorkFactory
from tests.factories.pricing import CustomerFactory, SavedSurfaceFactory

Status = Commission.Status
pytestmark = pytest.mark.django_db


@pytest.fixture
def bench():
    return working_studio()


def opened(bench, title="Coasters"):
    return commissions.open_commission(
        studio=bench.studio, by=None, customer=bench.customer, title=title
    )


def add_tiles(bench, commission, **more):
    wanted = {
        "surface": bench.tile_size,
        "technique": bench.bloom,
        "palette": bench.palette,
        "quantity": 2,
        "pieces_each": 4,
        **more,
    }
    return going_on.add_line(commission=commission, by=None, **wanted)


def accepted(bench, **more):
    commission = opened(bench)
    add_tiles(bench, commission, **more)
    quote = quoting.draft_quote(commission=commission, by=None)
    quoting.accept_quote(quote=going_on.send_quote(quote=quote, by=None), name="Wren Alder")
    commission.refresh_from_db()
    return commission


def test_commissions_are_numbered_from_one_in_each_studio(bench):
    other = working_studio()

    numbers = [opened(one).number for one in (bench, bench, other)]

    assert numbers == [1, 2, 1]


def test_opening_is_the_first_dated_step(bench):
    commission = opened(bench)

    (step,) = commission.events.all()

    assert step.status == Status.ENQUIRY


def test_a_customer_of_another_studio_is_not_found(bench):
    with pytest.raises(NotYours, match="There is no customer like that in this studio"):
        commissions.open_commission(
            studio=bench.studio, by=None, customer=CustomerFactory(), title="Stolen"
        )

    assert not bench.studio.commissions.exists()


def test_a_surface_of_another_studio_is_not_found(bench):
    commission = opened(bench)

    with pytest.raises(NotYours):
        add_tiles(bench, commission, surface=SavedSurfaceFactory())

    assert not commission.lines.exists()


@pytest.mark.parametrize("quantity, pieces_each", [(0, 1), (501, 1), (1, 0), (1, 25)])
def test_a_line_needs_a_sensible_number_of_pieces(bench, quantity, pieces_each):
    with pytest.raises(NothingOrdered, match="1 to 500"):
        add_tiles(bench, opened(bench), quantity=quantity, pieces_each=pieces_each)


def test_changing_a_line_withdraws_the_quote_for_the_old_one(bench):
    commission = opened(bench)
    line = add_tiles(bench, commission)
    sent = going_on.send_quote(quote=quoting.draft_quote(commission=commission, by=None), by=None)

    going_on.change_line(line=line, by=None, quantity=3)

    sent.refresh_from_db()
    commission.refresh_from_db()
    assert (sent.status, commission.status) == (Quote.Status.SUPERSEDED, Status.ENQUIRY)
    assert line.pieces == 12


def test_pieces_of_accepted_work_stay_as_they_are(bench):
    commission = accepted(bench)

    with pytest.raises(CommissionClosed, match="is accepted, so its pieces stay"):
        commissions.remove_line(line=commission.lines.get(), by=None)

    assert commission.lines.count() == 1


def test_a_cancelled_commission_lets_its_stock_go_and_can_be_quoted_again(bench):
    commission = accepted(bench)
    assert bench.studio.holds.open().exists()

    commissions.move_on(commission=commission, status=Status.CANCELLED, by=None, note="Moved away")

    assert not bench.studio.holds.open().exists()
    commissions.move_on(commission=commission, status=Status.ENQUIRY, by=None)
    again = going_on.send_quote(quote=quoting.draft_quote(commission=commission, by=None), by=None)
    assert again.version == 2
    assert quoting.accept_quote(quote=again, name="Wren").status == Quote.Status.ACCEPTED


def test_a_step_that_does_not_follow_is_refused_with_those_that_do(bench):
    with pytest.raises(CommissionClosed, match="is enquiry; by hand it can become declined or"):
        commissions.move_on(commission=opened(bench), status=Status.PAID, by=None)


def test_stock_check_leaves_alone_what_others_were_promised_before(bench):
    holds.hold(work=WorkFactory(studio=bench.studio), label="Other work", needs={bench.tile: D(15)})
    commission = opened(bench)
    add_tiles(bench, commission)

    check = stock_check(commission)

    tile = next(line for line in check.lines if line.material == bench.tile)
    assert (tile.needed, tile.on_hand, tile.held_for_others, tile.available, tile.missing) == (
        8,
        20,
        15,
        5,
        3,
    )
    assert check.lines[0] == tile
    assert check.short == (tile,)


def test_stock_check_counts_a_commissions_own_holds_for_it(bench):
    commission = accepted(bench)

    check = stock_check(commission)

    tile = next(line for line in check.lines if line.material == bench.tile)
    assert (tile.needed, tile.held_for_others, tile.missing) == (8, 0, 0)


def test_water_is_always_there_and_never_checked(bench):
    commission = opened(bench)
    add_tiles(bench, commission)

    names = {line.material.name for line in stock_check(commission).lines}

    assert names == {"white", "blue", "gold", "tile"}


@pytest.mark.parametrize("lines", (1, 3))
def test_stock_check_asks_the_same_however_many_lines(bench, lines, django_assert_num_queries):
    commission = opened(bench)
    for _ in range(lines):
        add_tiles(bench, commission)
    commission = Commission.objects.select_related("studio").get(pk=commission.pk)
    estimator_for(bench.studio)

    # lines, colours, steps; pours' state; recipes: parts, materials, recipes; materials, holds
    with django_assert_num_queries(9):
        stock_check(commission)


def test_a_commission_without_pieces_cannot_be_estimated(bench):
    with pytest.raises(NothingOrdered, match="has no pieces yet"):
        stock_check(opened(bench))
