"""Work done beside the pages: put in line here, and done by ``manage.py work``.

A job is a function at the top of a module under ``django_tasks.task()``, of plain arguments such as
a studio's key. It looks up what it needs when it runs, and comes to the same when it runs twice:
what a worker left unfinished is done again from its beginning. While it runs, its worker says so
each minute, see `at_work`.
"""

from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime, timedelta
from threading import Event, Thread
from typing import Any
from uuid import UUID

from django.db import DatabaseError, connection, transaction
from django.db.models import Q, QuerySet
from django.utils import timezone
from django_tasks import TaskResultStatus
from django_tasks.base import Task
from django_tasks_db.models import DBTaskResult

# A job of which nothing was heard for so long was left by a worker that was killed.
LONGEST = timedelta(minutes=10)
HEARD_EACH = 60.0  # [s]
# One that runs for longer will not end, so no more is said of it.
MOST_HEARD = 180
# A job that failed is tried again after so long, the first time; then after twice as long.
FIRST_WAIT = timedelta(minutes=1)
MOST_TRIES = 5
# How jobs end whose worker was made to leave them.
MADE_TO_END = ("builtins.SystemExit", "builtins.KeyboardInterrupt")
KEPT = timedelta(days=30)

Job = DBTaskResult[Any, Any]

# What an app puts in line whenever a worker starts, such as after an upgrade; and what it looks
# after each minute, to put in line what is due.
at_start: list[Callable[[], None]] = []
each_minute: list[Callable[[], None]] = []

# From then on somebody should see whether a worker is there.
LATE = timedelta(minutes=5)


@dataclass(frozen=True)
class Name:
    """What a job is called on a page; ``of_studio`` says that its argument is a studio's key."""

    words: str
    of_studio: bool = True


# By the path of the task, as each app says when it is ready.
names: dict[str, Name] = {}


def enqueue(task: Task[Any, Any], *args: str | int) -> None:
    """Put a job in line once what is being written is committed.

    One that waits for the same already is not doubled: it will see what was committed before it
    began. One that has begun may have read too early, so another is put behind it.

    Parameters
    ----------
    task : Task
        The job
    args : str or int
        What it is called with
    """
    transaction.on_commit(lambda: _put(task, args))


def enqueue_daily(task: Task[Any, Any], due: Mapping[tuple[str | int, ...], datetime]) -> None:
    """Put a job in line with each of some arguments, unless it was since a moment of theirs.

    Parameters
    ----------
    task : Task
        The job
    due : mapping of tuple to datetime
        What it is called with, and the moment, such as this morning
    """
    if not due:
        return
    lately = DBTaskResult.objects.filter(
        task_path=task.module_path, enqueued_at__gte=min(due.values())
    )
    last = {
        tuple(told["args"]): put_at
        for told, put_at in lately.order_by("enqueued_at").values_list("args_kwargs", "enqueued_at")
    }
    for args, since in due.items():
        if args not in last or last[args] < since:
            enqueue(task, *args)


def _put(task: Task[Any, Any], args: tuple[str | int, ...]) -> None:
    # Asked outside a transaction, which on SQLite would wait for every writer to learn that nothing
    # is to be written. Two that ask at once put two in line, and the second does no harm.
    if not _waiting(task.module_path, {"args": list(args), "kwargs": {}}).exists():
        task.enqueue(*args)


def _waiting(task_path: str, args_kwargs: dict[str, Any]) -> "QuerySet[Job]":
    ready = DBTaskResult.objects.filter(status=TaskResultStatus.READY)
    return ready.filter(task_path=task_path, args_kwargs=args_kwargs)


@transaction.atomic
def put_back(*, now: datetime | None = None) -> int:
    """Put what was left unfinished in line again; return how many jobs that were.

    That is what runs for longer than `LONGEST`, because its worker was killed; what a worker was
    made to leave; and what failed, `MOST_TRIES` times at most. Where the same waits already, one
    of both goes.
    """
    now = now or timezone.now()
    count = 0
    for job in _unfinished(now).select_for_update():
        tries = len(job.worker_ids)
        made_to_end = job.exception_class_path in MADE_TO_END
        if job.status == TaskResultStatus.FAILED and not made_to_end:
            finished_at = job.finished_at or now
            if tries >= MOST_TRIES or now < finished_at + FIRST_WAIT * 2 ** (tries - 1):
                continue
        elif job.status == TaskResultStatus.RUNNING and tries >= MOST_TRIES:
            job.status, job.finished_at = TaskResultStatus.FAILED, now
            job.traceback = f"Its worker was killed in the midst of it, {tries} times."
            job.save(update_fields=["status", "finished_at", "traceback"])
            continue
        if _waiting(job.task_path, job.args_kwargs).exists():
            job.delete()
            continue
        job.status, job.finished_at = TaskResultStatus.READY, None
        job.worker_ids = [] if made_to_end else job.worker_ids
        job.save(update_fields=["status", "finished_at", "worker_ids"])
        count += 1
    return count


def _unfinished(now: datetime) -> "QuerySet[Job]":
    left = Q(status=TaskResultStatus.RUNNING, started_at__lt=now - LONGEST)
    failed = Q(status=TaskResultStatus.FAILED, finished_at__gt=now - timedelta(days=1))
    return DBTaskResult.objects.filter(left | failed)


@transaction.atomic
def forget_done() -> None:
    """Delete the jobs that were done, or given up, a month ago."""
    done = (TaskResultStatus.SUCCESSFUL, TaskResultStatus.FAILED)
    DBTaskResult.objects.filter(status__in=done, finished_at__lt=timezone.now() - KEPT).delete()


@contextmanager
def at_work(worker_id: str) -> Iterator[None]:
    """Say each minute that the job which this worker has begun is still being done."""
    over, heard = Event(), Counter[UUID]()

    def say_so() -> None:
        while not over.wait(HEARD_EACH):
            try:
                _hear(worker_id, heard)
            except DatabaseError:
                continue  # the next time
            finally:
                connection.close()

    speaker = Thread(target=say_so, daemon=True)
    speaker.start()
    try:
        yield
    finally:
        over.set()
        speaker.join()


def _hear(worker_id: str, heard: Counter[UUID]) -> None:
    running = DBTaskResult.objects.filter(status=TaskResultStatus.RUNNING)
    for pk, workers in running.values_list("pk", "worker_ids"):
        if workers[-1:] == [worker_id] and heard[pk] < MOST_HEARD:
            heard[pk] += 1
            running.filter(pk=pk).update(started_at=timezone.now())


@dataclass(frozen=True)
class Standing:
    """How the jobs stand that concern a studio."""

    waiting: dict[str, int]  # what they are, and how many
    since: datetime | None  # when the first of them was put in line
    failed: list[tuple[str, Job]]

    @property
    def is_late(self) -> bool:
        """Whether the first has waited for longer than it should."""
        return self.since is not None and timezone.now() - self.since > LATE


def standing(studio_id: int) -> Standing:
    """Return how the jobs of a studio stand, with those that are for the whole site."""
    rows = DBTaskResult.objects.order_by("enqueued_at")
    waiting: dict[str, int] = {}
    since = None
    for job in rows.filter(status=TaskResultStatus.READY):
        if words := _words(job, studio_id):
            waiting[words] = waiting.get(words, 0) + 1
            since = since or job.enqueued_at
    failed = rows.filter(status=TaskResultStatus.FAILED).exclude(
        exception_class_path__in=MADE_TO_END
    )
    told = [(words, job) for job in failed if (words := _words(job, studio_id))]
    return Standing(waiting, since, told)


def is_late() -> bool:
    """Tell whether a job of anybody's has waited for longer than it should."""
    before = timezone.now() - LATE
    return DBTaskResult.objects.ready().filter(enqueued_at__lt=before).exists()


@transaction.atomic
def try_again(*, key: str, studio_id: int) -> None:
    """Put a job of a studio that failed in line again."""
    failed = DBTaskResult.objects.filter(status=TaskResultStatus.FAILED, pk=key)
    for job in failed.select_for_update():
        if not _words(job, studio_id):
            continue
        if _waiting(job.task_path, job.args_kwargs).exists():
            job.delete()
        else:
            job.status, job.finished_at, job.worker_ids = TaskResultStatus.READY, None, []
            job.save(update_fields=["status", "finished_at", "worker_ids"])


def _words(job: Job, studio_id: int) -> str:
    """Return what a job is called, or nothing where it does not concern a studio."""
    name = names.get(job.task_path)
    if name is None or (name.of_studio and job.args_kwargs["args"][:1] != [studio_id]):
        return ""
    return name.words
