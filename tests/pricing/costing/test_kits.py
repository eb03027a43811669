"""Resin kits: what nobody read off a label is not yet checked, and no ratio is ever guessed."""

from decimal import Decimal as D

import pytest
from django.db import IntegrityError, transaction

from pricing.bench import pours
from pricing.bench.pour_materials import LayerLog
from pricing.errors import RatioNotRead
from pricing.estimating.estimates import estimate
from pricing.models import ResinKit, Topcoating
from pricing.models.topcoat import FIGURES
from pricing.techniques import GUESSES, ONCE_FILLED_IN
from tests.conftest import member
from tests.factories import going_on
from tests.factories.bench import working_studio
from tests.factories.pricing import CommissionFactory

pytestmark = pytest.mark.django_db
API = "/api/v1/"


@pytest.fixture
def bench():
    return working_studio()


@pytest.fixture
def maker(bench):
    return member(bench.studio, "maker", sees_costs=True)


def bare(bench, **given):
    """A kit of which only its parts are known, and what is given."""
    return ResinKit.objects.create(
        studio=bench.studio, name="Bare", resin=bench.resin, hardener=bench.hardener, **given
    )


def test_a_new_kit_has_no_figure_that_nobody_gave(bench):
    kit = bare(bench)

    stated = (*FIGURES, "ratio_a", "ratio_b", "heat_limit_c")
    assert [name for name in stated if getattr(kit, name) is not None] == []
    assert (kit.basis, kit.has_ratio, kit.never_checked) == ("", False, False)
    assert kit.unchecked == {*FIGURES, "heat_limit_c"}
    assert {name: kit.taken(name) for name in FIGURES} == GUESSES


def test_a_kit_with_all_that_was_once_filled_in_was_never_checked(bench):
    old = bare(bench, ratio_a=D(1), ratio_b=D(1), basis="volume", **ONCE_FILLED_IN)

    assert old.never_checked and set(ONCE_FILLED_IN) <= old.unchecked
    assert old.taken("cure_hours") == 168  # what the studio has lived by stays
    old.cure_hours = D(120)
    assert not old.never_checked and "cure_hours" not in old.unchecked


def test_half_a_ratio_is_kept_nowhere(bench, maker):
    body = {"name": "Half", "resin": bench.resin.pk, "hardener": bench.hardener.pk, "ratio_a": 2}

    answer = maker.api.post(f"{API}resin-kits/", body)
    page = maker.client.post("/resin-kits/new/", body | {"waste": "15", "film_mm": "1.6"})

    assert (answer.status_code, list(answer.data["fields"])) == (400, ["ratio_a"])
    assert "Give the parts of A, the parts of B and what they are of" in page.content.decode()
    with pytest.raises(IntegrityError), transaction.atomic():
        bare(bench, ratio_a=D(2))
    assert ResinKit.objects.filter(studio=bench.studio).count() == 1


def test_a_ratio_that_was_given_is_not_emptied(bench, maker):
    address = f"{API}resin-kits/{bench.kit.pk}/"

    emptied = maker.api.patch(address, {"ratio_a": None, "ratio_b": None, "basis": ""})
    changed = maker.api.patch(address, {"ratio_a": 2, "recoat_from_hours": 8, "recoat_to_hours": 6})
    once = maker.api.patch(address, {"ratio_a": 2, "cure_hours": None})

    assert (emptied.status_code, list(emptied.data["fields"])) == (400, ["ratio_a"])
    assert (changed.status_code, list(changed.data["fields"])) == (400, ["recoat_to_hours"])
    assert (once.data["ratio_a"], once.data["cure_hours"]) == ("2.00", None)
    assert once.data["unchecked"] == ["cure_hours"]


def test_nothing_is_coated_or_planned_without_a_ratio(bench, maker):
    kit = bare(bench)
    pour = pours.log_pour(
        studio=bench.studio,
        by=None,
        surface=bench.tile_size,
        technique=bench.bloom,
        palette=bench.palette,
        count=1,
        minutes=D(10),
        layers={"base": LayerLog(D(30)), "colours": LayerLog(D(15))},
    )

    with pytest.raises(RatioNotRead, match="Read it off the label"):
        going_on.log_topcoat(pour=pour, by=None, kit=kit, mixed_ml=D(20))
    with pytest.raises(RatioNotRead):
        estimate(bench.studio, bench.tile_size, "bloom", topcoat=kit)
    with pytest.raises(RatioNotRead):
        going_on.add_line(
            commission=CommissionFactory(studio=bench.studio, customer=bench.customer),
            by=None,
            surface=bench.tile_size,
            technique=bench.bloom,
            palette=bench.palette,
            topcoat=kit,
        )
    product = {
        "name": "Coated",
        "surface": bench.tile_size.pk,
        "technique": "bloom",
        "palette": bench.palette.pk,
        "topcoat": kit.pk,
    }
    answer = maker.api.post(f"{API}products/", product)

    assert (answer.status_code, list(answer.data["fields"])) == (400, ["topcoat"])
    assert not Topcoating.objects.exists()
    planned = maker.client.get(
        "/plan/", {"size": "4x4in", "technique": "bloom", "count": 1, "topcoat": kit.pk}
    ).content.decode()
    assert "is not yet checked, and it is never guessed" in planned
    assert "Traceback" not in planned


def test_the_pages_say_what_is_not_yet_checked(bench, maker):
    kit = bare(bench, ratio_a=D(1), ratio_b=D(1), basis="volume")
    unread = ResinKit.objects.create(
        studio=bench.studio, name="Unread", resin=bench.resin, hardener=bench.hardener
    )

    rows = maker.client.get("/resin-kits/").content.decode()
    form = maker.client.get(f"/resin-kits/{kit.pk}/edit/").content.decode()
    plan = maker.client.get(
        "/plan/", {"size": "4x4in", "technique": "bloom", "count": 4, "topcoat": kit.pk}
    ).content.decode()

    assert "ratio not yet checked" in rows and "heat limit not yet checked" in rows
    assert form.count('placeholder="not yet checked"') == len(FIGURES) + 3
    assert plan.count("(our guess, read it off the label)") == 5  # the advice, and four figures
    assert "not yet checked: keep hot cups off it" in plan
    told = maker.api.get(f"{API}resin-kits/{unread.pk}/on-hand/").data
    assert (told["mixable_ml"], told["hardener_off"]) == (None, None)
    assert "never guessed" in told["problem"]
