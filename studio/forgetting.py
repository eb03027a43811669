"""What passes with time: answers to writes, sign-ins, sent mails, and whatever an app above adds.

``daily`` is how an app above has something done each day without this floor knowing that app: in
its ``AppConfig.ready`` it appends a function, which returns a sentence on what it did, or nothing.
"""

from collections.abc import Callable, Iterator
from datetime import time, timedelta
from importlib import import_module

from axes.models import AccessAttempt
from django.conf import settings
from django.db import transaction
from django.utils import timezone
from django_tasks import task

from studio import background, jobs, outbox
from studio.models import IdempotencyRecord

# Whoever sends again does so within minutes; a month covers a phone left in a drawer.
KEPT_DAYS = 30
HOUR = time(2)  # o'clock UTC

daily: list[Callable[[], str | None]] = []


@transaction.atomic
def forget_old_requests(*, days: int = KEPT_DAYS) -> int:
    """Delete the answers remembered for more than so many days; return how many those were."""
    old = timezone.now() - timedelta(days=days)
    count, _ = IdempotencyRecord.objects.filter(created_at__lt=old).delete()
    return count


def tidy() -> Iterator[str]:
    """Do what passing time asks for, and yield a sentence on each thing worth one."""
    count = forget_old_requests()
    answers = "answer" if count == 1 else "answers"
    yield f"Forgot {count} {answers} older than {KEPT_DAYS} days."
    jobs.forget_done()
    outbox.forget_sent()
    background.forget_old()
    # Wrong passwords, with the name and the address they came from.
    old = timezone.now() - timedelta(days=KEPT_DAYS)
    AccessAttempt.objects.filter(attempt_time__lt=old).delete()
    import_module(settings.SESSION_ENGINE).SessionStore.clear_expired()
    for act in daily:
        if report := act():
            yield report


@task()
def tidy_up() -> None:
    """Do so beside the pages."""
    list(tidy())


def put_in_line_if_due() -> None:
    """Have that done once a day."""
    now = timezone.now()
    began = now.replace(hour=HOUR.hour, minute=0, second=0, microsecond=0)
    jobs.enqueue_daily(tidy_up, {(): began if now >= began else began - timedelta(days=1)})
