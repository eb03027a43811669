"""People and what they may do in a studio."""

from django.conf import settings
from django.db import models
from django.utils import timezone

from studio.modelfields import EmailField, MomentField
from studio.models.studio import Studio
from studio.models.tracked import Tracked
from studio.sight import Sight, sees


class Role(models.TextChoices):
    """What a person may do, from most to least."""

    OWNER = "owner", "Owner: everything, prices and people too"
    MAKER = "maker", "Maker: plans, pours, stock and orders"
    VIEWER = "viewer", "Viewer: looks, changes nothing"


RANK = {Role.VIEWER: 0, Role.MAKER: 1, Role.OWNER: 2}


def place_in_words(role: str, sees_costs: bool) -> str:
    """Return a role in a word or two: a maker's trust is said with it."""
    return "trusted maker" if role == Role.MAKER and sees_costs else str(role)


class Membership(Tracked):
    """One person's place in one studio."""

    studio = models.ForeignKey(Studio, on_delete=models.CASCADE, related_name="memberships")
    user = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="memberships"
    )
    role = models.CharField(max_length=6, choices=Role)
    sees_costs = models.BooleanField(default=False)  # what that opens stands in `studio.sight`
    joined_at = MomentField(default=timezone.now, editable=False)

    class Meta:
        ordering = ["joined_at", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["studio", "user"], name="membership_once_per_person")
        ]

    def __str__(self) -> str:
        return f"{self.user} is {self.role} of {self.studio}"

    @property
    def in_words(self) -> str:
        """What this person is here: ``trusted maker``."""
        return place_in_words(self.role, self.sees_costs)

    def may(self, role: str) -> bool:
        """Tell whether this person may do what needs at least ``role``."""
        return RANK[Role(self.role)] >= RANK[Role(role)]

    def sees(self, sight: Sight) -> bool:
        """Tell whether this person sees what is of this kind, see `studio.sight`."""
        return sees(self, sight)


class Invitation(models.Model):
    """A link that lets one person join. Only a digest of its secret is kept."""

    studio = models.ForeignKey(Studio, on_delete=models.CASCADE, related_name="invitations")
    email = EmailField()
    role = models.CharField(max_length=6, choices=Role)
    sees_costs = models.BooleanField(default=False)
    digest = models.CharField(max_length=64, unique=True, editable=False)
    invited_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    created_at = MomentField(default=timezone.now, editable=False)
    expires_at = MomentField()
    used_at = MomentField(null=True, blank=True)

    class Meta:
        ordering = ["-created_at"]

    def __str__(self) -> str:
        return f"{self.email} as {self.role}"

    @property
    def in_words(self) -> str:
        """What they will be here: ``trusted maker``."""
        return place_in_words(self.role, self.sees_costs)
