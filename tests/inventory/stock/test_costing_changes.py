"""The costing method changes from a day on; what was posted before stays as it was."""

from datetime import timedelta

import pytest

from inventory.errors import CannotReverse, CostingRefused
from inventory.models import CostingChange, Entry, Movement
from inventory.stock import books
from inventory.stock import ledger as stock
from inventory.stock.costing_changes import change_costing, withdraw_costing_change
from studio.models import Studio
from tests.factories.inventory import MaterialFactory
from tests.inventory.pages import words
from tests.inventory.stock.shelves import D, receive, shelf, use

DAY = timedelta(days=1)
FIFO, AVERAGE = Studio.Costing.FIFO, Studio.Costing.MOVING_AVERAGE


@pytest.fixture
def item(studio):
    return MaterialFactory(studio=studio, name="white", unit="each")


@pytest.fixture
def days_pass(monkeypatch):
    """Move every studio's own calendar on by so many days."""
    real = Studio.today

    def pass_by(days):
        monkeypatch.setattr(Studio, "today", lambda self: real(self) + days * DAY)

    return pass_by


def change(studio, method, days=0):
    on = studio.today() + days * DAY
    return change_costing(studio=studio, by=None, method=method, from_day=on)


def again(thing):
    """Return a row as the next request reads it."""
    return type(thing).objects.get(pk=thing.pk)


def cost_of(entry):
    return -sum(entry.movements.values_list("value", flat=True))


def test_from_today_on_the_average_is_spread_at_once(studio, item):
    """Hermanson, Edwards and Maher, ch. 7: 10 at 8.00 and 10 at 8.50; ten then cost 82.50."""
    first, second = (receive(item, (10, value))[0] for value in (80, 85))

    made = change(studio, AVERAGE)

    moves = list(made.entry.movements.values_list("kind", "quantity", "value"))
    assert moves == [("respread", D(0), D("2.5")), ("respread", D(0), D("-2.5"))]
    assert [shelf(bottle) for bottle in (first, second)] == [(D(10), D("82.5"))] * 2
    assert (studio.costing, again(studio).costing) == (AVERAGE, AVERAGE)
    assert cost_of(use(again(item), 10)) == D("82.5")
    assert books.check(studio) == []


def test_what_was_posted_before_keeps_its_cost(studio, item):
    receive(item, (10, 80)), receive(item, (10, 90))
    before = use(item, 5)

    change(studio, AVERAGE)

    assert cost_of(before) == D(40)
    # 5 at 8 and 10 at 9 are left: 130 over 15 is 8.666667 each.
    assert shelf(item) == (D(15), D(130))
    assert cost_of(use(again(item), 15)) == D(130)


def test_levelling_makes_no_value_out_of_rounding(studio, item):
    for value in ("1", "0", "0.000001"):
        receive(item, (1, value))

    change(studio, AVERAGE)

    # 1.000001 in three: largest remainder gives the first two 0.333334, the last 0.333333.
    values = item.bottles.order_by("pk").values_list("value", flat=True)
    assert list(values) == [D("0.333334"), D("0.333334"), D("0.333333")]
    assert books.check(studio) == []


def test_to_fifo_each_bottle_keeps_the_value_it_has(studio, item):
    Studio.objects.filter(pk=studio.pk).update(costing=AVERAGE)
    studio.refresh_from_db()
    item = again(item)
    receive(item, (10, 80)), receive(item, (10, 90))

    made = change(studio, FIFO)

    assert made.entry is None
    receive(again(item), (10, 120))
    # The two old ones at 85 each, then the new one at its own price.
    assert [cost_of(use(again(item), 10)) for _ in range(3)] == [D(85), D(85), D(120)]
    assert books.check(studio) == []


def test_a_change_dated_ahead_takes_effect_with_the_first_act_from_its_day_on(
    studio, item, days_pass
):
    first, second = (receive(item, (10, value))[0] for value in (80, 90))
    made = change(studio, AVERAGE, days=3)

    days_pass(2)
    assert cost_of(use(again(item), 2)) == D(16)
    assert again(studio).costing_in_force == FIFO

    days_pass(3)
    assert again(studio).costing_in_force == AVERAGE
    used = use(again(item), 2)  # 64 + 90 = 154 over 18

    assert cost_of(used) == D("17.111111")
    made = again(made)
    assert made.took_effect_at
    assert list(made.entry.movements.values_list("kind", flat=True)) == ["respread"] * 2
    assert made.entry.pk < used.pk
    assert [shelf(first)[0], shelf(second)[0]] == [D(6), D(10)]
    assert shelf(item) == (D(16), D("136.888889"))
    assert books.check(studio) == []


def test_it_takes_effect_once(studio, item, days_pass):
    receive(item, (10, 80)), receive(item, (10, 90))
    change(studio, AVERAGE, days=1)
    days_pass(1)
    stale = again(item)

    use(again(item), 1), use(stale, 1)

    levelled = Movement.objects.filter(kind="respread").values("entry").distinct()
    assert levelled.count() == 1


def test_any_kind_of_act_brings_it_about(studio, item, days_pass):
    bottle = receive(item, (10, 80))[0]
    receive(item, (10, 90))
    change(studio, AVERAGE, days=1)
    days_pass(1)

    stock.waste(studio=again(studio), by=None, bottle=bottle, quantity=D(10))

    assert shelf(item) == (D(10), D(85))


@pytest.mark.parametrize("ahead", (-1, -30))
def test_a_day_that_is_past_is_refused_in_words(studio, item, ahead):
    with pytest.raises(CostingRefused, match=r"What was posted up to .* stays as it was costed"):
        change(studio, AVERAGE, days=ahead)

    assert not CostingChange.objects.exists()


def test_a_day_before_the_last_recorded_movement_is_refused(studio, item, days_pass):
    receive(item, (10, 80))
    days_pass(-2)  # the clock was wrong, say

    with pytest.raises(CostingRefused, match="Choose that day or a later one"):
        change(again(studio), AVERAGE, days=1)


def test_the_method_in_force_already_is_refused(studio):
    with pytest.raises(CostingRefused, match="is in force already"):
        change(studio, FIFO)


def test_one_change_waits_at_a_time_and_can_be_withdrawn(studio, days_pass):
    made = change(studio, AVERAGE, days=5)
    with pytest.raises(CostingRefused, match="Withdraw that change first"):
        change(studio, AVERAGE, days=9)

    withdrawn = withdraw_costing_change(change=made)

    assert withdrawn.withdrawn_at
    days_pass(6)
    assert again(studio).costing_in_force == FIFO
    with pytest.raises(CostingRefused, match="withdrawn already"):
        withdraw_costing_change(change=again(made))
    assert books.check(studio) == []


def test_a_change_cannot_be_withdrawn_from_its_day_on(studio, days_pass):
    made = change(studio, AVERAGE, days=2)
    days_pass(2)

    with pytest.raises(CostingRefused, match="in force since"):
        withdraw_costing_change(change=again(made))

    assert again(studio).costing_in_force == AVERAGE


def test_bringing_the_bottles_level_cannot_be_undone_alone(studio, item):
    receive(item, (10, 80)), receive(item, (10, 90))
    made = change(studio, AVERAGE)

    with pytest.raises(CannotReverse, match="It stays"):
        stock.reverse(studio=studio, by=None, entry=made.entry)


def test_the_books_notice_a_method_that_its_changes_do_not_say(studio):
    change(studio, AVERAGE, days=4)
    Studio.objects.filter(pk=studio.pk).update(costing_next="", costing_next_from=None)

    assert [finding.check for finding in books.check(studio)] == ["costing"]


def test_an_act_asks_no_more_than_before(studio, item, django_assert_num_queries):
    """The method is read once under the lock, however many bottles there are."""
    receive(item, (10, 80))
    plain = again(item)
    # savepoint, material, studio, bottles, holds, entry, movements, bottles, material, day,
    # month's end, and out
    with django_assert_num_queries(12):
        use(plain, 1, ignore_holds=True)


def test_the_page_changes_and_withdraws(owner, item):
    in_a_week = owner.studio.today() + 7 * DAY
    answer = owner.client.post(
        "/settings/costing/", {"method": "moving_average", "from_day": in_a_week.isoformat()}
    )
    made = owner.studio.costing_changes.get()
    assert (answer.status_code, made.from_day, made.by) == (302, in_a_week, owner.user)

    shown = words(owner.client.get("/settings/costing/"))
    assert "Moving average follows from" in shown
    owner.client.post(f"/settings/costing/{made.pk}/withdraw/")

    assert again(made).withdrawn_at
    assert "withdrawn" in words(owner.client.get("/settings/costing/"))


def test_the_page_says_why_not_and_keeps_what_was_typed(owner):
    typed = {"method": "moving_average", "from_day": "2020-01-01"}

    answer = owner.client.post("/settings/costing/", typed)

    assert answer.status_code == 422
    assert "stays as it was costed" in words(answer)
    assert 'value="2020-01-01"' in answer.content.decode()


@pytest.mark.parametrize("rows", (1, 3))
def test_the_page_asks_as_often_for_one_change_as_for_three(owner, rows, django_assert_num_queries):
    for _ in range(rows):
        withdraw_costing_change(change=change(owner.studio, AVERAGE, days=3))

    with django_assert_num_queries(4):  # session, person, membership with studio; changes
        owner.client.get("/settings/costing/")


def test_the_settings_no_longer_change_it(owner):
    before = Entry.objects.count()
    answer = owner.api.patch("/api/v1/studio/", {"costing": "moving_average"})

    assert (answer.status_code, set(answer.data["fields"])) == (400, {"costing"})
    assert owner.api.get("/api/v1/studio/").data["costing"] == "fifo"
    assert (again(owner.studio).costing, Entry.objects.count()) == (FIFO, before)


def test_the_api_changes_and_withdraws(owner, maker):
    body = {"method": "moving_average", "from_day": str(owner.studio.today() + DAY)}
    path = "/api/v1/costing-changes/"
    assert maker.api.post(path, body).status_code == 403

    made = owner.api.post(path, body)
    assert (made.status_code, made.data["before"], made.data["entry"]) == (201, "fifo", None)
    assert owner.api.post(path, body).data["code"] == "costing_refused"
    gone = owner.api.post(f"{path}{made.data['id']}/withdraw/")

    assert gone.data["withdrawn_at"]
    assert owner.api.get(path).data["count"] == 1
    assert owner.api.post(path, {**body, "from_day": "2020-01-01"}).status_code == 409
