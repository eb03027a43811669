from studio.models.append_only import AppendOnly, AppendOnlyQuerySet
from studio.models.background import BackgroundTask
from studio.models.backup import Backup
from studio.models.closing import Closing
from studio.models.mail import Mail
from studio.models.people import Invitation, Membership
from studio.models.requests import ApiToken, IdempotencyRecord
from studio.models.studio import NumberSeries, Restoring, Studio
from studio.models.tracked import Tracked, TrackedQuerySet, Tracking

__all__ = [
    "ApiToken",
    "AppendOnly",
    "AppendOnlyQuerySet",
    "BackgroundTask",
    "Backup",
    "Closing",
    "IdempotencyRecord",
    "Invitation",
    "Mail",
    "Membership",
    "NumberSeries",
    "Restoring",
    "Studio",
    "Tracked",
    "TrackedQuerySet",
    "Tracking",
]
