from studio.models.people import Invitation, Membership
from studio.models.requests import ApiToken, IdempotencyRecord
from studio.models.studio import NumberSeries, Restoring, Studio

__all__ = [
    "ApiToken",
    "IdempotencyRecord",
    "Invitation",
    "Membership",
    "NumberSeries",
    "Restoring",
    "Studio",
]
