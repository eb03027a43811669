"""What pours taught is kept beside the pages, and no page learns it anew."""

from datetime import timedelta
from decimal import Decimal as D

import pytest
from django.conf import settings
from django.core.management import call_command
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from pricing.bench import pours
from pricing.bench.pours import LayerLog
from pricing.commissions import orders as commissions
from pricing.estimating import coverage, learning
from pricing.estimating import remembering as kept
from pricing.estimating.coverage import memory as memories
from pricing.estimating.learning import hand_of
from pricing.estimating.remembering import learn_all, learn_hand
from pricing.models import HandMemory
from pricing.quoting import quotes
from tests.factories import going_on
from tests.factories.bench import working_studio
from tests.factories.judged import pour_judged
from tests.factories.pricing import PourFactory, PourLayerFactory, TechniqueFactory
from tests.factories.studio import MembershipFactory, StudioFactory

pytestmark = pytest.mark.django_db
LINE = coverage.Line("bloom", 20_000)


@pytest.fixture(autouse=True)
def short(monkeypatch):
    """The last six pours are looked at one by one, older ones enter three at a time."""
    monkeypatch.setattr(memories, "WINDOW", 6)
    monkeypatch.setattr(memories, "STEP", 3)
    monkeypatch.setattr(coverage, "WINDOW", 6)
    monkeypatch.setattr(learning, "MOST", 8)


def poured(studio, *amounts, days=100):
    """Log one layer of so many mL for each pour, a day apart, up to so many days ago."""
    technique = studio.techniques.filter(slug="bloom").first() or TechniqueFactory(
        studio=studio, slug="bloom"
    )
    surface = studio.surfaces.first()
    first = timezone.now() - timedelta(days=days)
    made = []
    for day, ml in enumerate(amounts):
        pour = PourFactory(
            studio=studio,
            technique=technique,
            poured_at=first + timedelta(days=day),
            **({"surface": surface} if surface else {}),
        )
        surface = pour.surface
        PourLayerFactory(pour=pour, mixed_ml=ml)
        made.append(pour)
    return made


AMOUNTS = [50, 60, 45, 55, 70, 40, 52, 58, 61, 49, 66, 43, 57]


@pytest.fixture
def studio():
    studio = StudioFactory()
    poured(studio, *AMOUNTS)
    learn_hand(studio=studio)
    return studio


def numbers(studio):
    """What a page says, after what is kept and what came since."""
    job = hand_of(studio).estimator.job([LINE])
    return [*job.means, *job.covariance.ravel(), job.freedom]


def anew(studio):
    """What a page would say if all were learnt again from the first pour on."""
    HandMemory.objects.all().delete()
    learn_hand(studio=studio)
    return numbers(studio)


def state(studio):
    return learning.recall(studio.pk)[0].state


def test_older_pours_are_in_the_state_and_the_last_ones_are_not(studio):
    memory, after = learning.recall(studio.pk)

    assert memory.state.pours == 7
    keys = list(studio.pours.order_by("number").values_list("pk", flat=True))
    assert sorted(studio.pours.filter(after).values_list("pk", flat=True)) == keys[7:]
    assert sorted(key for key, _ in memory.slips) == keys[7:]


def test_twice_comes_to_the_same(studio):
    before = numbers(studio)

    assert learn_hand(studio=studio)

    assert numbers(studio) == before
    assert HandMemory.objects.count() == 1


def test_a_page_before_the_job_counts_the_new_pour_and_fits_nothing(studio, monkeypatch):
    monkeypatch.setattr("pricing.estimating.coverage.fitting.minimize", None)
    before = numbers(studio)
    fitted = hand_of(studio).estimator.settings

    poured(studio, 90, days=1)

    assert numbers(studio)[0] > before[0]
    assert hand_of(studio).estimator.settings == fitted


def test_a_pour_moves_one_older_one_into_the_state(studio):
    poured(studio, 90, days=1)

    learn_hand(studio=studio)

    assert state(studio).pours == 8
    assert numbers(studio)[-1] == pytest.approx(12 + 14, abs=1.5)  # all count, slips for less


def undone(pour):
    pours.undo_pour(pour=pour, by=None, why="Mistake")


def aside(pour):
    pours.set_pour_aside(pour=pour, why="Spilled")


def resized(pour):
    pour.surface.width_mm += 20
    pour.surface.save()


def right(pour):
    pours.confirm_amounts(pour=pour)


@pytest.mark.parametrize("change", [undone, aside, right])
@pytest.mark.parametrize("number", [2, 9])
def test_what_changes_leaves_the_state_or_the_last_pours(studio, change, number):
    pour = studio.pours.order_by("number")[number]
    change(pour)

    learn_hand(studio=studio)

    counted = len(AMOUNTS) - (change is not right)
    entered = counted - 6 if number == 2 else 7  # the state is not undone for one of the last
    assert state(studio).pours == entered
    found = numbers(studio)
    if number == 2:
        assert found == anew(studio)
    else:
        assert found[0] == pytest.approx(anew(studio)[0], rel=0.01)  # ln of mL


def test_a_size_measured_anew_is_learnt_anew(studio):
    before = numbers(studio)
    resized(studio.pours.first())

    learn_hand(studio=studio)

    found = numbers(studio)
    assert found != before
    assert found == anew(studio)


def test_a_size_that_is_only_renamed_changes_nothing(studio):
    before = numbers(studio)
    surface = studio.surfaces.first()
    surface.name = "Large tile"
    surface.save()

    learn_hand(studio=studio)

    assert numbers(studio) == before


def test_a_pour_logged_late_enters_where_it_belongs(studio):
    poured(studio, 80, days=99.5)
    before = state(studio).pours

    learn_hand(studio=studio)

    assert (before, state(studio).pours) == (7, 8)
    assert numbers(studio) == anew(studio)


def test_many_pours_are_learnt_in_several_jobs(studio, monkeypatch):
    whole = numbers(studio)
    HandMemory.objects.all().delete()
    monkeypatch.setattr(kept, "AT_ONCE", 3)

    turns = [learn_hand(studio=studio) for _ in range(3)]

    assert turns == [False, False, True]
    assert numbers(studio) == pytest.approx(whole, rel=0.05)  # fitted on other days
    assert state(studio).pours == 7


def test_what_an_older_model_kept_is_not_used(studio):
    HandMemory.objects.update(model="0" * 64)

    memory, after = learning.recall(studio.pk)

    assert (memory.state.pours, bool(after)) == (0, False)
    assert hand_of(studio).estimator.before.pours == 0  # and the last few pours, as they are


def test_of_two_at_once_the_one_that_read_later_stands(studio):
    later = timezone.now() + timedelta(seconds=5)
    HandMemory.objects.update(read_at=later)
    poured(studio, 90, days=1)

    learn_hand(studio=studio)

    assert HandMemory.objects.get().read_at == later
    assert state(studio).pours == 7


@pytest.mark.parametrize("more", [0, 30])
def test_a_hand_asks_and_holds_the_same_however_many_pours(studio, more, django_assert_num_queries):
    poured(studio, *[50] * more, days=50)
    learn_hand(studio=studio)
    poured(studio, 90, days=1)

    with django_assert_num_queries(3):  # the stamp, what is kept, the last pours
        hand = hand_of(studio)
    assert sum(one.own for one in hand.estimator.observations) == 7


def test_nothing_poured_asks_nothing_of_anybody():
    studio = StudioFactory()

    assert learn_hand(studio=studio)

    assert hand_of(studio).estimator.settings == coverage.Settings()


def test_no_page_fits(monkeypatch):
    bench = working_studio()
    user = MembershipFactory(studio=bench.studio).user
    log = {"surface": bench.tile_size, "technique": bench.bloom, "palette": bench.palette}

    def pour():
        pour_judged(
            studio=bench.studio,
            by=user,
            **log,
            count=1,
            good_count=1,
            minutes=5,
            layers={"base": LayerLog(D(20))},
        )

    pour()
    commission = commissions.open_commission(
        studio=bench.studio, by=user, customer=bench.customer, title="Coasters"
    )
    going_on.add_line(
        commission=commission, by=user, **log, quantity=2, pieces_each=4, topcoat=bench.kit
    )
    quote = quotes.draft_quote(commission=commission, by=user)
    client = Client()
    client.force_login(user)
    for memory in ("none", "old", "new"):
        if memory == "old":
            learn_hand(studio=bench.studio)
        with monkeypatch.context() as patched:
            patched.setattr("pricing.estimating.coverage.fitting.minimize", None)
            if memory != "new":
                pour()
            for page in (
                reverse("planner") + f"?surface={bench.tile_size.pk}&technique=bloom",
                reverse("commission", args=[commission.number]),
                reverse("quote", args=[quote.pk]),
                reverse("record"),
                reverse("surfaces"),
                reverse("pour", args=[1]),
            ):
                assert client.get(page).status_code == 200, page
        learn_hand(studio=bench.studio)


beside_the_pages = pytest.mark.django_db(transaction=True, available_apps=settings.INSTALLED_APPS)


def waiting():
    ready = DBTaskResult.objects.filter(status="READY", task_path__contains="remembering")
    return ready.count()


@beside_the_pages
def test_a_pour_puts_it_in_line_and_the_worker_does_it():
    studio = StudioFactory()
    poured(studio, *AMOUNTS)
    assert waiting() == 1  # once, whatever was logged in between

    call_command("work", batch=True)

    assert waiting() == 0
    assert state(studio).pours == 7


@beside_the_pages
def test_a_worker_goes_on_until_all_is_learnt(monkeypatch):
    monkeypatch.setattr(kept, "AT_ONCE", 3)
    studio = StudioFactory()
    poured(studio, *AMOUNTS)

    call_command("work", batch=True)

    assert state(studio).pours == 7


@beside_the_pages
def test_after_an_upgrade_every_studio_that_poured_is_learnt(studio):
    StudioFactory()  # never poured
    known = StudioFactory()
    poured(known, 50)
    learn_hand(studio=known)
    DBTaskResult.objects.all().delete()
    HandMemory.objects.filter(studio=studio).update(model="0" * 64)

    learn_all()
    learn_all()

    assert waiting() == 1
