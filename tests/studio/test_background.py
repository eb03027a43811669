"""What takes longer than a page may: asked for, done by the worker, found again, for its asker."""

import io
from datetime import timedelta

import pytest
from django.conf import settings as product_settings
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.urls import reverse
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from inventory.buying.replacing import renew
from inventory.stock.imports import later
from pricing.exports import export_studio
from pricing.views import exports
from studio import background, jobs, progress
from studio.access import members_of
from studio.background import Outcome, Work
from studio.models import BackgroundTask
from tests.conftest import member
from tests.factories.inventory import BottleFactory, MaterialFactory
from tests.factories.studio import BackgroundTaskFactory, StudioFactory
from tests.inventory.stock.shelves import receive

pytestmark = pytest.mark.django_db
LIST = reverse("list-file", args=["materials", "csv"])


def do(task):
    """Let the worker do it; return its row as it is then."""
    background.do.call(task.pk)
    task.refresh_from_db()
    return task


def asked(person, **given):
    return background.ask(
        studio=person.studio,
        by=person.user,
        kind="file",
        title="Materials as CSV",
        **{"path": LIST} | given,
    )


def read(answer):
    return b"".join(answer.streaming_content) if answer.streaming else answer.content


def made(task):
    with task.file.open("rb") as file:
        return file.read()


# Files


def test_a_long_list_is_made_beside_the_page(viewer, monkeypatch):
    MaterialFactory.create_batch(3, studio=viewer.studio)
    at_once = read(viewer.client.get(LIST))
    monkeypatch.setattr(exports, "LONG_LIST", 2)

    sent_on = viewer.client.get(LIST)
    task = BackgroundTask.objects.get()
    page = reverse("background-task", args=[task.pk])
    assert sent_on.url == page
    assert "It begins in a moment" in viewer.client.get(page).content.decode()

    do(task)

    assert "It is ready" in viewer.client.get(page).content.decode()
    made = viewer.client.get(reverse("background-file", args=[task.pk]))
    assert read(made) == at_once
    assert 'filename="materials.csv"' in made["Content-Disposition"]


@pytest.mark.django_db(transaction=True, available_apps=product_settings.INSTALLED_APPS)
def test_what_is_asked_for_already_is_not_asked_for_twice(viewer):
    first, second = asked(viewer), asked(viewer)

    assert first == second
    assert DBTaskResult.objects.filter(task_path=background.do.module_path).count() == 1
    do(first)
    assert asked(viewer) != first  # as things are now


def test_a_long_archive_is_the_same_as_a_short_one(owner, monkeypatch):
    BottleFactory(material__studio=owner.studio)
    whole = io.BytesIO()
    export_studio(owner.studio, whole)
    monkeypatch.setattr(exports, "LONG_ARCHIVE", -1)

    owner.client.get(reverse("studio-archive"))
    task = do(BackgroundTask.objects.get())

    assert made(task) == whole.getvalue()


def test_many_labels_are_drawn_beside_the_page(viewer, monkeypatch):
    monkeypatch.setattr("inventory.stock.views.labels.LONG_SHEET", 1)
    material = MaterialFactory(studio=viewer.studio)
    receive(material, (10, 1), (20, 2))

    answer = viewer.client.get(reverse("labels-sheet"), {"stock": "a4-3x8-70x37"})

    assert answer.status_code == 302
    assert made(do(BackgroundTask.objects.get())).startswith(b"%PDF-")


def test_a_file_is_made_with_what_its_asker_may_see_by_then(owner):
    """A maker who was trusted with costs when they asked, and is not any more."""
    trusted = member(owner.studio, "maker", sees_costs=True)
    task = asked(trusted, path=reverse("valuation-file", args=["csv"]))
    members_of(owner.studio).filter(user=trusted.user).update(sees_costs=False)

    do(task)

    assert not task.file
    assert "not shown to you any more" in task.problem


def test_nothing_is_made_for_who_has_left(viewer):
    task = asked(viewer)
    members_of(viewer.studio).filter(user=viewer.user).delete()

    assert "does not belong to the studio" in do(task).problem


def test_a_file_that_was_done_is_not_done_again(viewer, monkeypatch):
    task = do(asked(viewer))
    name = task.file.name

    assert do(task).file.name == name
    assert task.tries == 1


# What comes in


def rows(count):
    lines = "".join(f"Blue {n},paint,mL\n" for n in range(count))
    return f"name,kind,unit\n{lines}".encode()


@pytest.mark.django_db(transaction=True, available_apps=product_settings.INSTALLED_APPS)
def test_a_long_file_is_brought_in_beside_the_page(maker, monkeypatch):
    monkeypatch.setattr("inventory.stock.views.imports.LONG", 10)
    page = reverse("import", args=["materials"])
    shown = maker.client.post(page, {"file": ContentFile(rows(3), "blues.csv")})
    form = shown.context["form"].initial
    sent_on = maker.client.post(page, {**form, "once": shown.context["once"]})
    assert not maker.studio.materials.exists()
    task = BackgroundTask.objects.get()
    assert sent_on.url == reverse("background-task", args=[task.pk])
    kept = task.sent.name

    do(task)

    assert task.said == "Materials are in: 3 new, 0 changed, 0 the same."
    assert maker.studio.materials.count() == 3
    assert not task.sent and not default_storage.exists(kept)


def test_a_file_whose_rows_would_now_be_others_is_refused(maker):
    sheet = later.SHEETS["materials"]
    body = rows(2)
    preview = later.made_ready(studio=maker.studio, sheet=sheet, body=body).plan
    task = later.bring_in_later(
        studio=maker.studio,
        by=maker.user,
        sheet=sheet,
        body=body,
        digest=preview.digest,
        file_name="blues.csv",
    )
    maker.studio.materials.create(name="Blue 1", kind="paint", unit="g")

    do(task)

    assert "has changed since this was shown" in task.problem
    assert maker.studio.materials.count() == 1


def test_an_archive_is_brought_in_once_though_its_worker_was_killed_at_the_end(owner, monkeypatch):
    """What came in and that it did are written together, so the second worker finds it done."""
    monkeypatch.setattr(exports, "LONG_FILE", 1)
    source = StudioFactory()
    MaterialFactory.create_batch(4, studio=source)
    whole = io.BytesIO()
    export_studio(source, whole)
    sent = ContentFile(whole.getvalue(), "studio.zip")
    page = reverse("studio-restore")
    answer = owner.client.post(page, {"file": sent})
    assert answer.status_code == 302
    task = BackgroundTask.objects.get()

    for _ in range(2):
        do(task)

    assert owner.studio.materials.count() == 4
    assert task.said.startswith("The studio is here:")
    assert task.problem == ""


def test_progress_is_told_at_each_whole_percent():
    heard = []
    with progress.told_to(lambda done, of: heard.append((done, of))):
        for done in range(1001):
            progress.tell(done, 1000)
    progress.tell(1, 2)  # to nobody

    assert len(heard) == 101 and heard[-1] == (1000, 1000)


def test_how_far_it_is_stands_on_its_page(viewer):
    task = BackgroundTaskFactory(
        studio=viewer.studio, by=viewer.user, tries=1, done_count=120, of_count=300
    )
    page = viewer.client.get(reverse("background-task", args=[task.pk])).content.decode()

    assert "120 of 300 done" in page and 'value="40"' in page


# What goes wrong


@pytest.fixture
def broken(monkeypatch):
    def act(task, ready):
        raise ZeroDivisionError

    monkeypatch.setitem(background.works, "broken", Work(act=act, prepare=background._opened))
    return "broken"


def test_a_fault_is_told_tried_again_and_given_up(viewer, broken):
    task = asked(viewer)
    BackgroundTask.objects.update(kind=broken)
    page = reverse("background-task", args=[task.pk])
    for tries in range(1, jobs.MOST_TRIES + 1):
        with pytest.raises(ZeroDivisionError):
            background.do.call(task.pk)
        task.refresh_from_db()
        is_last = tries == jobs.MOST_TRIES
        assert (task.ended_at is not None) is is_last
        said = "each time it was tried" if is_last else "tried again in a few minutes"
        assert said in viewer.client.get(page).content.decode()


def test_what_is_old_goes_with_its_files(viewer):
    task = do(asked(viewer))
    name = task.file.name
    background.forget_old()
    assert default_storage.exists(name)

    BackgroundTask.objects.update(asked_at=timezone.now() - timedelta(days=7, minutes=1))
    background.forget_old()

    assert not default_storage.exists(name) and not BackgroundTask.objects.exists()


# Who sees what


def test_it_is_for_who_asked_and_nobody_else(owner, viewer, other_owner, stranger):
    task = do(asked(viewer))
    for name in ("background-task", "background-file"):
        address = reverse(name, args=[task.pk])
        answer = viewer.client.get(address)
        assert answer.status_code == 200 and read(answer)
        for who in (owner, other_owner):
            assert who.client.get(address).status_code == 404
        assert stranger.client.get(address).status_code == 302
    assert task.title not in owner.client.get("/background/").content.decode()


def failed(studio):
    job = DBTaskResult.objects.create(
        task_path=renew.module_path,
        args_kwargs={"args": [studio.pk], "kwargs": {}},
        backend_name="default",
        run_after=timezone.now(),
    )
    job.claim("somebody")
    job.set_failed(ValueError("no cover"))
    return job


def test_an_owner_sees_what_failed_and_has_it_tried_again(owner, maker, other_owner, stranger):
    job = failed(owner.studio)
    again = reverse("job-again", args=[job.pk])
    words = "What materials cost to replace"
    assert words in owner.client.get("/background/").content.decode()
    for who in (maker, other_owner):
        assert words not in who.client.get("/background/").content.decode()
    for who, status in ((maker, 403), (other_owner, 302), (stranger, 302)):
        assert who.client.post(again).status_code == status
        job.refresh_from_db()
        assert job.status == "FAILED"

    owner.client.post(again)

    job.refresh_from_db()
    assert (job.status, job.worker_ids) == ("READY", [])


def test_an_owner_sees_what_waits_and_whether_anybody_is_at_work(owner, other_owner):
    job = failed(owner.studio)
    jobs.try_again(key=str(job.pk), studio_id=owner.studio.pk)
    page = owner.client.get("/background/").content.decode()
    assert "What materials cost to replace" in page
    assert "Nothing has been done" not in page

    late = timezone.now() - timedelta(minutes=6)
    DBTaskResult.objects.update(enqueued_at=late)

    for address in ("/background/", "/"):
        assert "Nothing has been done in the background" in (
            owner.client.get(address).content.decode()
        )
    theirs = other_owner.client.get("/background/").content.decode()
    assert "What materials cost to replace" not in theirs


@pytest.mark.parametrize("count", [1, 5])
def test_the_page_asks_the_same_for_few_and_many(owner, django_assert_max_num_queries, count):
    for _ in range(count):
        failed(owner.studio)
        BackgroundTaskFactory(studio=owner.studio, by=owner.user)

    with django_assert_max_num_queries(11):
        owner.client.get("/background/")


def test_a_kind_says_what_came_of_it(viewer, monkeypatch):
    done = Outcome("Three are in.", "/stock/")
    monkeypatch.setitem(
        background.works, "told", Work(act=lambda task, ready: done, prepare=background._opened)
    )
    task = asked(viewer)
    BackgroundTask.objects.update(kind="told")
    do(task)

    page = viewer.client.get(reverse("background-task", args=[task.pk])).content.decode()
    assert "Three are in." in page and 'href="/stock/"' in page
