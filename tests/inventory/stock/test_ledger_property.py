"""Random histories through the services, by both costing methods.

What came in is always what went out and what is on hand, to the last place; the books agree after
every act; a refusal leaves everything as it was.
"""

from collections import defaultdict
from decimal import ROUND_DOWN, Decimal

import pytest
from django.db import transaction
from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)

from inventory.errors import CannotReverse, StockShortfall
from inventory.models import Bottle, Entry, Material, Movement
from inventory.stock import books, holds
from inventory.stock import ledger as stock
from inventory.stock.costing import Scraped
from studio.errors import StudioError
from studio.units import QUANTITY_PLACES
from tests.factories.inventory import MaterialFactory, WorkFactory
from tests.factories.studio import StudioFactory
from tests.inventory.stock.histories import METHODS

D = Decimal
ZERO = D(0)
# Thirds and sevenths, so that shares of value do not come out even.
QUANTITIES = st.sampled_from(
    [D(text) for text in ["0.0001", "1", "2.5", "3", "7", "33.3333", "100"]]
)
VALUES = st.sampled_from([D(text) for text in ["0", "0.01", "1", "9.99", "10", "123.456789"]])
# How much of what there is: all of it, the least, a part, or more than there is.
PARTS = st.sampled_from(["all", "least", "third", "seventh", "more"])
WORKS = st.integers(0, 1)
WHICH = st.integers(0, 1)
ANY = st.integers(0, 50)


def part_of(quantity, part):
    """Return a part of an amount, as the ledger keeps it."""
    if part == "more":
        return quantity + 1
    if part == "least":
        return QUANTITY_PLACES
    share = {"all": 1, "third": 3, "seventh": 7}[part]
    return (quantity / share).quantize(QUANTITY_PLACES, ROUND_DOWN)


class Ledger(RuleBasedStateMachine):
    """Acts on two materials of one studio."""

    costing = None

    @initialize(white=st.tuples(QUANTITIES, VALUES), blue=st.tuples(QUANTITIES, VALUES))
    def open_studio(self, white, blue):
        self.savepoint = transaction.atomic()
        self.savepoint.__enter__()
        self.studio = StudioFactory(costing=self.costing, run_off_value="base")
        self.pair = [
            MaterialFactory(studio=self.studio, kind="mix", tare_g=D(10), density_g_per_ml=D("1.3"))
            for _ in range(2)
        ]
        self.works = WorkFactory.create_batch(2, studio=self.studio)
        for which, bottle in enumerate((white, blue)):
            self.receive(which, [bottle])

    def teardown(self):
        if hasattr(self, "savepoint"):
            try:
                assert books.check(self.studio) == []
            finally:
                transaction.set_rollback(True)
                self.savepoint.__exit__(None, None, None)

    def work(self, number):
        return None if number is None else self.works[number]

    def material(self, which):
        return Material.objects.get(pk=self.pair[which].pk)

    def bottle(self, number):
        bottles = list(Bottle.objects.select_related("material").order_by("-remaining", "pk"))
        return bottles[number % len(bottles)]

    def attempt(self, act, **asked):
        """Act, or see to it that a refusal moved nothing."""
        before = Movement.objects.count()
        try:
            return act(studio=self.studio, by=None, **asked)
        except StudioError:
            assert Movement.objects.count() == before

    @rule(which=WHICH, bottles=st.lists(st.tuples(QUANTITIES, VALUES), min_size=1, max_size=3))
    def receive(self, which, bottles):
        made = self.material(which)
        receipts = [stock.Receipt(made, quantity, value) for quantity, value in bottles]
        self.attempt(stock.receive, receipts=receipts)

    @rule(which=WHICH, part=PARTS, number=st.one_of(st.none(), WORKS))
    def use(self, which, part, number):
        made, work = self.material(which), self.work(number)
        free = made.on_hand - sum(
            covered
            for hold, covered in holds.coverage(self.studio).items()
            if hold.material_id == made.pk and hold.work != work
        )
        quantity = part_of(free, part)
        try:
            stock.use(studio=self.studio, by=None, amounts={made: quantity}, work=work)
        except StockShortfall as refused:
            assert [short.missing for short in refused.shortages] == [quantity - free]
        else:
            assert quantity <= free

    @rule(which=WHICH, part=PARTS, kept=QUANTITIES, value=VALUES)
    def pour(self, which, part, kept, value):
        used, pot = self.material(which), self.material(1 - which)
        taken = part_of(used.on_hand, part)
        mixed = kept + taken
        moves = [
            stock.StockMove("use", used, -taken, layers={"base": taken}),
            stock.StockMove(
                "reclaim",
                pot,
                kept,
                new_bottle=stock.Receipt(pot, kept, value),
                run_off={"base": Scraped(kept, mixed)},
            ),
        ]
        entry = self.attempt(stock.post, moves=moves, ignore_holds=True)
        if entry is not None:
            took = -sum(move.value for move in entry.movements.filter(kind="use"))
            worth = entry.movements.get(kind="reclaim").value
            assert worth <= value and worth * mixed <= took * kept

    @rule(white=PARTS, blue=PARTS, into=WHICH, number=st.one_of(st.none(), WORKS))
    def mix(self, white, blue, into, number):
        """Mix both into a bottle of one: it is worth what was taken, whatever it came to."""
        parts = {
            made: part_of(made.on_hand, part)
            for made, part in ((self.material(0), white), (self.material(1), blue))
        }
        volume = sum(parts.values()).quantize(QUANTITY_PLACES)
        if not volume:
            return
        pot = self.material(into)
        moves = [stock.StockMove("mix", made, -quantity) for made, quantity in parts.items()]
        receipt = stock.Receipt(pot, volume, None)
        moves.append(stock.StockMove("mix", pot, volume, new_bottle=receipt))
        entry = self.attempt(stock.post, moves=moves, work=self.work(number))
        if entry is not None:
            mixed = entry.movements.filter(kind="mix")
            assert sum(move.value for move in mixed) == 0

    @rule(number=ANY, gross=st.sampled_from([D(10), D(14), D("50.5"), D(150)]))
    def weigh_in(self, number, gross):
        self.attempt(stock.weigh_in, bottle=self.bottle(number), gross_g=gross)

    @rule(number=ANY, part=PARTS, act=st.sampled_from([stock.waste, stock.send_back]))
    def take_out(self, number, part, act):
        bottle = self.bottle(number)
        self.attempt(act, bottle=bottle, quantity=part_of(bottle.remaining, part), why="")

    @rule(number=ANY, other=ANY, part=PARTS, into_new=st.booleans())
    def decant(self, number, other, part, into_new):
        bottle = self.bottle(number)
        into = stock.Vessel(capacity=D(100)) if into_new else self.bottle(other)
        quantity = part_of(bottle.remaining, part)
        self.attempt(
            stock.decant, bottle=bottle, into=into, quantity=quantity, over_capacity=other % 2 == 0
        )

    @rule(back=st.integers(0, 5))
    def reverse(self, back):
        open_entries = Entry.objects.filter(reverses=None, reversed_by=None).order_by("-pk")
        entries = list(open_entries[: back + 1])
        if entries:
            before = Entry.objects.count()
            try:
                stock.reverse(studio=self.studio, by=None, entry=entries[-1], why="")
            except CannotReverse:
                assert Entry.objects.count() == before

    @rule(which=WHICH, number=WORKS, quantity=QUANTITIES)
    def hold(self, which, number, quantity):
        needs = {self.material(which): quantity}
        holds.hold(work=self.work(number), label=f"Work {number}", needs=needs)

    @rule(number=WORKS)
    def release(self, number):
        holds.release(work=self.work(number))

    @precondition(lambda self: hasattr(self, "pair"))
    @invariant()
    def value_is_conserved(self):
        bottles, moves = list(Bottle.objects.all()), list(Movement.objects.all())
        sums = defaultdict(lambda: [ZERO, ZERO])
        for move in moves:
            sums[move.bottle_id][0] += move.quantity
            sums[move.bottle_id][1] += move.value
        for bottle in bottles:
            assert [bottle.remaining, bottle.value] == sums[bottle.pk]
            assert bottle.remaining >= 0 and bottle.value >= 0
            assert bottle.remaining or not bottle.value
            assert (bottle.archived_at is None) == (bottle.remaining > 0)
        for made in Material.objects.all():
            values = [move.value for move in moves if move.material_id == made.pk]
            came = sum((value for value in values if value > 0), ZERO)
            went = sum((-value for value in values if value < 0), ZERO)
            mine = [bottle for bottle in bottles if bottle.material_id == made.pk]
            assert came == went + made.value
            assert made.value == sum((bottle.value for bottle in mine), ZERO)
            assert made.on_hand == sum((bottle.remaining for bottle in mine), ZERO)
            self.check_costing(made, mine)

    def check_costing(self, made, bottles):
        """See how each method spreads value over the bottles."""

    @precondition(lambda self: hasattr(self, "pair"))
    @invariant()
    def nothing_is_promised_twice(self):
        covered = defaultdict(lambda: ZERO)
        for hold, quantity in holds.coverage(self.studio).items():
            assert 0 <= quantity <= hold.outstanding
            covered[hold.material_id] += quantity
        for made in Material.objects.filter(pk__in=covered):
            assert covered[made.pk] <= made.on_hand


class Fifo(Ledger):
    costing = "fifo"

    def check_costing(self, made, bottles):
        """FIFO never moves value from one bottle to another."""
        assert not Movement.objects.filter(material=made, kind="respread").exists()


class MovingAverage(Ledger):
    costing = "moving_average"

    def check_costing(self, made, bottles):
        """Bottles carry the average, within what rounding to a millionth adds up to."""
        for bottle in bottles:
            if bottle.remaining:
                fair = made.value * bottle.remaining / made.on_hand
                assert abs(bottle.value - fair) <= D("0.0001")


@pytest.mark.django_db
@pytest.mark.parametrize("machine", [Fifo, MovingAverage], ids=METHODS)
def test_value_in_is_value_out_and_value_on_hand(machine):
    run_state_machine_as_test(
        machine,
        settings=settings(
            max_examples=20,
            stateful_step_count=20,
            deadline=None,
            # A failing history is shown as found: shrinking it takes far longer than finding it.
            phases=[Phase.explicit, Phase.reuse, Phase.generate],
            suppress_health_check=list(HealthCheck),
        ),
    )
