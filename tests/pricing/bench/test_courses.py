"""Steps of the craft: timed, paid for, planned, and told in order where they are done."""

from datetime import date, timedelta
from decimal import Decimal as D
from io import BytesIO

import pytest
from django.urls import reverse
from pypdf import PdfReader

from pricing.bench.mixing_sheets import commission_sheet, sheet_pdf
from pricing.calendar.schedule import plan
from pricing.costing.costs import minutes_of, packing_minutes
from pricing.costing.habits import habits_of
from pricing.models import LabourStep
from tests.conftest import member
from tests.factories.bench import working_studio
from tests.pricing.bench.test_pours import log
from tests.pricing.commissions.test_commissions import accepted, add_tiles, opened

pytestmark = pytest.mark.django_db

MONDAY = date(2021, 3, 1)
# Minutes once and for each; varnish and feet are counted for each set.
MINUTES = {"scuff": (2, 1), "prime": (0, 2), "level": (3, 0), "varnish": (5, 4), "feet": (0, 2)}


@pytest.fixture
def bench(monkeypatch):
    """A studio on Monday 1 March 2021 in which nothing fails, so that minutes can be counted."""
    monkeypatch.setattr("studio.models.Studio.today", lambda self: MONDAY)
    bench = working_studio()
    bench.studio.techniques.update(success_rate=D(1), learns=False)
    return bench


def with_steps(bench):
    LabourStep.objects.bulk_create(
        LabourStep(technique=bench.bloom, step=step, fixed_minutes=D(once), minutes_each=D(each))
        for step, (once, each) in reversed(MINUTES.items())
    )


def minutes(bench, line, of=minutes_of):
    return of(line, habits_of(bench.studio)[bench.bloom.pk])


@pytest.mark.parametrize(
    ("coated", "more", "packing"),
    # Two sets of four tiles: scuff 2 + 8, prime 16, level 3, varnish 5 + 2 × 4, feet 2 × 2. What
    # gets resin is not varnished. Of packing each set has half.
    [(False, 10 + 16 + 3 + 13 + 4, D("8.5")), (True, 10 + 16 + 3 + 4, D(2))],
)
def test_steps_take_their_minutes_and_no_more(bench, coated, more, packing):
    line = add_tiles(bench, opened(bench), topcoat=bench.kit if coated else None)
    before, packed = minutes(bench, line), minutes(bench, line, packing_minutes)

    with_steps(bench)

    assert minutes(bench, line) - before == more
    assert minutes(bench, line, packing_minutes) - packed == packing


def test_varnish_waits_for_the_paint_and_packing_for_the_varnish(bench):
    """A film under 1.5 mm is varnished after 14 days, packed after 28; primer dries overnight."""
    with_steps(bench)
    accepted(bench)

    (work,) = plan(bench.studio).works

    assert [(one.step, one.begins) for one in work.steps] == [
        ("prime", MONDAY),
        ("pour", MONDAY + timedelta(days=1)),
        ("clean", MONDAY + timedelta(days=4)),
        ("varnish", MONDAY + timedelta(days=15)),
        ("pack", MONDAY + timedelta(days=29)),
    ]
    waits = [(one.what, (one.begins - MONDAY).days, (one.ends - MONDAY).days) for one in work.waits]
    assert waits == [("drying", 0, 1), ("drying", 1, 15), ("drying", 15, 22)]


def test_the_sheet_tells_the_steps_in_order_with_their_waits(bench):
    commission = opened(bench)
    add_tiles(bench, commission)
    add_tiles(bench, commission, topcoat=bench.kit)
    with_steps(bench)

    sheet = commission_sheet(bench.studio, [commission])
    bare, coated = sheet.courses

    assert [one.step for one in bare.before] == ["scuff", "prime", "set_up", "level"]
    assert [(one.step, one.waits) for one in bare.after] == [
        ("clean", "3 days after the pour"),
        ("varnish", "14 days after the pour"),
        ("feet", "28 days after the pour and 7 days after varnishing"),
        ("pack", "28 days after the pour and 7 days after varnishing"),
    ]
    assert [(one.step, one.waits) for one in coated.after] == [
        ("clean", "3 days after the pour"),
        ("topcoat", "7 days after the pour"),
        ("feet", "7 days after the resin"),
        ("pack", "7 days after the resin"),
    ]
    assert {"tile", "solvent"} <= set(sheet.hazards)
    paper = PdfReader(BytesIO(sheet_pdf(bench.studio, sheet, "Mixing sheet", MONDAY)))
    text = " ".join(" ".join(page.extract_text() for page in paper.pages).split())
    assert "Degrease or scuff" in text and "Varnish (14 days after the pour)" in text


def test_a_step_that_takes_no_time_is_told_nowhere(bench):
    commission = opened(bench)
    add_tiles(bench, commission)
    bench.bloom.steps.create(step="scuff")

    (course,) = commission_sheet(bench.studio, [commission]).courses

    assert [one.step for one in course.before] == ["set_up"]
    assert course.hazards == ()


def test_the_owner_sets_steps_by_page_and_api_with_their_cautions_beside_them(bench):
    owner = member(bench.studio, "owner")
    address = reverse("technique-edit", args=[bench.bloom.pk])

    page = owner.client.get(address).content.decode()
    answer = owner.api.patch(
        "/api/v1/techniques/bloom/",
        {"steps": [{"step": "varnish", "fixed_minutes": "5", "minutes_each": "4"}]},
    )

    for words in ("Degrease or scuff", "Fit feet or cork", "silica", "catch fire easily"):
        assert words in page
    assert answer.status_code == 200
    assert bench.bloom.steps.get(step="varnish").minutes_each == 4


def test_a_step_of_the_studios_own_has_its_name_and_its_place(bench):
    owner = member(bench.studio, "owner")
    own = {"step": "own", "fixed_minutes": "0", "minutes_each": "2", "name": "Dust off"}
    commission = opened(bench)
    line = add_tiles(bench, commission)
    before = minutes(bench, line)

    made = owner.api.patch("/api/v1/techniques/bloom/", {"steps": [own]})
    renamed = owner.api.patch(
        "/api/v1/techniques/bloom/", {"steps": [{**own, "step": "pour", "name": "Splash"}]}
    )

    assert made.status_code == 200 and renamed.status_code == 409
    assert minutes(bench, line) - before == 16
    (course,) = commission_sheet(bench.studio, [commission]).courses
    assert [one.name for one in course.before] == ["Dust off", "Set up and mix"]
    page = owner.client.get(reverse("technique-edit", args=[bench.bloom.pk])).content.decode()
    assert 'value="Dust off"' in page


def test_a_pour_is_told_when_it_may_be_varnished(bench, monkeypatch):
    monkeypatch.undo()
    maker = member(bench.studio, "maker")
    pour = log(bench)
    address = reverse("pour", args=[pour.number])

    before = maker.client.get(address).content.decode()
    with_steps(bench)
    after = maker.client.get(address).content.decode()

    assert "Before you varnish" not in before
    assert "Before you varnish: Dried 0 days" in after and "days before varnish" in after
