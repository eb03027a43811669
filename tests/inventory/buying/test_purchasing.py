"""From what is short to a plan, draft orders, and what each says."""

from datetime import timedelta
from decimal import Decimal

import pytest

from inventory.buying import purchasing
from inventory.buying.reordering import MaterialNeed
from inventory.errors import NotInStudio, OrderRefused, PlanRefused
from inventory.models import PurchaseOrder
from inventory.stock import holds
from tests.factories.inventory import MaterialFactory, PackFactory, SupplierFactory, WorkFactory
from tests.inventory.stock.shelves import receive

D = Decimal
pytestmark = pytest.mark.django_db


@pytest.fixture
def shop(studio):
    return SupplierFactory(
        studio=studio, name="Dry Dock Paints", lead_days=D(5), shipping_fee=D("5.90")
    )


@pytest.fixture
def white(studio, shop):
    """White with 40 mL on the shelf, sold in two sizes."""
    made = MaterialFactory(studio=studio, name="White", reorder_point=D(100))
    PackFactory(studio=studio, supplier=shop, material=made, size=D(120), price=D("7.50"))
    PackFactory(studio=studio, supplier=shop, material=made, size=D(500), price=D("22.125"))
    receive(made, (40, 2))
    return made


def bought(plan):
    return [(line.material.name, line.count, line.pack.size) for line in plan.lines]


def test_the_plan_fills_up_what_is_low(studio, shop, white):
    plan = purchasing.plan(studio=studio)

    assert bought(plan) == [("White", 1, D(120))]  # 60 mL up to the reorder point; no use on record
    (order,) = plan.orders
    assert (order.supplier, order.goods, order.shipping) == (shop, D("7.50"), D("5.90"))
    assert plan.total == D("13.40")
    assert order.arrives_on == studio.today() + timedelta(days=5)
    assert plan.lines[0].why.startswith("60 mL needed for the shelf, to last 30 days after")
    assert plan.notes == ()


def test_the_plan_covers_what_is_held_beyond_stock_by_its_day(studio, white):
    white.reorder_point = D(0)
    white.save()
    day = studio.today() + timedelta(days=20)
    holds.hold(work=WorkFactory(studio=studio), label="Commission 1", needs={white: D(30)})
    holds.hold(
        work=WorkFactory(studio=studio), label="Commission 2", needs={white: D(400)}, needed_by=day
    )

    (line,) = purchasing.plan(studio=studio).lines

    assert (line.count, line.pack.size, line.needed_by, line.late) == (1, D(500), day, False)
    assert line.unit_price == D("22.125")
    assert line.why.startswith("390 mL needed for Commission 2 by ")


def test_what_is_on_order_or_on_a_draft_is_not_bought_twice(studio, white):
    (draft,) = purchasing.make_orders(studio=studio, by=None, plan=purchasing.plan(studio=studio))

    again = purchasing.plan(studio=studio)
    purchasing.send_order(order=draft)
    later = purchasing.plan(studio=studio)
    purchasing.cancel_order(order=draft)

    assert (again.orders, later.orders) == ((), ())
    assert again.notes == (
        "What stands on draft orders counts as coming: send them, or cancel them.",
    )
    assert later.notes == ()
    assert len(purchasing.plan(studio=studio).orders) == 1


def test_what_nobody_sells_is_named_and_the_rest_is_bought(studio, white):
    blue = MaterialFactory(studio=studio, name="Blue", reorder_point=D(10))

    plan = purchasing.plan(studio=studio)

    assert bought(plan) == [("White", 1, D(120))]
    assert plan.notes == ("No supplier offers Blue: add a pack with its price, or leave it out.",)
    assert blue.packs.count() == 0


def test_what_comes_too_late_is_bought_and_named(studio, white):
    white.reorder_point = D(0)
    white.save()
    day = studio.today() + timedelta(days=2)
    holds.hold(
        work=WorkFactory(studio=studio), label="Commission 1", needs={white: D(100)}, needed_by=day
    )

    plan = purchasing.plan(studio=studio)

    assert plan.lines[0].late
    assert "White is needed by" in plan.notes[0]
    assert "from Dry Dock Paints" in plan.notes[0]


def test_a_budget_that_is_too_small_is_refused_in_words(studio, white):
    with pytest.raises(
        PlanRefused, match=r"budget of \$10\.00 covers nothing.* takes \$13\.40 del"
    ):
        purchasing.plan(studio=studio, budget=D(10))
    assert purchasing.plan(studio=studio, budget=D("13.40")).total == D("13.40")


def test_needs_on_top_are_bought_too(studio, white):
    extra = MaterialNeed(white, D(400), None, "a workshop")

    plan = purchasing.plan(studio=studio, extra_needs=[extra])

    assert bought(plan) == [("White", 1, D(500))]
    assert "a workshop and the shelf" in plan.lines[0].why


def test_what_was_never_kept_is_not_bought(studio, shop):
    idle = MaterialFactory(studio=studio, name="Idle")
    PackFactory(studio=studio, supplier=shop, material=idle)
    water = MaterialFactory(studio=studio, is_stocked=False, reorder_point=D(5))
    PackFactory(studio=studio, supplier=shop, material=water)

    assert purchasing.plan(studio=studio).orders == ()


def test_the_plan_says_what_other_ways_would_cost(studio, white):
    other = SupplierFactory(studio=studio, name="Kettle Lane", shipping_fee=D(1))
    PackFactory(studio=studio, supplier=other, material=white, size=D(60), price=D(4))

    plan = purchasing.plan(studio=studio)

    assert (plan.orders[0].supplier, plan.total) == (other, D(5))
    ways = [(way.way, way.supplier and way.supplier.name, way.saving) for way in plan.compared_with]
    assert ("one_supplier", "Dry Dock Paints", D("8.40")) in ways


def test_orders_are_numbered_drafts_with_their_reasons(studio, white):
    other = SupplierFactory(studio=studio, name="Kettle Lane")
    blue = MaterialFactory(studio=studio, name="Blue", reorder_point=D(10))
    PackFactory(studio=studio, supplier=other, material=blue)

    made = purchasing.make_orders(studio=studio, by=None, plan=purchasing.plan(studio=studio))

    assert [(order.number, order.status) for order in made] == [(1, "draft"), (2, "draft")]
    assert {line.why.split(".")[0] for order in made for line in order.lines.all()} == {
        "60 mL needed for the shelf, to last 30 days after it arrives",
        "10 mL needed for the shelf, to last 30 days after it arrives",
    }
    with pytest.raises(OrderRefused, match="Nothing needs buying"):
        purchasing.make_orders(studio=studio, by=None, plan=purchasing.plan(studio=studio))


@pytest.fixture
def draft(studio, white):
    return purchasing.make_orders(studio=studio, by=None, plan=purchasing.plan(studio=studio))[0]


def test_a_draft_is_edited_line_by_line(studio, shop, white, draft):
    shop.free_shipping_over = D(20)
    shop.save()
    (line,) = draft.lines.all()
    large = white.packs.get(size=D(500))

    purchasing.edit_line(line=line, count=2, unit_price=D("7.25"))
    assert purchasing.goods_of(draft) == D("14.50")
    purchasing.add_line(order=draft, pack=large, count=1)
    draft.refresh_from_db()
    assert (purchasing.goods_of(draft), draft.shipping) == (D("36.625"), D(0))

    assert purchasing.edit_line(line=line, count=0) is None
    assert [each.pack for each in draft.lines.all()] == [large]
    with pytest.raises(OrderRefused, match="from 1 to 10,000"):
        purchasing.edit_line(line=draft.lines.get(), count=-1)
    with pytest.raises(NotInStudio):
        purchasing.add_line(order=draft, pack=PackFactory(studio=studio), count=1)


def test_sending_says_when_it_comes_and_keeps_the_suppliers_terms(studio, shop, draft):
    shop.minimum_order = D(50)
    shop.save()
    with pytest.raises(OrderRefused, match="below the least order that Dry Dock Paints takes"):
        purchasing.send_order(order=draft)
    shop.minimum_order = D(0)
    shop.save()

    sent = purchasing.send_order(order=draft)

    assert sent.status == PurchaseOrder.Status.SENT
    assert sent.expected_on == studio.today() + timedelta(days=5)
    with pytest.raises(OrderRefused, match="Order 1 is sent"):
        purchasing.edit_line(line=draft.lines.get(), count=5)
    with pytest.raises(OrderRefused, match="Order 1 is sent"):
        purchasing.send_order(order=draft)


def test_an_empty_order_is_not_sent(draft):
    purchasing.edit_line(line=draft.lines.get(), count=0)

    with pytest.raises(OrderRefused, match="has no lines"):
        purchasing.send_order(order=draft)


@pytest.mark.parametrize("materials", (1, 3))
def test_the_plan_asks_the_same_number_of_questions(
    studio, shop, django_assert_num_queries, materials
):
    for _ in range(materials):
        made = MaterialFactory(studio=studio, reorder_point=D(10))
        receive(made, (5, 1), pack=PackFactory(studio=studio, supplier=shop, material=made))

    # drafts, levels (materials, packs, history and its packs, uses), holds, packs, names, paid
    with django_assert_num_queries(11):
        plan = purchasing.plan(studio=studio)

    assert len(plan.lines) == materials
