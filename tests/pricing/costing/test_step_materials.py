"""What the steps around a pour use: planned, held, costed, taken by its act, and given back."""

from datetime import date, timedelta
from decimal import Decimal as D

import pytest
from django.urls import reverse

from inventory.errors import StockShortfall
from inventory.models import Material
from inventory.stock import ledger as stock
from pricing.bench import pours, topcoats
from pricing.bench.mixing_sheets import commission_sheet
from pricing.bench.pours import LayerLog
from pricing.bench.work import work_list
from pricing.calendar.schedule import plan
from pricing.commissions.commission_holds import needs_left
from pricing.costing.catalogue import StepUse, save_technique
from pricing.costing.costs import line_costs
from pricing.costing.material_prices import MaterialPrice
from pricing.costing.product_runs import Production, RunBasis, products_of
from pricing.earnings.hindsight import hindsight
from pricing.earnings.where_it_went import forecast_beside_actual
from pricing.errors import CatalogueError
from pricing.estimating.estimates import estimate_commission
from pricing.models import FinishedPiece, LabourStep
from pricing.quoting import quotes as quoting
from pricing.selling import sales
from studio.rows import NotYours
from tests.conftest import member
from tests.factories import going_on
from tests.factories.bench import working_studio
from tests.factories.inventory import MaterialFactory, PackFactory
from tests.factories.judged import coat_judged
from tests.factories.pricing import ProductFactory
from tests.pricing.bench.test_pours import log, shelf
from tests.pricing.commissions.test_commissions import accepted, add_tiles, opened
from tests.pricing.earnings.plans import make_and_sell

pytestmark = pytest.mark.django_db

MONDAY = date(2021, 3, 1)
# name: (kind, unit, on hand, worth); 0.05 a mL of primer, sealer and varnish, 0.10 a foot.
MORE = {
    "primer": ("medium", "ml", "500", "25"),
    "sealer": ("medium", "ml", "500", "25"),
    "varnish": ("medium", "ml", "500", "25"),
    "foot": ("other", "each", "100", "10"),
}
# 100 mL on a square metre of face are 1 mL on a tile of 10 × 10 cm; a tile gets four feet.
USES = {
    "prime": ("primer", "100", "m2", ""),
    "seal": ("sealer", "2", "piece", "coated"),
    "varnish": ("varnish", "3", "piece", ""),
    "feet": ("foot", "4", "piece", ""),
}


@pytest.fixture
def bench():
    """A studio in which nothing fails, whose bloom primes, seals under resin and varnishes."""
    bench = working_studio()
    bench.studio.techniques.update(success_rate=1, learns=False)
    for name, (kind, unit, on_hand, worth) in MORE.items():
        material = MaterialFactory(studio=bench.studio, name=name, kind=kind, unit=unit)
        setattr(bench, name, material)
        receipt = stock.Receipt(material=material, quantity=D(on_hand), value=D(worth))
        stock.receive(studio=bench.studio, by=None, receipts=[receipt])
        PackFactory(studio=bench.studio, material=material, size=D(on_hand), price=D(worth) * 2)
    save(bench, USES)
    return bench


def save(bench, uses, minutes=D(1)):
    found = {
        step: StepUse(getattr(bench, name), D(amount), per, pieces)
        for step, (name, amount, per, pieces) in uses.items()
    }
    steps = {step: (D(0), minutes) for step in uses}
    save_technique(
        technique=bench.bloom,
        success_rate=D(1),
        coat_success_rate=D(1),
        is_offered=True,
        learns=False,
        steps=steps,
        uses=found,
    )


def taken(bench, act):
    """What an act takes of the steps' materials, by name."""
    before = shelf(bench)
    act()
    after = shelf(bench)
    return {name: before[name] - after[name] for name in MORE if before[name] != after[name]}


def needs(stages):
    names = set(MORE)
    return {
        stage: {key.name: need.used for key, need in found.items() if key.name in names}
        for stage, found in stages.items()
    }


@pytest.mark.parametrize(
    ("coated", "expected"),
    # Two sets of four tiles.
    [
        (False, {"pour": {"primer": 8}, "coat": {}, "pack": {"varnish": 24, "foot": 32}}),
        (True, {"pour": {"primer": 8}, "coat": {"sealer": 16}, "pack": {"foot": 32}}),
    ],
)
def test_steps_are_planned_for_the_pieces_they_are_done_with(bench, coated, expected):
    commission = opened(bench)
    add_tiles(bench, commission, topcoat=bench.kit if coated else None)

    (line,) = estimate_commission(commission).lines

    assert needs(line.by_stage) == expected


def cost(bench, **more):
    commission = opened(bench)
    add_tiles(bench, commission, topcoat=bench.kit, **more)
    (line,) = estimate_commission(commission).lines
    prices = {key: MaterialPrice(key, D(1), D("0.10"), "") for key in line.needs}
    (found,) = line_costs(bench.studio, [line], prices)
    return found


def test_steps_cost_what_they_use_and_those_before_a_failure_again(bench):
    """Of 8 pieces at 80 % two more are poured, at 0.10 each of primer; at 80 % of 8 coated two more
    are sealed, with 2 mL each, so that 10 are to be poured well, of 12.5: 0.45 more of primer."""
    lines = {(one.kind, one.label): one for one in cost(bench).cost.lines}
    assert lines["prepared", "Primer, tape and the like"].amount == D("0.8")
    assert lines["finished", "Varnish, feet and the like"].amount == D("3.2")
    assert ("sealer", D("1.6")) in [
        part for one in cost(bench).cost.lines if one.label == "Topcoat" for part in one.made_of
    ]

    bench.studio.techniques.update(success_rate=D("0.8"), coat_success_rate=D("0.8"))
    failing = cost(bench)

    (failures,) = [one for one in failing.cost.lines if one.kind == "failures"]
    assert dict(failures.made_of)["Primer, tape and the like"] == D("0.45")
    assert failing.again[bench.primer] == D("4.5")
    assert failing.again[bench.sealer] == D(4)
    assert bench.foot not in failing.again


def test_each_act_takes_its_own_and_gives_it_back(bench):
    commission = accepted(bench, topcoat=bench.kit)
    line = commission.lines.get()
    made = {}

    def pour():
        made["pour"] = log(bench, line=line, count=8, good_count=8)

    def coat():
        made["coat"] = coat_judged(
            pour=made["pour"], by=None, kit=bench.kit, mixed_ml=D(40), minutes=D(1)
        )

    def pack():
        pieces = list(made["pour"].pieces.order_by("number")[:4])
        made["set"] = going_on.pack_set(
            studio=bench.studio, by=None, name="", pieces=pieces, line=line
        )

    assert taken(bench, pour) == {"primer": 8}
    assert taken(bench, coat) == {"sealer": 16}
    assert taken(bench, pack) == {"foot": 16}
    assert made["set"].spent.materials - sum(
        one.spent.materials for one in made["set"].pieces.all()
    ) == D("1.60")
    assert taken(bench, lambda: sales.unpack_set(piece_set=made["set"], by=None)) == {"foot": -16}
    undo_coat = taken(bench, lambda: topcoats.undo_topcoat(coat=made["coat"], by=None, why="x"))
    assert undo_coat == {"sealer": -16}
    undo_pour = taken(bench, lambda: pours.undo_pour(pour=made["pour"], by=None, why="x"))
    assert undo_pour == {"primer": -8}


def test_a_bare_piece_is_varnished_when_it_is_packed(bench):
    pour = log(bench)
    pieces = list(pour.pieces.filter(state="good"))

    used = taken(
        bench, lambda: going_on.pack_set(studio=bench.studio, by=None, name="Three", pieces=pieces)
    )

    assert used == {"varnish": 9, "foot": 12}


def test_what_was_really_used_is_taken(bench):
    pour_it = {"used": {bench.primer: D("2.5"), bench.sealer: D(1)}}
    assert taken(bench, lambda: log(bench, **pour_it)) == {"primer": D("2.5"), "sealer": 1}
    pieces = list(FinishedPiece.objects.filter(state="good")[:1])
    told = {bench.varnish: D(0), bench.foot: D(3)}

    used = taken(
        bench,
        lambda: going_on.pack_set(
            studio=bench.studio, by=None, name="One", pieces=pieces, used=told
        ),
    )

    assert used == {"foot": 3}


def test_what_is_short_is_refused_and_nothing_is_packed(bench):
    pieces = list(log(bench).pieces.filter(state="good"))
    stock.use(studio=bench.studio, by=None, amounts={bench.foot: D(95)})

    with pytest.raises(StockShortfall, match="foot"):
        going_on.pack_set(studio=bench.studio, by=None, name="Three", pieces=pieces)

    assert not bench.studio.sets.exists()
    assert Material.objects.get(pk=bench.varnish.pk).on_hand == 500


def test_accepted_work_holds_what_its_steps_have_yet_to_use(bench):
    def held():
        left = needs_left(commission)
        return {key.name: amount for key, amount in left.items() if key.name in MORE}

    commission = accepted(bench)
    line = commission.lines.get()
    assert held() == {"primer": 8, "varnish": 24, "foot": 32}

    pour = log(bench, line=line, count=8, good_count=8)
    assert held() == {"varnish": 24, "foot": 32}
    pieces = list(pour.pieces.order_by("number")[:4])
    going_on.pack_set(studio=bench.studio, by=None, name="", pieces=pieces, line=line)
    assert held() == {"varnish": 12, "foot": 16}


def test_what_is_short_stands_in_the_days_work(bench):
    commission = accepted(bench)
    stock.use(studio=bench.studio, by=None, ignore_holds=True, amounts={bench.foot: D(90)})
    stock.use(studio=bench.studio, by=None, ignore_holds=True, amounts={bench.primer: D(497)})

    (session,) = work_list(bench.studio).sessions

    assert (bench.primer, D(8)) in [(one.material, one.quantity) for one in session.fetch]
    assert {(one.material, one.missing) for one in session.short} == {(bench.primer, D(5))}
    log(bench, line=commission.lines.get(), count=8, good_count=8, used={bench.primer: D(0)})
    lacks = [one for pack in work_list(bench.studio).packings for one in pack.lacks]
    # 10 feet are there, and 32 are needed.
    assert sum(one.missing for one in lacks) == 22
    page = member(bench.studio, "maker").client.get(reverse("work")).content.decode()
    assert "foot short" in page


def test_a_product_counts_what_its_steps_use(bench):
    ProductFactory(
        studio=bench.studio,
        surface=bench.tile_size,
        technique=bench.bloom,
        palette=bench.palette,
        pieces_each=4,
    )
    (product,) = products_of(bench.studio)
    production = Production(product, RunBasis(bench.studio))

    used = {key.name: need.used for key, need in production.needs(2).items()}
    average = {key.name: amount for key, amount in production.average_use(2).items()}

    for found in (used, average):
        assert {name: found[name] for name in ("primer", "varnish", "foot")} == {
            "primer": 8,
            "varnish": 24,
            "foot": 32,
        }


def test_forecast_and_actual_agree_part_by_part(bench):
    """Primer 8 × 0.05, varnish 24 × 0.05 and feet 32 × 0.10, at what they cost on the shelf."""
    commission = opened(bench)
    add_tiles(bench, commission, packaging=bench.box)
    planned = estimate_commission(commission)
    quote = going_on.send_quote(quote=quoting.draft_quote(commission=commission, by=None), by=None)
    quoting.accept_quote(quote=quote, name="Wren Alder")

    make_and_sell(commission, planned, bench.own_sale)

    rows = hindsight(bench.studio)
    (row,) = rows
    assert abs(row.difference) < D("0.001")
    side = forecast_beside_actual(rows)
    found = {one.label: [part.amount for _, part in one.cells] for one in side.rows}
    assert found["Primer, tape and the like"] == [D("0.40"), D("0.40")]
    assert found["Varnish, feet and the like"] == [D("4.40"), D("4.40")]
    assert found["Packaging"] == [D("2.40"), D("2.40")]


def test_what_must_dry_has_a_day_of_its_own(bench, monkeypatch):
    """Primed and sealed overnight, resin after 7 days on a thin film: common practice."""
    monkeypatch.setattr("studio.models.Studio.today", lambda self: MONDAY)
    commission = accepted(bench, topcoat=bench.kit)

    (work,) = plan(bench.studio).works

    assert [(one.step, (one.begins - MONDAY).days) for one in work.steps] == [
        ("prime", 0),
        ("pour", 1),
        ("clean", 4),
        ("seal", 8),
        ("topcoat", 9),
        ("pack", 16),
    ]
    waits = [(one.what, (one.begins - MONDAY).days, (one.ends - MONDAY).days) for one in work.waits]
    assert waits == [("drying", 0, 1), ("drying", 1, 8), ("drying", 8, 9), ("curing", 9, 16)]
    log(bench, line=commission.lines.get(), count=8, good_count=8)
    (work,) = plan(bench.studio).works
    assert [one.step for one in work.steps] == ["clean", "seal", "topcoat", "pack"]
    bench.bloom.steps.filter(step="prime").update(minutes_each=0)
    bare = accepted(bench)
    steps = [one for one in plan(bench.studio).of(bare).steps]
    assert [one.step for one in steps] == ["prime", "pour", "clean", "varnish", "pack"]
    assert steps[1].begins - steps[0].begins == timedelta(days=1)


def test_the_sheet_says_what_each_step_uses_and_what_can_hurt(bench):
    bench.primer.is_flammable = True
    bench.primer.save(update_fields=["is_flammable"])
    commission = opened(bench)
    add_tiles(bench, commission, topcoat=bench.kit)

    (course,) = commission_sheet(bench.studio, [commission]).courses

    told = {one.step: (one.uses, one.waits) for one in (*course.before, *course.after)}
    assert told["prime"] == ("100 mL of primer for 1 m² of face", "")
    assert told["feet"][0] == "4 × foot each"
    assert told["topcoat"][1] == "7 days after the pour and 1 day after sealing"
    assert course.pour_waits == "1 day after priming"
    assert course.hazards == ("solvent",)


BAD = (
    ("prime", {"name": "tile"}, "counted elsewhere"),
    ("prime", {"amount": "0"}, "Say how much of primer"),
    ("feet", {"name": "foot", "per": "m2"}, "how many for each piece"),
    ("feet", {"name": "foot", "amount": "1.5"}, "whole items"),
    ("pour", {}, "uses no material of its own"),
    ("varnish", {"pieces": "bare"}, "Leave it at every piece"),
)


@pytest.mark.parametrize(("step", "what", "words"), BAD)
def test_a_step_refuses_what_it_cannot_use(bench, step, what, words):
    whole = {"name": "primer", "amount": "2", "per": "piece", "pieces": "", **what}

    with pytest.raises(CatalogueError, match=words):
        save(bench, {step: tuple(whole.values())})

    owner = member(bench.studio, "owner")
    sent = {
        "step": step,
        "fixed_minutes": "0",
        "minutes_each": "1",
        "material": getattr(bench, whole.pop("name")).pk,
        **whole,
    }
    assert owner.api.patch("/api/v1/techniques/bloom/", {"steps": [sent]}).status_code == 409
    assert {(one.step, one.material_id) for one in bench.bloom.steps.exclude(material=None)} == {
        (name, getattr(bench, use[0]).pk) for name, use in USES.items()
    }


def test_a_supply_of_another_studio_is_not_there(bench):
    bench.strange = MaterialFactory(kind="medium")
    owner = member(bench.studio, "owner")

    with pytest.raises(NotYours):
        save(bench, {"prime": ("strange", "2", "piece", "")})
    with pytest.raises(NotYours):
        log(bench, used={bench.strange: D(1)})
    sent = {"step": "prime", "fixed_minutes": "0", "minutes_each": "1", "amount": "2"}
    answer = owner.api.patch(
        "/api/v1/techniques/bloom/", {"steps": [{**sent, "material": bench.strange.pk}]}
    )

    assert answer.status_code == 400
    assert bench.bloom.steps.get(step="prime").material == bench.primer


def test_the_owner_sets_what_steps_use_by_page_and_api(bench):
    owner, maker = member(bench.studio, "owner"), member(bench.studio, "maker")
    address = reverse("technique-edit", args=[bench.bloom.pk])
    page = owner.client.get(address)
    form = page.context["form"]
    sent = {name: form[name].value() for name in form.fields if form[name].value() is not None}
    assert (sent["prime_amount"], sent["feet_amount"]) == ("100 mL", "4")

    refused = owner.client.post(address, {**sent, "feet_amount": "four"})
    saved = owner.client.post(
        address, {**sent, "feet_amount": "3", "prime_material": "", "prime_amount": ""}
    )

    assert refused.status_code == 422
    assert maker.client.get(address).status_code == 403
    assert saved.status_code == 302
    steps = {one.step: one for one in bench.bloom.steps.all()}
    assert (steps["feet"].material, steps["feet"].amount) == (bench.foot, 3)
    assert (steps["prime"].material, steps["prime"].amount) == (None, 0)
    api = owner.api.patch(
        "/api/v1/techniques/bloom/",
        {"steps": [{"step": "feet", "fixed_minutes": "0", "minutes_each": "2"}]},
    )
    told = {one["step"]: one for one in api.json()["steps"]}
    assert (told["feet"]["material"], told["feet"]["amount"]) == (bench.foot.pk, "3.0000")
    assert told["seal"]["pieces"] == "coated"


def test_the_bench_corrects_what_was_used_by_page_and_api(bench):
    maker = member(bench.studio, "maker")
    commission = accepted(bench, topcoat=bench.kit)
    line = commission.lines.get()
    page = maker.client.get(reverse("pour-new"), {"line": line.pk})
    assert "primer used" in page.content.decode()
    assert f"used_{bench.foot.pk}" not in page.context["form"].fields
    sent = {
        "line": line.pk,
        "count": 8,
        "minutes": "30",
        "layers": [{"layer": "base", "mixed_ml": "100"}],
    }

    twice = maker.api.post(
        "/api/v1/pours/", {**sent, "used": [{"material": bench.primer.pk, "amount": "9"}] * 2}
    )
    made = maker.api.post(
        "/api/v1/pours/", {**sent, "used": [{"material": bench.primer.pk, "amount": "9"}]}
    )

    assert (twice.status_code, made.status_code) == (400, 201)
    assert shelf(bench)["primer"] == 491
    number = made.json()["number"]
    coat = maker.client.post(
        reverse("topcoat-new", args=[number]),
        {
            "kit": bench.kit.pk,
            "mixed_ml": "40 mL",
            "minutes": "9",
            f"used_{bench.sealer.pk}": "20 mL",
            **going_on.WITH,
        },
    )
    assert coat.status_code == 302
    assert shelf(bench)["sealer"] == 480
    pieces = list(FinishedPiece.objects.filter(pour__number=number)[:4])
    packed = maker.client.post(
        reverse("set-new") + f"?line={line.pk}",
        {
            "pieces": [one.pk for one in pieces],
            "minutes": "5",
            f"used_{bench.foot.pk}": "15",
            **going_on.WITH,
        },
    )
    assert packed.status_code == 302
    assert shelf(bench)["foot"] == 85


def test_a_step_that_uses_something_is_done_though_it_takes_no_time(bench):
    save(bench, USES, minutes=D(0))

    assert all(one.is_done for one in bench.bloom.steps.filter(step__in=USES))
    assert LabourStep(technique=bench.bloom, step="prime").is_done is False


def test_less_of_a_layer_is_left_for_steps_that_share_its_paint(bench):
    """White as primer: 5 mL at 0.02 are 0.10, and the base keeps what it cost."""
    save(bench, {"prime": ("white", "5", "piece", "")})

    pour = log(bench, count=1, good_count=1, layers={"base": LayerLog(D(100))})

    assert pour.layers.get().took_value == D("1.80")
    # 90 of white for the base and 5 before it, and a tile.
    assert cost_of(pour) == D("1.80") + D("0.10") + D("0.50")


def cost_of(pour):
    return -sum(move.value for move in pour.entry.movements.all())
