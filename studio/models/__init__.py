from studio.models.append_only import AppendOnly, AppendOnlyQuerySet
from studio.models.backup import Backup
from studio.models.closing import Closing
from studio.models.people import Invitation, Membership
from studio.models.requests import ApiToken, IdempotencyRecord
from studio.models.studio import NumberSeries, Restoring, Studio
from studio.models.tracked import Tracked, TrackedQuerySet, Tracking

__all__ = [
    "ApiToken",
    "AppendOnly",
    "AppendOnlyQuerySet",
    "Backup",
    "Closing",
    "IdempotencyRecord",
    "Invitation",
    "Membership",
    "NumberSeries",
    "Restoring",
    "Studio",
    "Tracked",
    "TrackedQuerySet",
    "Tracking",
]
