"""What a sending repeated acts on once is remembered for, and for how long."""

from datetime import timedelta

from django.db import transaction
from django.utils import timezone

from studio.models import IdempotencyRecord

# Whoever sends again does so within minutes; a month covers a phone left in a drawer.
KEPT_DAYS = 30


@transaction.atomic
def forget_old_requests(*, days=KEPT_DAYS):
    """Delete the answers remembered for more than so many days; return how many those were."""
    old = timezone.now() - timedelta(days=days)
    count, _ = IdempotencyRecord.objects.filter(created_at__lt=old).delete()
    return count
