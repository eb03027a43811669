"""Random histories through the services, by both costing methods.

What came in is always what went out and what is on hand, to the last place; the books agree after
every act; a refusal leaves everything as it was.
"""

from decimal import Decimal

import pytest
from django.db import transaction
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)

from inventory import books, holds, stock
from inventory.costing import METHODS
from inventory.errors import CannotReverse, StockShortfall
from inventory.models import Bottle, Entry, Material, Movement
from studio.errors import StudioError
from tests.factories.inventory import MaterialFactory
from tests.factories.studio import StudioFactory

D = Decimal
ZERO = D(0)
# Thirds and sevenths, so that shares of value do not come out even.
QUANTITIES = st.sampled_from(
    [D(text) for text in ("0.0001", "1", "2.5", "3", "7", "33.3333", "100")]
)
VALUES = st.sampled_from([D(text) for text in ["0", "0.01", "1", "9.99", "10", "123.456789"]])
KEYS = st.sampled_from(["work-1", "work-2"])
WHICH = st.integers(0, 1)


class Ledger(RuleBasedStateMachine):
    """Acts on two materials of one studio."""

    costing = None

    @initialize()
    def open_studio(self):
        self.savepoint = transaction.atomic()
        self.savepoint.__enter__()
        self.studio = StudioFactory(costing=self.costing, run_off_value="base")
        self.white = MaterialFactory(studio=self.studio, kind="mix", tare_g=D(10))
        self.blue = MaterialFactory(studio=self.studio, kind="mix", tare_g=D(10))
        Material.objects.update(density_g_per_ml=D("1.3"))

    def teardown(self):
        if hasattr(self, "savepoint"):
            transaction.set_rollback(True)
            self.savepoint.__exit__(None, None, None)

    def material(self, which):
        return Material.objects.get(pk=(self.white, self.blue)[which].pk)

    def bottle(self, number):
        bottles = list(Bottle.objects.order_by("pk"))
        return bottles[number % len(bottles)] if bottles else None

    def attempt(self, act, **asked):
        """Act, or see to it that a refusal moved nothing."""
        before = Movement.objects.count()
        try:
            act(studio=self.studio, by=None, **asked)
        except StudioError:
            assert Movement.objects.count() == before

    @rule(which=WHICH, bottles=st.lists(st.tuples(QUANTITIES, VALUES), min_size=1, max_size=3))
    def receive(self, which, bottles):
        made = self.material(which)
        receipts = [stock.Receipt(made, quantity, value) for quantity, value in bottles]
        self.attempt(stock.receive, receipts=receipts)

    @rule(which=WHICH, quantity=QUANTITIES, key=st.one_of(st.just(""), KEYS))
    def use(self, which, quantity, key):
        made = self.material(which)
        free = made.on_hand - sum(
            covered
            for hold, covered in holds.coverage(self.studio).items()
            if hold.material_id == made.pk and hold.key != key
        )
        try:
            stock.use(studio=self.studio, by=None, amounts={made: quantity}, hold_key=key)
        except StockShortfall as refused:
            assert [short.missing for short in refused.shortages] == [quantity - free]
        else:
            assert quantity <= free

    @rule(which=WHICH, out=QUANTITIES, kept=QUANTITIES, value=VALUES)
    def pour(self, which, out, kept, value):
        used, pot = self.material(which), self.material(1 - which)
        moves = [
            stock.Move("use", used, -out),
            stock.Move("reclaim", pot, kept, new_bottle=stock.Receipt(pot, kept, value)),
        ]
        self.attempt(stock.post, moves=moves)

    @rule(number=st.integers(0, 50), gross=st.sampled_from([D(10), D(14), D("50.5"), D(150)]))
    def weigh_in(self, number, gross):
        if bottle := self.bottle(number):
            self.attempt(stock.weigh_in, bottle=bottle, gross_g=gross)

    @rule(number=st.integers(0, 50), quantity=QUANTITIES)
    def waste(self, number, quantity):
        if bottle := self.bottle(number):
            self.attempt(stock.waste, bottle=bottle, quantity=quantity, why="")

    @rule(number=st.integers(0, 50), quantity=QUANTITIES)
    def send_back(self, number, quantity):
        if bottle := self.bottle(number):
            self.attempt(stock.send_back, bottle=bottle, quantity=quantity, why="")

    @rule(back=st.integers(1, 6))
    def reverse(self, back):
        entries = list(Entry.objects.order_by("-pk")[:back])
        if entries:
            try:
                stock.reverse(studio=self.studio, by=None, entry=entries[-1], why="")
            except CannotReverse:
                assert Entry.objects.count() == Entry.objects.filter(pk__lte=entries[0].pk).count()

    @rule(which=WHICH, key=KEYS, quantity=QUANTITIES)
    def hold(self, which, key, quantity):
        needs = {self.material(which): quantity}
        holds.hold(studio=self.studio, key=key, label=key, needs=needs)

    @rule(key=KEYS)
    def release(self, key):
        holds.release(studio=self.studio, key=key)

    @precondition(lambda self: hasattr(self, "studio"))
    @invariant()
    def value_is_conserved(self):
        for bottle in Bottle.objects.all():
            moves = list(bottle.movements.values_list("quantity", "value"))
            assert bottle.remaining == sum((quantity for quantity, _ in moves), ZERO) >= 0
            assert bottle.value == sum((value for _, value in moves), ZERO) >= 0
            assert bottle.remaining or not bottle.value
        for made in Material.objects.all():
            moves = list(Movement.objects.filter(material=made).values_list("value", flat=True))
            came = sum((value for value in moves if value > 0), ZERO)
            went = sum((-value for value in moves if value < 0), ZERO)
            assert came == went + made.value
            assert made.value == sum((each.value for each in made.bottles.all()), ZERO)
            assert made.on_hand == sum((each.remaining for each in made.bottles.all()), ZERO)

    @precondition(lambda self: hasattr(self, "studio"))
    @invariant()
    def the_books_agree(self):
        assert books.check(self.studio) == []

    @precondition(lambda self: hasattr(self, "studio"))
    @invariant()
    def nothing_is_promised_twice(self):
        covered = {}
        for hold, quantity in holds.coverage(self.studio).items():
            assert 0 <= quantity <= hold.outstanding
            covered[hold.material_id] = covered.get(hold.material_id, ZERO) + quantity
        for made in Material.objects.filter(pk__in=covered):
            assert covered[made.pk] <= made.on_hand


class Fifo(Ledger):
    costing = "fifo"


class MovingAverage(Ledger):
    costing = "moving_average"

    @precondition(lambda self: hasattr(self, "studio"))
    @invariant()
    def bottles_carry_the_average(self):
        """Within a millionth for each time value was shared or a part of it was taken."""
        for made in Material.objects.filter(on_hand__gt=0):
            for bottle in made.bottles.filter(remaining__gt=0):
                fair = made.value * bottle.remaining / made.on_hand
                assert abs(bottle.value - fair) <= D("0.0001")


@pytest.mark.django_db
@pytest.mark.parametrize("machine", [Fifo, MovingAverage], ids=METHODS)
def test_value_in_is_value_out_and_value_on_hand(machine):
    run_state_machine_as_test(
        machine,
        settings=settings(
            max_examples=10,
            stateful_step_count=25,
            deadline=None,
            suppress_health_check=list(HealthCheck),
        ),
    )
