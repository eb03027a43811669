"""What passes with time: answers to writes, and whatever an app above adds.

``daily`` is how an app above has something done each day without this floor knowing that app: in
its ``AppConfig.ready`` it appends a function, which returns a sentence on what it did, or nothing.
"""

from collections.abc import Callable
from datetime import timedelta

from django.db import transaction
from django.utils import timezone

from studio.models import IdempotencyRecord

# Whoever sends again does so within minutes; a month covers a phone left in a drawer.
KEPT_DAYS = 30

daily: list[Callable[[], str | None]] = []


@transaction.atomic
def forget_old_requests(*, days: int = KEPT_DAYS) -> int:
    """Delete the answers remembered for more than so many days; return how many those were."""
    old = timezone.now() - timedelta(days=days)
    count, _ = IdempotencyRecord.objects.filter(created_at__lt=old).delete()
    return count
