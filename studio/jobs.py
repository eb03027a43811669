"""Work done beside the pages: put in line here, and done by ``manage.py work``.

A job is a function at the top of a module under ``django_tasks.task()``, of plain arguments such as
a studio's key. It looks up what it needs when it runs, comes to the same when it runs twice, and
ends within `LONGEST`: what a worker left unfinished is done again from its beginning.
"""

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

from django.db import transaction
from django.db.models import Q, QuerySet
from django.utils import timezone
from django_tasks import TaskResultStatus
from django_tasks.base import Task
from django_tasks_db.models import DBTaskResult

# A job that runs for longer was left by a worker that was killed.
LONGEST = timedelta(minutes=10)
# A job that failed is tried again after so long, the first time; then after twice as long.
FIRST_WAIT = timedelta(minutes=1)
MOST_TRIES = 5
# How jobs end whose worker was made to leave them.
MADE_TO_END = ("builtins.SystemExit", "builtins.KeyboardInterrupt")
KEPT = timedelta(days=30)

Job = DBTaskResult[Any, Any]

# What an app above puts in line whenever a worker starts, such as after an upgrade.
at_start: list[Callable[[], None]] = []


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
