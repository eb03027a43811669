from studio.models.people import Invitation, Membership
from studio.models.requests import ApiToken, IdempotencyRecord
from studio.models.studio import NumberSeries, Restoring, Studio
from studio.models.tracked import Tracked, TrackedQuerySet, Tracking

__all__ = [
    "ApiToken",
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
